"""Recognisers in processes of their own: the microphone, the clock and the views never wait for them. EDGE.

Two ears listen to the same stretch. The quick one (one recogniser, a short window, one beam) gives words
within a fraction of a second: they stop the clock on the screen and stand in the note until the careful one,
which hears as `dictate note` does, has put its own in their place.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import queue
import signal
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from multiprocessing.connection import Connection
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from dictate.audio.speech import Stretch
from dictate.recognise import ModelError, find_listeners
from dictate.recognise.recogniser import HeardStretch
from dictate.settings import Settings

Which = Literal["quick", "careful"]
_QUICK_WINDOW = 1000  # 10 ms frames
_QUICK_CUE = 0.9  # probability: a clock that stops and runs on again is worse than one that stops late
_GIVE_UP = 3  # an ear that dies so often on one stretch does not hear it; while it loads, it is given up
_MISSED = 3  # ... and when it heard nothing of so many stretches in a row
_WAIT_S = 0.5  # before another begins, twice as long each time
_LONGEST_WAIT_S = 4.0
_PATIENT = 5  # steps of niceness


@dataclass(frozen=True, slots=True)
class Task:
    """A stretch to hear. `samples` (16 kHz, float32) begin `from_s` seconds into the recording; `running`:
    whether the finish clock runs, None for what the ear has made of what it heard before. `growing`: it is
    still being said, and what is heard of it counts for nothing that comes."""

    number: int
    samples: NDArray[np.float32]
    stretch: Stretch
    from_s: float
    running: bool | None = None
    growing: bool = False


@dataclass(frozen=True, slots=True)
class Reply:
    """What an ear heard. `problem`: why it heard nothing, one line; `running`: whether the finish clock runs
    behind it, as far as this ear knows."""

    ear: Which
    number: int
    heard: HeardStretch
    problem: str = ""
    running: bool | None = None


@dataclass(frozen=True, slots=True)
class Ready:
    """An ear has loaded its weights; or it hears no more, for it cannot load them or broke down again and
    again (`problem`, one line)."""

    ear: Which
    name: str  # of the recogniser, as written into notes
    problem: str = ""


Work = Callable[[Connection, Which, Settings, int], None]


class Ear:
    """One process that hears tasks in their order; if it dies, another goes on where it stopped, but not for
    ever: an ear that dies again and again is given up, with a `Ready` that says so."""

    def __init__(
        self,
        which: Which,
        settings: Settings,
        *,
        tell: Callable[[Reply | Ready], None],
        threads: int = 1,
        work: Work | None = None,
    ) -> None:
        """`tell` is called from a thread of the ear's own with what comes back; `work`: what runs in the
        process."""
        self._which = which
        self._tell = tell
        self._start = partial(_Process, which, settings, threads, work or _listen)
        self._tasks: queue.SimpleQueue[Task | None] = queue.SimpleQueue()
        self._closing = threading.Event()
        self._task: Task | None = None  # the one at hand
        self._tried = 0  # how often that was asked
        self._running: bool | None = None  # the finish clock, behind what was heard last
        self._guard = threading.Thread(target=self._keep, name=f"{which} ear", daemon=True)
        self._guard.start()

    def hear(self, task: Task) -> None:
        """Hear a stretch; returns at once."""
        self._tasks.put(task)

    def close(self, wait_s: float | None = None) -> None:
        """Hear what was asked for, then end; waits for that at most so long (None: as long as it takes)."""
        self._tasks.put(None)
        self._guard.join(wait_s)
        self._closing.set()

    def _keep(self) -> None:
        """Feed a process; begin another when it dies, as long as there is hope."""
        deaths = missed = 0  # since the last stretch that was heard
        while True:
            loaded = False
            try:
                with self._start() as process:
                    ready = process.answer()
                    assert isinstance(ready, Ready)
                    self._tell(ready)
                    if ready.problem:
                        return
                    loaded = True
                    while self._hear_next(process):
                        deaths = missed = 0
                    return
            except (EOFError, OSError):
                deaths += 1
            if loaded and self._task is not None and self._tried >= _GIVE_UP:
                self._miss(self._task)
                deaths, missed = 0, missed + 1
            elif not loaded and deaths >= _GIVE_UP:
                missed = _MISSED
            if missed >= _MISSED:
                self._tell(Ready(self._which, "", _gone(self._which)))
                return
            if self._closing.wait(min(_LONGEST_WAIT_S, _WAIT_S * 2**deaths)):
                return

    def _hear_next(self, process: _Process) -> bool:
        """Whether there was another task; it is heard. Raises EOFError, OSError where the process dies."""
        if self._task is None:
            self._task, self._tried = self._tasks.get(), 0
        task = self._task
        if task is None:
            return False
        self._tried += 1
        if task.running is None:  # a process that has just begun knows nothing of what was said before
            task = replace(task, running=self._running)
        process.ask(task)
        reply = process.answer()
        assert isinstance(reply, Reply)
        self._task, self._running = None, reply.running
        self._tell(reply)
        return True

    def _miss(self, task: Task) -> None:
        problem = f"the {self._which} ear broke down; that stretch is in the recording"
        self._task = None
        self._tell(Reply(self._which, task.number, HeardStretch(()), problem))


def _gone(which: Which) -> str:
    """What the taster can do about an ear that is given up."""
    if which == "careful":
        return "words can't be heard any more; recording goes on: end it, then dictate resume --close SESSION"
    return "words come late: the quick ear broke down; close other programs before the next session"


class _Process:
    """A recogniser in a process, and the pipe to it."""

    def __init__(self, which: Which, settings: Settings, threads: int, work: Work) -> None:
        context = multiprocessing.get_context("spawn")
        self._pipe, theirs = context.Pipe()
        self._process = context.Process(
            target=work, args=(theirs, which, settings, threads), name=f"dictate {which} ear", daemon=True
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


def _listen(
    pipe: Connection, which: Which, settings: Settings, threads: int, *, cues: Sequence[str] | None = None
) -> None:
    """What runs in the process: Ctrl-C is for the session, which ends its ears itself. `cues`: phrases that
    are listened for beside what is written, None for those of the bench."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if which == "careful" and cues is None and hasattr(os, "nice"):
        os.nice(_PATIENT)  # at the bench nobody waits for it: the quick ear and the microphone go first
    with contextlib.suppress(EOFError, OSError):  # the session has ended
        hear = _loaded(pipe, which, settings, threads, {} if cues is None else {"cue_phrases": cues})
        while hear is not None:
            task: Task = pipe.recv()
            pipe.send(hear(task))


without_cues: Work = partial(_listen, cues=())  # words alone: no clock can be meant where it hears


def _loaded(
    pipe: Connection, which: Which, settings: Settings, threads: int, more: dict[str, Any]
) -> Callable[[Task], Reply] | None:
    """Load the recogniser and say so; None where it cannot be loaded."""
    from dictate.pipeline import second_hearing
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
                **more,
            )
        else:
            ear = WhisperRecogniser(weights, threads=threads, again=second_hearing(settings), **more)
    except ModelError as error:
        pipe.send(Ready(which, "", str(error)))
        return None
    hearing = Hearing(ear)
    pipe.send(Ready(which, ear.name))

    def hear(task: Task) -> Reply:
        if task.growing:
            heard = hearing.so_far(task.samples, task.stretch, from_s=task.from_s)
        else:
            heard = hearing.hear(task.samples, task.stretch, from_s=task.from_s, running=task.running)
        return Reply(which, task.number, heard, running=hearing.running)

    return hear
