"""Workers without weights, for tests in which the recogniser is not the point."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterator, Sequence
from multiprocessing.connection import Connection
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from dictate.audio import Stretch
from dictate.batch import job
from dictate.batch.job import Maker, Ready
from dictate.batch.values import Hear, Open, Reply, Shared, Task
from dictate.batch.workers import end_with_parent, serve
from dictate.recognise.judging import Judge, Weighed
from dictate.settings import Settings
from dictate.values import Word

SAID = ("next wine", "number two", "lime and wet stone", "acidity high", "very good")


class Quick:
    """Says a line for each breath group that the real cut finds, by when it is said."""

    name = "quick"

    def weigh(self, samples: NDArray[np.float32], stretches: Sequence[Stretch]) -> Iterator[Weighed]:
        """See `WhisperRecogniser`."""
        for stretch in stretches:
            texts = SAID[round(stretch.start_s * 100) % len(SAID)].split()
            step = (stretch.end_s - stretch.start_s) / len(texts)
            yield Weighed(
                tuple(
                    Word(text, stretch.start_s + i * step, stretch.start_s + (i + 1) * step)
                    for i, text in enumerate(texts)
                )
            )

    def judge(self) -> Judge:
        """See `WhisperRecogniser`."""
        return Judge()


class Breaking(Quick):
    """Breaks as a bug would, with words in its message."""

    def weigh(self, samples: NDArray[np.float32], stretches: Sequence[Stretch]) -> Iterator[Weighed]:
        """See `WhisperRecogniser`."""
        raise RuntimeError("off the record words")


class QuickMaker(Maker):
    """A maker that hears with `Quick`."""

    def __init__(self, settings: Settings) -> None:
        super().__init__(settings, threads=1)
        self._recogniser = Quick()

    def make(self, ready: Ready, progress: Callable[[float], None] | None = None) -> Reply:
        """See `Maker`; a file may ask for a bug by its name."""
        self._recogniser = Breaking() if "breaks" in ready.task.job.path.name else Quick()
        return super().make(ready, progress)


def quick(pipe: Connection, settings: Settings, threads: int) -> None:
    """What runs in a worker that is quick."""
    end_with_parent()
    pipe.send(None)
    serve(pipe, QuickMaker(settings))


def die_in_span(task: Task) -> None:
    """Die of any span of a recording whose name asks for that; each death is a letter in a file beside it."""
    if isinstance(task, Hear) and "dies-in-spans" in task.job.path.name:
        with Path(f"{task.job.path}.deaths").open("a") as file:
            file.write("x")
        os.kill(os.getpid(), signal.SIGKILL)


class SharingMaker(QuickMaker):
    """To which half a minute is long; it breaks where it is asked for all of that."""

    def make(self, ready: Ready, progress: Callable[[float], None] | None = None) -> Reply:
        """See `Maker`."""
        job.LONG_S, job.SPAN_S = 30.0, 6.0  # type: ignore[misc]  # final elsewhere
        die_in_span(ready.task)
        reply = super().make(ready, progress)
        assert isinstance(reply, Shared) == isinstance(ready.task, Open)
        return reply


def sharing(pipe: Connection, settings: Settings, threads: int) -> None:
    """What runs in a worker that shares."""
    end_with_parent()
    pipe.send(None)
    serve(pipe, SharingMaker(settings))
