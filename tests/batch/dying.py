"""Workers that do as the name of a file says, dying among it. They begin quickly: nothing here hears."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path

from dictate.batch.values import Answer, Failed, Made, Open
from dictate.batch.workers import end_with_parent, serve
from dictate.settings import Settings


@dataclass
class Ready:
    """As a recording that is decoded."""

    task: Open


class DyingMaker:
    """As `Maker`; it dies as a process killed from outside does: always, the first time, or early."""

    def ready(self, task: Open) -> Ready | Failed:
        """Decode."""
        if "dies-decoding" in task.job.path.name:
            os.kill(os.getpid(), signal.SIGKILL)
        return Ready(task)

    def make(self, ready: Ready, progress: Callable[[float], None]) -> Answer:
        """Hear."""
        job = ready.task.job
        progress(0.5)
        time.sleep(60 if "slow" in job.path.name else 0.05)
        once = Path(f"{job.path}.died")
        if "dies-always" in job.path.name or ("dies-once" in job.path.name and not once.exists()):
            once.touch()
            os.kill(os.getpid(), signal.SIGKILL)
        return Made(job.number, job.sha256, (), None, 1.0, 0.1)


def dying(pipe: Connection, settings: Settings, threads: int) -> None:
    """What runs in a worker that dies."""
    end_with_parent()
    pipe.send(None)
    serve(pipe, DyingMaker())  # type: ignore[arg-type]


def stillborn(pipe: Connection, settings: Settings, threads: int) -> None:
    """What runs in a worker that never begins."""
    os._exit(1)
