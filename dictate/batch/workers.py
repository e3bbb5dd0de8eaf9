"""Processes that make notes, each with its own weights; what one that dies leaves another does. EDGE.

A worker has the task that it does and, decoded meanwhile, one more. Where a worker died, nobody knows on
which of the two: each is tried again alone, when nothing else is left to do, so that neither a hostile file
nor a short moment without memory takes another recording with it.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import queue
import signal
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from multiprocessing.connection import Connection, wait
from types import TracebackType
from typing import TYPE_CHECKING, Final, Protocol, Self

from dictate.batch.courses import Courses
from dictate.batch.values import Failed, Hear, Job, Message, Reply, Share, Task
from dictate.settings import Settings

if TYPE_CHECKING:
    from dictate.batch.job import Maker, Ready

Work = Callable[[Connection, Settings, int], None]

_STARTS: Final = 3  # so many workers in a row that die before they have begun: no other will do better
_MUTE_S: Final = 1800.0  # a worker that told nothing for so long hangs
_EVERY_S: Final = 0.5  # between two shares that are told
_THREADS: Final = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


class WorkersError(RuntimeError):
    """No worker can be had; the message is one line and says what to do."""


class Crew(Protocol):
    """Whoever does jobs: processes of this computer, or others."""

    @property
    def workers(self) -> int:
        """How many jobs are done side by side."""
        ...

    @property
    def at_work(self) -> tuple[int, ...]:
        """The numbers of the jobs that were given and not answered."""
        ...

    def has_room(self, left: int) -> bool:
        """Whether another job is wanted now, where `left` are left."""
        ...

    def give(self, job: Job) -> None:
        """A job to do; returns at once. Raises WorkersError."""
        ...

    def wait(self, seconds: float) -> list[Message]:
        """What has come; waits so long at most. Each job gets one answer. Raises WorkersError."""
        ...

    def close(self) -> None:
        """End at once, whatever is being done."""
        ...


class _Worker:
    """A process and the pipe to it."""

    def __init__(self, settings: Settings, threads: int, work: Work) -> None:
        context = multiprocessing.get_context("spawn")
        self.pipe, theirs = context.Pipe()
        self._process = context.Process(
            target=work, args=(theirs, settings, threads), name="dictate batch worker", daemon=True
        )
        with _few_threads(threads):
            self._process.start()
        theirs.close()
        self.tasks: list[Task] = []  # the one at hand, and the one ahead
        self.has_begun = False  # it has told something
        self.is_alone = False  # it has a task on which another died: no other beside it
        self.told_s = time.monotonic()

    @property
    def has_room(self) -> bool:
        return len(self.tasks) < 2 and not self.is_alone

    def hand(self, task: Task) -> None:
        """Give it a task; returns at once."""
        if not self.tasks:
            self.told_s = time.monotonic()
        self.tasks.append(task)
        with contextlib.suppress(OSError):  # it has died: that is found out by its pipe
            self.pipe.send(task)

    def end(self) -> None:
        """End at once."""
        self.pipe.close()
        self._process.kill()
        self._process.join()
        self._process.close()


class Workers:
    """So many processes, as a `Crew`; a context manager."""

    def __init__(self, settings: Settings, *, count: int, threads: int = 1, work: Work | None = None) -> None:
        """`threads`: of each; `work`: what runs in the processes."""
        self._start = partial(_Worker, settings, threads, work or _work)
        self._count = count
        self._workers: list[_Worker] = []
        self._courses = Courses(may_share=count > 1)
        self._next: deque[Task] = deque()  # of recordings that are shared
        self._again: deque[Task] = deque()  # tasks on which a worker died
        self._lost_starts = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    def workers(self) -> int:
        """See `Crew`."""
        return self._count

    @property
    def at_work(self) -> tuple[int, ...]:
        """See `Crew`."""
        return self._courses.numbers

    def has_room(self, left: int) -> bool:
        """See `Crew`. One more each is taken ahead, but not of the last: another may be idle sooner. What is
        shared goes before what is not begun."""
        self._assign()
        if self._next:
            return False
        if len(self._workers) < self._count or any(not w.tasks for w in self._workers):
            return True
        return left > self._count and any(w.has_room for w in self._workers)

    def give(self, job: Job) -> None:
        """See `Crew`."""
        worker = self._free(ahead=True)
        task = self._courses.begin(job)
        if worker is None:
            self._next.append(task)
        else:
            worker.hand(task)

    def wait(self, seconds: float) -> list[Message]:
        """See `Crew`."""
        self._assign()
        pipes = {worker.pipe: worker for worker in self._workers}
        messages: list[Message] = []
        for pipe in wait(list(pipes), timeout=seconds):
            messages += self._heard_of(pipes[pipe])  # type: ignore[index]  # pipes went in
        for worker in list(self._workers):
            if worker.tasks and time.monotonic() - worker.told_s > _MUTE_S:
                messages += self._died(worker)
        return messages

    def close(self) -> None:
        """See `Crew`."""
        for worker in self._workers:
            worker.end()
        self._workers.clear()

    def _free(self, *, ahead: bool) -> _Worker | None:
        """A worker with nothing to do, else a new one, else (`ahead`) one that can take one more."""
        idle = next((w for w in self._workers if not w.tasks), None)
        if idle is not None:
            return idle
        if len(self._workers) < self._count:
            self._workers.append(self._start())
            return self._workers[-1]
        return next((w for w in self._workers if ahead and w.has_room), None)

    def _assign(self) -> None:
        """Hand out what waits: spans, and when there are none what is to be tried again, alone."""
        while self._next and (worker := self._free(ahead=True)) is not None:
            task = self._next.popleft()
            if self._courses.needs(task):
                worker.hand(task)
        while not self._next and self._again and (worker := self._free(ahead=False)) is not None:
            task = self._again.popleft()
            if self._courses.needs(task):
                worker.is_alone = True
                worker.hand(task)

    def _heard_of(self, worker: _Worker) -> list[Message]:
        """What a worker has told."""
        try:
            reply: Reply | Share | None = worker.pipe.recv()
        except (EOFError, OSError):
            return self._died(worker)
        worker.has_begun, worker.told_s, self._lost_starts = True, time.monotonic(), 0
        if reply is None:  # it has begun
            return []
        if not isinstance(reply, Share):
            worker.tasks.pop(0)  # it answers in order
            worker.is_alone = False
        tasks, messages = self._courses.after(reply)
        self._next.extend(tasks)
        return messages

    def _died(self, worker: _Worker) -> list[Message]:
        """A worker is gone: what it had is tried again, or given up."""
        self._workers.remove(worker)
        worker.end()
        if not worker.has_begun:
            self._lost_starts += 1
            if self._lost_starts >= _STARTS:
                raise WorkersError(
                    "workers die before they have begun; close other programs, or give fewer --workers"
                )
            self._again.extendleft(reversed(worker.tasks))
            return []
        again, messages = self._courses.died(worker.tasks, worker=worker)
        self._again.extend(again)
        return messages


@contextmanager
def _few_threads(threads: int) -> Iterator[None]:
    """What is started meanwhile has so many threads in each library that asks the environment."""
    before = {name: os.environ.get(name) for name in _THREADS}
    os.environ.update(dict.fromkeys(_THREADS, str(threads)))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


def _work(pipe: Connection, settings: Settings, threads: int) -> None:
    """What runs in a process: Ctrl-C is for the parent, which ends its workers itself."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    end_with_parent()
    with contextlib.suppress(Exception):  # no traceback: it may hold words said off the record
        from dictate.batch.job import Maker  # what decodes and hears takes seconds to import

        pipe.send(None)
        serve(pipe, Maker(settings, threads=threads))


