"""What the microphone hears while notes are reviewed, breath group by breath group. EDGE.

Sound is kept for some seconds in memory and written nowhere. Two ears hear each breath group (`listen/`): the
quick one for what only moves on the page, the careful one for all that changes a note.
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from dictate.audio.speech import SAMPLE_RATE, Stretch
from dictate.listen.asking import Asking, Known, Outcome
from dictate.listen.capture import Source, SourceEnd
from dictate.listen.ears import Ear, Ready, Reply, Task, Which, without_cues
from dictate.recognise.recogniser import HeardStretch
from dictate.settings import Settings

KEPT_S: Final = 45.0  # of sound in memory: a breath group has 20 s at most
GONE: Final = "the microphone is gone; plug it in again, listening goes on by itself"
OVER: Final = "the recording is at its end: nothing more is heard"
LOADING: Final = "getting ready: what is said now is heard a little later"
_CLOSE_S: Final = 5.0
_THREADS: Final[dict[Which, int]] = {"quick": 1, "careful": 2}  # the taster waits for both
_EARS: Final[tuple[Which, ...]] = get_args(Which)
Wrong = Literal["source", "careful", "quick"]  # the worst first


@dataclass(frozen=True, slots=True)
class Utterance:
    """A breath group, as an ear heard it. `stretch`: seconds of sound since listening began; `sure`: nothing
    that is heard later of this `number` counts; `broken`: it could not be heard."""

    number: int
    stretch: Stretch
    heard: HeardStretch
    sure: bool = True
    broken: bool = False


@dataclass(frozen=True, slots=True)
class _Said:
    """Something that went wrong with the microphone, or with all that comes from it."""

    problem: str


Message = NDArray[np.int16] | SourceEnd | Reply | Ready | _Said | None


class RecentSound:
    """The end of a sound that grows, by the places of all of it; what is older is silence."""

    def __init__(self, kept_s: float = KEPT_S) -> None:
        """`kept_s`: how many seconds are kept at least."""
        self._most = round(kept_s * SAMPLE_RATE)
        self._held = np.zeros(2 * self._most, np.float32)
        self._first = self._count = 0  # place of the first sample that is held; how many are

    def __len__(self) -> int:
        return self._first + self._count

    def add(self, samples: NDArray[np.float32]) -> None:
        """More of it, shape (n,), less than is kept."""
        if self._count + len(samples) > len(self._held):
            gone = self._count - self._most
            self._held[: self._most] = self._held[gone : self._count].copy()
            self._first, self._count = self._first + gone, self._most
        self._held[self._count : self._count + len(samples)] = samples
        self._count += len(samples)

    def __getitem__(self, part: slice) -> NDArray[np.float32]:
        first, last, _ = part.indices(len(self))
        silent = np.zeros(max(0, min(last, self._first) - first), np.float32)
        held = self._held[max(0, first - self._first) : max(0, last - self._first)]
        return np.concatenate([silent, held])


class _Heeding:
    """An ear, as far as it is asked: what was said while nobody listened never reaches it."""

    def __init__(self, ear: Ear, heeds: Callable[[Stretch], bool], not_heard: Callable[[Task], None]) -> None:
        self._ear, self._heeds, self._not_heard = ear, heeds, not_heard

    def hear(self, task: Task) -> None:
        """Hear a stretch, or say that nothing was heard; returns at once."""
        (self._ear.hear if self._heeds(task.stretch) else self._not_heard)(task)


class Listening:
    """A microphone, and the ears that hear it, from `start` to `stop`."""

    def __init__(self, source: Source, settings: Settings) -> None:
        self._source, self._settings = source, settings
        self._tell: Callable[[Utterance], None] = lambda _: None
        self._changed: Callable[[], None] = lambda: None
        self._inbox: queue.SimpleQueue[Message] = queue.SimpleQueue()
        self._sound = RecentSound()
        self._ears: dict[Which, Ear] = {}
        self._hears: dict[Which, _Heeding] = {}
        self._loading = set(_EARS)
        self._wrong: dict[Wrong, str] = {}
        self._unsure: dict[int, Utterance] = {}  # told, and the careful ear has not heard them yet
        self._on_since_s: float | None = 0.0  # seconds of sound; None while it is off
        self._threads = [
            threading.Thread(target=each, name=f"review {name}", daemon=True)
            for name, each in (("microphone", self._take), ("listening", self._work))
        ]

    @property
    def name(self) -> str:
        """Of the microphone."""
        return self._source.name

    @property
    def seconds(self) -> float:
        """How much sound has come."""
        return len(self._sound) / SAMPLE_RATE

    @property
    def is_on(self) -> bool:
        """Whether it listens."""
        return self._on_since_s is not None

    @property
    def problem(self) -> str:
        """Why nothing is heard, or less well, one line; "" where all is well."""
        told = next((self._wrong[what] for what in get_args(Wrong) if self._wrong.get(what)), "")
        return told or (LOADING if self._loading else "")

    def turn(self, *, on: bool) -> None:
        """Listen or not. What is said while it is off, or was begun before it is on, reaches no ear."""
        if on != self.is_on:
            self._on_since_s = self.seconds if on else None
            self._changed()

    def start(self, tell: Callable[[Utterance], None], changed: Callable[[], None]) -> None:
        """Begin; returns at once. `tell` gets breath groups, and `changed` is called when something else is
        new; both from a thread of its own."""
        self._tell, self._changed = tell, changed
        self._ears = {
            which: Ear(
                which, self._settings, tell=self._inbox.put, threads=_THREADS[which], work=without_cues
            )
            for which in _EARS
        }
        self._hears = {
            which: _Heeding(ear, self._heeds, lambda task, which=which: self._not_heard(which, task))  # type: ignore[misc]
            for which, ear in self._ears.items()
        }
        for thread in self._threads:
            thread.start()

    def stop(self) -> None:
        """Give the microphone and the ears back."""
        self._source.stop()
        self._inbox.put(None)
        for thread in self._threads:
            if thread.is_alive():
                thread.join(_CLOSE_S)
        for ear in self._ears.values():
            ear.close(_CLOSE_S)

    def _take(self) -> None:
        """Sound from the microphone into the inbox."""
        problem = OVER
        try:
            for block in self._source.blocks():
                if block.lost:
                    self._inbox.put(_Said(GONE))
                elif len(block.samples):
                    self._inbox.put(block.samples)
        except Exception as error:  # the page goes on by hand, whatever the microphone does
            problem = f"listening has stopped: {' '.join(str(error).split()) or type(error).__name__}"
        self._inbox.put(SourceEnd())
        self._inbox.put(_Said(problem))

    def _work(self) -> None:
        """What came, until the end."""
        asking = Asking(self._sound, self._hears)
        while (message := self._inbox.get()) is not None:
            match message:
                case np.ndarray():
                    sound = message.astype(np.float32) / np.float32(32768)
                    self._sound.add(sound)
                    self._say("source", "")
                    self._give(asking.feed(sound, running=False))
                case SourceEnd():
                    self._give(asking.finish(running=False))
                case Reply():
                    outcome = asking.reply(message)
                    self._give([outcome] if outcome is not None else [])
                case Ready():
                    self._loading.discard(message.ear)
                    if message.problem:
                        self._give_up(message.ear)
                        self._say(message.ear, message.problem)
                    self._changed()
                case _Said(problem):
                    self._say("source", problem)

    def _heeds(self, stretch: Stretch) -> bool:
        since_s = self._on_since_s
        return since_s is not None and stretch.start_s >= since_s

    def _not_heard(self, which: Which, task: Task) -> None:
        self._inbox.put(Reply(which, task.number, HeardStretch(())))

    def _give(self, known: Sequence[Known]) -> None:
        for each in known:
            if isinstance(each, Outcome) and self._heeds(each.stretch):
                sure = each.sure or "careful" not in self._hears
                told = Utterance(each.number, each.stretch, each.heard, sure, each.broken)
                self._unsure.pop(each.number, None)
                if not sure:
                    self._unsure[each.number] = told
                if each.heard.words or each.broken:
                    self._tell(told)

    def _give_up(self, ear: Which) -> None:
        """An ear hears no more: what only the careful one was to hear stands as the quick one heard it."""
        self._hears.pop(ear, None)
        if ear == "careful":
            for told in self._unsure.values():
                self._tell(replace(told, sure=True))
            self._unsure.clear()

    def _say(self, what: Wrong, problem: str) -> None:
        if self._wrong.get(what, "") != problem:
            self._wrong[what] = problem
            self._changed()
