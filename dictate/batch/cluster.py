"""Other computers as a crew, by Dask: the same tasks, the same notes. EDGE. Imported only with --cluster."""

from __future__ import annotations

import contextlib
import queue
import time
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError
from contextlib import contextmanager
from dataclasses import dataclass
from types import TracebackType
from typing import Any, Final, Self

import dask
from distributed import Client, Future, KilledWorker, LocalCluster
from distributed.comm import CommClosedError

from dictate.batch.courses import Courses
from dictate.batch.job import Maker, broken
from dictate.batch.manifest import Making
from dictate.batch.remote import Misfit, Outcome, Unseen, do, looks
from dictate.batch.values import Failed, Job, Message, Reply, Share, Task
from dictate.batch.workers import WorkersError
from dictate.settings import Settings

Does = Callable[..., Outcome]
Looks = Callable[[Settings, Making], str]
LOCAL: Final = "local"
_ANSWER_S: Final = 10.0  # a scheduler answers within
_LOST: Final = 10
_AHEAD: Final = 3  # transcripts whose notes are not written yet
_ALONE_S: Final = 600.0  # so long without any worker, and it is given up
_LOOK_S: Final = 5.0  # between two looks at who is there
_QUIET: Final = {
    "distributed.scheduler.allowed-failures": 0,  # what is tried again is tried alone
    "distributed.scheduler.worker-saturation": 1.0,  # a worker that dies has one task
    "distributed.admin.large-graph-warning-threshold": "1 GiB",  # spans of a long recording go along
}


@dataclass(slots=True)
class _Given:
    """A task that is with the cluster. `where`: the workers that may do it, None for all."""

    task: Task
    lost: int = 0
    where: frozenset[str] | None = None


