"""Processes that make notes, each with its own weights; what one that dies leaves another does. EDGE.

A worker has the recording that it hears and, decoded meanwhile, one more. Where a worker died, nobody knows
on which of the two: each is tried again alone, when nothing else is left to do, so that neither a hostile
file nor a short moment without memory takes another recording with it.
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

from dictate.batch.values import Answer, Failed, Job, Share
from dictate.settings import Settings

if TYPE_CHECKING:
    from dictate.batch.job import Maker, Ready

Message = Share | Answer
Work = Callable[[Connection, Settings, int], None]

_TRIES: Final = 3  # a recording on which so many workers died is given up
_STARTS: Final = 3  # so many workers in a row that die before they have begun: no other will do better
_MUTE_S: Final = 1800.0  # a worker that told nothing for so long hangs
_EVERY_S: Final = 0.5  # between two shares that are told
_THREADS: Final = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


class WorkersError(RuntimeError):
    """No worker can be had; the message is one line and says what to do."""


class Crew(Protocol):
    """Whoever does jobs: processes of this computer, or others."""

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
        self.jobs: list[Job] = []  # the one at hand, and the one ahead
        self.has_begun = False  # it has told something
        self.is_alone = False  # it has a job on which another died: no other beside it
        self.told_s = time.monotonic()

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
        self._deaths: dict[int, int] = {}  # by the number of the job
        self._again: deque[Job] = deque()
        self._lost_starts = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    def at_work(self) -> tuple[int, ...]:
        """See `Crew`."""
        given = [job.number for worker in self._workers for job in worker.jobs]
        return (*given, *(job.number for job in self._again))

    def has_room(self, left: int) -> bool:
        """See `Crew`. One more each is taken ahead, but not of the last: another may be idle sooner."""
        if len(self._workers) < self._count or any(not w.jobs for w in self._workers):
            return True
        return left > self._count and any(len(w.jobs) < 2 and not w.is_alone for w in self._workers)

    def give(self, job: Job) -> None:
        """See `Crew`."""
        free = [w for w in self._workers if len(w.jobs) < 2 and not w.is_alone]
        worker = min(free, key=lambda w: len(w.jobs), default=None)
        if worker is None or (worker.jobs and len(self._workers) < self._count):
            worker = self._start()
            self._workers.append(worker)
        self._hand(worker, job)

    def wait(self, seconds: float) -> list[Message]:
        """See `Crew`."""
        self._try_again()
        pipes = {worker.pipe: worker for worker in self._workers}
        messages: list[Message] = []
        for pipe in wait(list(pipes), timeout=seconds):
            messages += self._heard_of(pipes[pipe])  # type: ignore[index]  # pipes went in
        for worker in list(self._workers):
            if worker.jobs and time.monotonic() - worker.told_s > _MUTE_S:
                messages += self._died(worker)
        return messages

    def close(self) -> None:
        """See `Crew`."""
        for worker in self._workers:
            worker.end()
        self._workers.clear()

    def _hand(self, worker: _Worker, job: Job) -> None:
        if not worker.jobs:
            worker.told_s = time.monotonic()
        worker.jobs.append(job)
        with contextlib.suppress(OSError):  # it has died: `wait` will find that
            worker.pipe.send(job)

    def _try_again(self) -> None:
        """Jobs on which a worker died, for workers that have nothing to do."""
        while self._again:
            worker = next((w for w in self._workers if not w.jobs), None)
            if worker is None and len(self._workers) >= self._count:
                return
            if worker is None:
                worker = self._start()
                self._workers.append(worker)
            worker.is_alone = True
            self._hand(worker, self._again.popleft())

    def _heard_of(self, worker: _Worker) -> list[Message]:
        """What a worker has told."""
        try:
            message: Message | None = worker.pipe.recv()
        except (EOFError, OSError):
            return self._died(worker)
        worker.has_begun, worker.told_s, self._lost_starts = True, time.monotonic(), 0
        if message is None:  # it has begun
            return []
        if not isinstance(message, Share):
            worker.jobs = [job for job in worker.jobs if job.number != message.number]
            worker.is_alone = False
        return [message]

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
            self._again.extendleft(reversed(worker.jobs))
            return []
        failed: list[Message] = []
        for job in worker.jobs:
            self._deaths[job.number] = self._deaths.get(job.number, 0) + 1
            if self._deaths[job.number] < _TRIES:
                self._again.append(job)
            else:
                failed.append(Failed(job.number, given_up(_TRIES)))
        return failed


def given_up(times: int) -> str:
    """Why a recording is a failure on which workers died."""
    return f"{times} workers died on it, perhaps for want of memory; try it alone, or cut it"


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
            pipe.send(each if isinstance(each, Failed) else maker.make(each, _teller(pipe, each.job.number)))
            del each  # an hour of sound is not kept while waiting for the next


def _teller(pipe: Connection, number: int) -> Callable[[float], None]:
    """Tells how much of a job is done, now and then."""
    told_s = 0.0

    def tell(share: float) -> None:
        nonlocal told_s
        now = time.monotonic()
        if now - told_s >= _EVERY_S:
            told_s = now
            pipe.send(Share(number, share))

    return tell
