"""Workers without weights, for tests in which the recogniser is not the point."""

from __future__ import annotations

from collections.abc import Callable
from multiprocessing.connection import Connection

from dictate.audio import Recording, find_speech
from dictate.batch.job import Maker, Ready
from dictate.batch.values import Answer
from dictate.batch.workers import end_with_parent, serve
from dictate.settings import Settings
from dictate.values import Heard, Word

SAID = ("next wine", "number two", "lime and wet stone", "acidity high", "very good")


class Quick:
    """Says the next line for each breath group that the real cut finds."""

    name = "quick"

    def recognise(self, recording: Recording, *, progress: Callable[[float], None] | None = None) -> Heard:
        """See `Recogniser`."""
        words = []
        for number, stretch in enumerate(find_speech(recording.samples)):
            texts = SAID[number % len(SAID)].split()
            step = (stretch.end_s - stretch.start_s) / len(texts)
            words += [
                Word(text, stretch.start_s + i * step, stretch.start_s + (i + 1) * step, utterance=number)
                for i, text in enumerate(texts)
            ]
            if progress:
                progress(stretch.end_s / recording.duration_s)
        return Heard(tuple(words), recording.duration_s, self.name)


class Breaking(Quick):
    """Breaks as a bug would, with words in its message."""

    def recognise(self, recording: Recording, *, progress: Callable[[float], None] | None = None) -> Heard:
        """See `Recogniser`."""
        raise RuntimeError("off the record words")


class QuickMaker(Maker):
    """A maker that hears with `Quick`."""

    def __init__(self, settings: Settings) -> None:
        super().__init__(settings, threads=1)
        self._recogniser = Quick()

    def make(self, ready: Ready, progress: Callable[[float], None] | None = None) -> Answer:
        """See `Maker`; a file may ask for a bug by its name."""
        self._recogniser = Breaking() if "breaks" in ready.job.path.name else Quick()
        return super().make(ready, progress)


def quick(pipe: Connection, settings: Settings, threads: int) -> None:
    """What runs in a worker that is quick."""
    end_with_parent()
    pipe.send(None)
    serve(pipe, QuickMaker(settings))