class Cluster:
    """The workers of a Dask scheduler, as a `Crew`; a context manager."""

    def __init__(
        self,
        address: str,
        settings: Settings,
        *,
        making: Making,
        count: int,
        does: Does = do,
        looks: Looks = looks,
    ) -> None:
        """`address`: of a scheduler, or LOCAL for one that is started here with `count` workers; `making`:
        what a worker must make notes with; `does` and `looks` run there. Raises WorkersError: no scheduler
        there, no worker, one that differs."""
        self._does, self._looks = does, looks
        self._settings, self._making = settings, making
        self._typist = Maker(settings, threads=1)  # transcripts take no time: they are done here
        self._courses = Courses(may_share=True)
        self._typed: list[Message] = []
        self._futures: dict[Future, _Given] = {}
        self._done: queue.SimpleQueue[Future] = queue.SimpleQueue()
        self._good: set[str] = set()  # addresses of workers that were looked at
        self._sent: dict[int, Any] = {}  # recordings that went along, by number
        self._has_misfits = False
        self._again: deque[_Given] = deque()  # on which a worker died, to be tried alone
        self._looked_s = self._seen_s = time.monotonic()
        self._opened = contextlib.ExitStack()
        try:
            self._opened.enter_context(dask.config.set(_QUIET))
            self._client = self._opened.enter_context(_client(address, count))
            self._look_at_all(address)
        except BaseException:
            self._opened.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    def workers(self) -> int:
        """How many tasks are done side by side."""
        threads: dict[str, int] = self._client.nthreads()
        return max(1, sum(threads.values()))

    @property
    def at_work(self) -> tuple[int, ...]:
        """See `Crew`."""
        return (*self._courses.numbers, *(message.number for message in self._typed))

    def has_room(self, left: int) -> bool:  # noqa: ARG002  # a scheduler takes from the busy what the idle can do
        """See `Crew`. One more each is ahead: what is on its way costs no worker time."""
        return len(self._futures) < 2 * len(self._good) and len(self._typed) < _AHEAD

    def give(self, job: Job) -> None:
        """See `Crew`."""
        task = self._courses.begin(job)
        if job.kind == "transcript":
            ready = self._typist.ready(task)
            self._after(ready if isinstance(ready, Failed) else self._typist.make(ready))
        else:
            self._submit(_Given(task))

    def wait(self, seconds: float) -> list[Message]:
        """See `Crew`."""
        self._look_again()
        if self._again and not self._futures:
            self._submit(self._again.popleft())
        messages, self._typed = self._typed, []
        with contextlib.suppress(queue.Empty):
            future = self._done.get(timeout=0.01 if messages else seconds)
            while True:
                self._take(future)
                future = self._done.get_nowait()
        messages += self._typed
        self._typed = []
        return messages

    def close(self) -> None:
        """See `Crew`."""
        with contextlib.suppress(Exception):  # whatever the cluster says to that
            self._client.cancel(list(self._futures), force=True)
        self._futures.clear()
        with contextlib.suppress(Exception):
            self._opened.close()

    def _after(self, reply: Reply) -> None:
        tasks, messages = self._courses.after(reply)
        self._tell(messages)
        for task in tasks:
            self._submit(_Given(task))

    def _died(self, given: _Given, worker: str) -> None:
        again, messages = self._courses.died([given.task], worker=worker)
        if again:
            self._again.append(given)
        self._tell(messages)

    def _tell(self, messages: list[Message]) -> None:
        """What is to be told next; what went along with a recording that is done goes."""
        self._typed += messages
        for message in messages:
            if not isinstance(message, Share):
                self._sent.pop(message.number, None)

    def _submit(self, given: _Given) -> None:
        """Hand a task to the scheduler. Raises WorkersError."""
        given.where = frozenset(self._good) if self._has_misfits else None
        sent = self._sent.get(given.task.job.number)
        try:
            future = self._client.submit(
                self._does, given.task, self._settings, wanted=self._making, sent=sent,
                pure=False, retries=0, workers=None if given.where is None else sorted(given.where),
            )  # fmt: skip
        except Exception as error:
            raise WorkersError(_lost(error)) from error
        self._futures[future] = given
        future.add_done_callback(self._done.put)

    def _take(self, future: Future) -> None:
        """What came of a task."""
        given = self._futures.pop(future, None)
        if given is None or not self._courses.needs(given.task):
            return
        outcome = _outcome(future, given.task.job.number)
        if isinstance(outcome, KilledWorker):
            self._died(given, outcome.last_worker.address)
        elif isinstance(outcome, Unseen):
            self._send(given)
        elif isinstance(outcome, Misfit):
            self._good.discard(outcome.worker)
            self._has_misfits = True
            if not self._good:
                raise WorkersError(outcome.reason)
            self._submit(given)
        elif outcome is None and given.lost < _LOST:  # the cluster lost it, or what went along
            given.lost += 1
            self._sent.pop(given.task.job.number, None)
            self._submit(given)
        elif outcome is None:
            self._after(Failed(given.task.job.number, "the cluster lost it again and again; try it without"))
        else:
            self._after(outcome)

    def _send(self, given: _Given) -> None:
        """Do a task with its recording sent along, once for all its spans."""
        job = given.task.job
        if job.number not in self._sent:
            try:
                data = (job.path.read_bytes(), job.path.stat().st_mtime)
            except OSError as error:
                self._after(Failed(job.number, f"cannot be read ({error.strerror or error}); try again"))
                return
            try:
                self._sent[job.number] = self._client.scatter([data], hash=False)[0]
            except Exception as error:
                raise WorkersError(_lost(error)) from error
        self._submit(given)

    def _look_again(self) -> None:
        """Who has come, who is gone. Raises WorkersError where nobody has been there for long."""
        now = time.monotonic()
        if now - self._looked_s < _LOOK_S:
            return
        self._looked_s = now
        try:
            there = set(self._client.scheduler_info(n_workers=-1)["workers"])
        except Exception as error:
            raise WorkersError(_lost(error)) from error
        if self._client.status != "running":
            raise WorkersError(_lost(None))
        self._good = {worker for worker in self._good if worker in there} | self._fitting(there - self._good)
        for future in list(self._futures):
            given = self._futures[future]
            if future.status != "pending":  # nobody told: what is lost is done by no one
                self._done.put(future)
            elif given.where is not None and not given.where & self._good:
                del self._futures[future]
                future.cancel()
                self._submit(given)
        if self._good:
            self._seen_s = now
        elif now - self._seen_s > _ALONE_S:
            raise WorkersError(
                "no worker has been there for ten minutes; start workers, then the same command"
            )

    def _fitting(self, workers: set[str]) -> set[str]:
        """Those of newcomers that make notes with what is wanted; others get no work."""
        found: dict[str, str] = {}
        if workers:
            with contextlib.suppress(Exception):  # one dies just now: they are looked at again
                found = self._looks_of(workers)
        self._has_misfits = self._has_misfits or any(found.values())
        return {worker for worker, problem in found.items() if not problem}

    def _look_at_all(self, address: str) -> None:
        """Look at every worker before any work. Raises WorkersError naming the first that does not fit."""
        with contextlib.suppress(Exception):
            self._client.wait_for_workers(1, timeout=_ANSWER_S)
        workers = set(self._client.scheduler_info(n_workers=-1)["workers"])
        if not workers:
            raise WorkersError(
                f"{address}: no worker there; start one: dask worker {address} --nthreads 1 --memory-limit 0"
            )
        try:
            problems = self._looks_of(workers)
        except Exception as error:
            raise WorkersError(f"{address}: {_no_dictate(error)}") from error
        for worker, problem in sorted(problems.items()):
            if problem:
                raise WorkersError(f"worker {worker}: {problem}")
        self._good = set(problems)

    def _looks_of(self, workers: set[str]) -> dict[str, str]:
        """By the address of a worker what is wrong with it, "" where nothing is."""
        found = self._client.run(
            self._looks, self._settings, self._making, workers=sorted(workers), on_error="return"
        )
        return {
            worker: problem if isinstance(problem, str) else _no_dictate(problem)
            for worker, problem in found.items()
        }