def end_with_parent() -> None:
    """This process ends when its parent does, whatever it is doing."""
    parent = multiprocessing.parent_process()

    def watch() -> None:
        if parent is not None:
            parent.join()
        os._exit(1)

    threading.Thread(target=watch, name="watch", daemon=True).start()


def serve(pipe: Connection, maker: Maker) -> None:
    """Do the jobs that come, in order, and answer each, until there are no more."""
    ready: queue.SimpleQueue[Ready | Failed | None] = queue.SimpleQueue()

    def decode() -> None:
        with contextlib.suppress(EOFError, OSError):
            while True:
                ready.put(maker.ready(pipe.recv()))
        ready.put(None)

    threading.Thread(target=decode, name="decode ahead", daemon=True).start()
    with contextlib.suppress(OSError):  # the parent has ended
        while (each := ready.get()) is not None:
            pipe.send(each if isinstance(each, Failed) else maker.make(each, _teller(pipe, each.task)))
            del each  # an hour of sound is not kept while waiting for the next


def _teller(pipe: Connection, task: Task) -> Callable[[float], None]:
    """Tells how much of a task is done, now and then."""
    span = task.span if isinstance(task, Hear) else None
    told_s = 0.0

    def tell(share: float) -> None:
        nonlocal told_s
        now = time.monotonic()
        if now - told_s >= _EVERY_S:
            told_s = now
            pipe.send(Share(task.job.number, share, span))

    return tell
