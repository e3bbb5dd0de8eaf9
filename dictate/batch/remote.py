"""What runs on a worker of a cluster. EDGE. Needs no Dask but to tell which worker it is."""

from __future__ import annotations

import contextlib
import os
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final

from dictate.batch.job import Maker
from dictate.batch.machine import making_of, model_of
from dictate.batch.manifest import Making
from dictate.batch.values import Failed, Reply, Task
from dictate.files import sha256_of
from dictate.recognise import ModelError, find_listeners
from dictate.settings import Settings

Sent = tuple[bytes, float]  # a recording's bytes, and when it was changed last


@dataclass(frozen=True, slots=True)
class Unseen:
    """A worker does not find the recording under its name: it is to be sent along."""


@dataclass(frozen=True, slots=True)
class Misfit:
    """A worker that would make other notes."""

    worker: str
    reason: str


Outcome = Reply | Unseen | Misfit
_mine = threading.local()  # a maker each thread: weights of its own

_SPILLS: Final = (
    "would write words said off the record to its disk where memory is short; start it with --memory-limit 0"
)


def looks(settings: Settings, wanted: Making) -> str:
    """What is wrong with this worker, one line: it would make notes with something else; "" where nothing."""
    here = _here(settings)
    if isinstance(here, str):
        return here
    for name in ("program", "model", "lexicon"):
        found, asked = getattr(here, name), getattr(wanted, name)
        if found != asked:
            return f"has the {name} {found}, not {asked}; install the same there"
    return _SPILLS if _may_spill() else ""


def _may_spill() -> bool:
    """Whether this worker writes what it holds to its disk where memory is short: what was said off the
    record may be in that."""
    from distributed.worker import Worker

    managers = [worker.memory_manager for worker in Worker._instances]
    return any(m.memory_limit and (m.memory_target_fraction or m.memory_spill_fraction) for m in managers)


@lru_cache(maxsize=4)
def _here(settings: Settings) -> Making | str:
    """What notes would be made with here, or why none can be."""
    try:
        return making_of(settings, model_of(find_listeners(settings.model)))
    except (ModelError, OSError) as error:
        return str(error)


def do(task: Task, settings: Settings, *, wanted: Making, sent: Sent | None = None) -> Outcome:
    """Do a task of a batch. `sent`: the recording, where this worker could not find it."""
    problem = looks(settings, wanted)
    if problem:
        worker = _address()
        return Misfit(worker, f"worker {worker}: {problem}")
    maker = _maker(settings)
    job = task.job
    if maker.holds(job.sha256):
        return _done(maker, task)
    if sent is None:
        return _done(maker, task) if _is_here(job.path, job.sha256) else Unseen()
    with _in_a_file(*sent) as path:
        maker.lend(job.sha256, path)
        try:
            return _done(maker, task)
        finally:
            maker.lend(job.sha256, None)


def _done(maker: Maker, task: Task) -> Reply:
    ready = maker.ready(task)
    return ready if isinstance(ready, Failed) else maker.make(ready)


def _maker(settings: Settings) -> Maker:
    """This thread's maker; another where the settings are others."""
    if getattr(_mine, "settings", None) != settings:
        _mine.settings, _mine.maker = settings, Maker(settings, threads=1)
    maker: Maker = _mine.maker
    return maker


def _is_here(path: Path, sha256: str) -> bool:
    """Whether the recording is what lies here under its name."""
    with contextlib.suppress(OSError, ValueError):
        return path.is_file() and sha256_of(path) == sha256
    return False


def _address() -> str:
    from distributed import get_worker

    return str(get_worker().address)


@contextmanager
def _in_a_file(data: bytes, changed: float) -> Iterator[Path]:
    """Bytes in a file that has no name but that of its descriptor: it goes with this worker."""
    with tempfile.TemporaryFile("wb") as file:
        file.write(data)
        file.flush()
        os.utime(file.fileno(), (changed, changed))
        folder = "/proc/self/fd" if Path("/proc/self/fd").is_dir() else "/dev/fd"
        yield Path(folder) / str(file.fileno())