def _no_dictate(error: object) -> str:
    reason = " ".join(str(error).split())[:120] or type(error).__name__
    return (
        f"cannot run dictate ({reason}); install the same version there, with the extras weights and cluster"
    )


def _outcome(future: Future, number: int) -> Outcome | KilledWorker | None:
    """What a task of a recording gave, or that its worker died; None where it is to be tried again."""
    if future.status == "lost":
        return None
    try:
        outcome: Outcome = future.result(timeout=_ANSWER_S * 4)
    except KilledWorker as killed:
        return killed
    except (CancelledError, TimeoutError, CommClosedError):  # went with its worker, or what was sent did
        return None
    except Exception as error:  # whatever broke there, the program itself or what it was sent as
        return Failed(number, broken(error))
    return outcome


def _lost(error: Exception | None) -> str:
    told = f" ({type(error).__name__})" if error else ""
    return f"the scheduler is gone{told}; start it, then the same command goes on"


@contextmanager
def _client(address: str, count: int) -> Iterator[Client]:
    """A client of the scheduler at an address. Raises WorkersError where there is none."""
    with contextlib.ExitStack() as opened:
        target: Any = address
        if address == LOCAL:
            target = opened.enter_context(
                LocalCluster(
                    n_workers=count,
                    threads_per_worker=1,
                    processes=True,
                    dashboard_address="127.0.0.1:0",  # some port: none is asked for
                    host="127.0.0.1",
                    silence_logs="CRITICAL",
                    memory_limit=0,
                )
            )
        try:
            client = opened.enter_context(Client(target, timeout=_ANSWER_S, set_as_default=False))
        except (OSError, ValueError, TimeoutError) as error:
            raise WorkersError(
                f"{address}: no scheduler answers there; start one (dask scheduler), or check the address"
            ) from error
        yield client
