"""Recognisers in processes of their own: the microphone, the clock and the views never wait for them. EDGE.

Two ears listen to the same stretch. The quick one (one recogniser, a short window, one beam) gives words
within a fraction of a second: they stop the clock on the screen and stand in the note until the careful one,
which hears as `dictate note` does, has put its own in their place.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import queue
import threading
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from dictate.audio.speech import Stretch
from dictate.recognise.recogniser import HeardStretch
from dictate.settings import Settings

Which = Literal["quick", "careful"]
_QUICK_WINDOW = 1000  # 10 ms frames
_QUICK_CUE = 0.9  # probability: a clock that stops and runs on again is worse than one that stops late
_GIVE_UP = 3  # an ear that dies so often on one stretch does not hear it


@dataclass(frozen=True, slots=True)
class Task:
    """A stretch to hear. `samples` (16 kHz, float32) begin `from_s` seconds into the recording; `running`:
    whether the finish clock runs, None for what the ear has made of what it heard before."""

    number: int
    samples: NDArray[np.float32]
    stretch: Stretch
    from_s: float
    running: bool | None = None


@dataclass(frozen=True, slots=True)
class Reply:
    """What an ear heard. `problem`: why it heard nothing, one line."""

    ear: Which
    number: int
    heard: HeardStretch
    problem: str = ""


@dataclass(frozen=True, slots=True)
class Ready:
    """An ear has loaded its weights, or cannot (`problem`, one line)."""

    ear: Which
    name: str  # of the recogniser, as written into notes
    problem: str = ""


class Ear:
    """One process that hears tasks in their order; if it dies, another goes on where it stopped."""

    def __init__(
        self, which: Which, settings: Settings, *, tell: Callable[[Reply | Ready], None], threads: int = 1
    ) -> None:
        """`tell` is called from a thread of the ear's own with what comes back."""
        self._which = which
        self._settings = settings
        self._tell = tell
        self._threads = threads
        self._tasks: queue.Queue[Task | None] = queue.Queue()
        self._guard = threading.Thread(target=self._keep, name=f"{which} ear", daemon=True)
        self._guard.start()

    def hear(self, task: Task) -> None:
        """Hear a stretch; returns at once."""
        self._tasks.put(task)

    def close(self, wait_s: float | None = None) -> None:
        """Hear what was asked for, then end; waits for that at most so long (None: as long as it takes)."""
        self._tasks.put(None)
        self._guard.join(wait_s)

    def _keep(self) -> None:
        """Feed a process; begin another when it dies, at most _GIVE_UP times for one task."""
        task: Task | None = None
        tried = 0
        while True:
            try:
                with _Process(self._which, self._settings, self._threads) as process:
                    ready = process.answer()
                    assert isinstance(ready, Ready)
                    self._tell(ready)
                    if ready.problem:
                        return
                    while True:
                        if task is None:
                            task, tried = self._tasks.get(), 0
                        if task is None:
                            return
                        tried += 1
                        process.ask(task)
                        reply = process.answer()
                        assert isinstance(reply, Reply)
                        self._tell(reply)
                        task = None
            except (EOFError, OSError):
                if task is not None and tried >= _GIVE_UP:
                    problem = f"the {self._which} ear broke down; that stretch is in the recording"
                    self._tell(Reply(self._which, task.number, HeardStretch(()), problem))
                    task = None


class _Process:
    """A recogniser in a process, and the pipe to it."""

    def __init__(self, which: Which, settings: Settings, threads: int) -> None:
        context = multiprocessing.get_context("spawn")
        self._pipe, theirs = context.Pipe()
        self._process = context.Process(
            target=_listen, args=(theirs, which, settings, threads), name=f"dictate {which} ear", daemon=True
        )
        self._process.start()
        theirs.close()

    def __enter__(self) -> _Process:
        return self

    def __exit__(self, *_: object) -> None:
        self._pipe.close()
        self._process.join(5)
        if self._process.is_alive():
            self._process.kill()
            self._process.join()
        self._process.close()

    def ask(self, task: Task) -> None:
        self._pipe.send(task)

    def answer(self) -> Reply | Ready:
        answer: Reply | Ready = self._pipe.recv()
        return answer


def _listen(pipe: Connection, which: Which, settings: Settings, threads: int) -> None:
    """What runs in the process: Ctrl-C is for the session, which ends its ears itself."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with contextlib.suppress(EOFError, OSError):  # the session has ended
        hear = _loaded(pipe, which, settings, threads)
        while hear is not None:
            task: Task = pipe.recv()
            pipe.send(Reply(which, task.number, hear(task)))


def _loaded(
    pipe: Connection, which: Which, settings: Settings, threads: int
) -> Callable[[Task], HeardStretch] | None:
    """Load the recogniser and say so; None where it cannot be loaded."""
    from dictate.pipeline import second_hearing
    from dictate.recognise import ModelError, find_listeners
    from dictate.recognise.whisper import Hearing, WhisperRecogniser

    try:
        weights = find_listeners(settings.model)
        if which == "quick":
            ear = WhisperRecogniser(
                weights[:1],
                threads=threads,
                prompt="",
                beams=1,
                window=_QUICK_WINDOW,
                cue_at_least=_QUICK_CUE,
            )
        else:
            ear = WhisperRecogniser(weights, threads=threads, again=second_hearing(settings))
    except ModelError as error:
        pipe.send(Ready(which, "", str(error)))
        return None
    hearing = Hearing(ear)
    pipe.send(Ready(which, ear.name))
    return lambda task: hearing.hear(task.samples, task.stretch, from_s=task.from_s, running=task.running)
