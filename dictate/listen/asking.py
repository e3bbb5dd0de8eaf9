"""Which ear is asked to hear what: breath groups as they end, and guesses ahead of that.

Sound in, tasks to the ears, outcomes back. Whoever calls it holds the story and the clock.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from dictate.audio.cutter import Live, LiveCutter
from dictate.audio.speech import SAMPLE_RATE, Stretch
from dictate.cues import Samples
from dictate.listen.ears import Reply, Task, Which
from dictate.listen.growth import Growth
from dictate.recognise.recogniser import AROUND_S, HeardStretch
from dictate.values import Word

SPECULATE_S = 0.1  # of silence after which the quick ear begins: most stretches have ended by then
_SLACK_S = 0.05
_TALKS_S = 0.05  # of silence: with more the breath group may be about to end, and is heard then


class Hears(Protocol):
    """An ear, as far as it is asked."""

    def hear(self, task: Task) -> None:
        """Hear a stretch; returns at once."""
        ...


@dataclass(frozen=True, slots=True)
class Said:
    """A breath group has ended."""

    number: int
    stretch: Stretch


@dataclass(frozen=True, slots=True)
class Outcome:
    """What an ear made of a breath group; `sure`: the careful one. `broken`: it could not hear it."""

    number: int
    stretch: Stretch
    heard: HeardStretch
    sure: bool
    broken: bool = False


@dataclass(frozen=True, slots=True)
class Growing:
    """What is sure of the words of a breath group that is still being said; none where it is dropped."""

    number: int
    words: tuple[Word, ...] = ()


@dataclass(frozen=True, slots=True)
class _Asked:
    ear: Which
    number: int
    stretch: Stretch
    growth: Growth | None = None


def same(one: Stretch, other: Stretch) -> bool:
    """Whether two stretches are the same words: edges move a little as more is heard."""
    return abs(one.start_s - other.start_s) <= _SLACK_S and abs(one.end_s - other.end_s) <= _SLACK_S


Known = Said | Outcome | Growing


class Asking:
    """Breath groups of one session, numbered in their order, and what the ears were asked of them."""

    def __init__(
        self,
        sound: Samples,
        ears: Mapping[Which, Hears],
        *,
        first: int = 0,
        from_s: float = 0.0,
        running: bool | None = None,
    ) -> None:
        """`sound`: the recording as far as it goes; `ears`: may become fewer; `first`: the number of the
        first breath group of the sound that is fed, which begins `from_s` seconds into the recording;
        `running`: whether the finish clock runs, where an earlier session tells it."""
        self._sound, self._ears = sound, ears
        self._next = first
        self._cutter = LiveCutter(from_s=from_s)
        self._stretches: dict[int, Stretch] = {}  # that have ended
        self._asked: dict[int, _Asked] = {}  # by the task's number
        self._growth: Growth | None = None  # of what is being said
        self._guess: tuple[Stretch, HeardStretch | None] | None = None  # the quick ear was asked ahead
        self._tasks = 0
        self._untold = running  # what the careful ear does not know yet; then it goes by what it hears

    def again(self, number: int, stretch: Stretch) -> None:
        """Have a breath group of an earlier session heard, with care: nobody waits for it."""
        self._stretches[number] = stretch
        self._send_careful(number, stretch)

    def feed(self, samples: NDArray[np.float32], *, running: bool) -> list[Known]:
        """More sound, shape (n,), 16 kHz, which is in the recording already; what is known by it. `running`:
        the finish clock runs."""
        return self._ask(self._cutter.feed(samples), running)

    def finish(self, *, running: bool) -> list[Known]:
        """No more sound comes: what was being said has ended."""
        return self._ask(Live(self._cutter.finish()), running)

    def reply(self, reply: Reply) -> Outcome | Growing | None:
        """What an ear gave back; None where nothing is known by it that counts."""
        asked = self._asked.pop(reply.number)
        if asked.growth is not None:
            more = asked.growth is self._growth and asked.growth.hear(reply.heard.words, asked.stretch.end_s)
            return Growing(asked.number, asked.growth.words) if more else None
        number, stretch = asked.number, asked.stretch
        ended = self._stretches.get(number)
        if ended is not None:
            if not same(stretch, ended):
                return None  # a guess that was wrong
            sure = reply.ear == "careful"
            if sure:
                del self._stretches[number]  # nothing that comes later counts
            return Outcome(number, ended, reply.heard, sure, broken=bool(reply.problem))
        if self._guess is not None and same(self._guess[0], stretch):
            self._guess = (stretch, reply.heard)
        growth = self._growth
        if growth is not None and growth.asked(stretch) and growth.hear(reply.heard.words, stretch.end_s):
            return Growing(number, growth.words)  # a guess that was wrong tells how it goes so far
        return None

    def _ask(self, live: Live, running: bool) -> list[Known]:
        known: list[Known] = []
        for stretch in live.ended:
            number, self._next = self._next, self._next + 1
            self._stretches[number] = stretch
            known.append(Said(number, stretch))
            guess, self._guess = self._guess, None
            if guess is None or not same(guess[0], stretch):
                self._send("quick", number, stretch=stretch, running=running)
            elif guess[1] is not None:
                known.append(Outcome(number, stretch, guess[1], sure=False))
            self._send_careful(number, stretch)
        if live.open is None or (self._guess and not same(self._guess[0], live.open)):
            self._guess = None  # more was said: what the ear makes of it does not count
        elif live.silent_s >= SPECULATE_S and self._guess is None and "quick" in self._ears:
            self._guess = (live.open, None)
            if self._growth is not None:
                self._growth.asked(live.open)
            self._send("quick", self._next, stretch=live.open, running=running)
        return known + self._grow(live)

    def _grow(self, live: Live) -> list[Known]:
        """Have what is being said heard, if it goes on for long and the quick ear has nothing else to do."""
        now = live.open
        dropped: list[Known] = []
        if self._growth is not None and (now is None or abs(self._growth.start_s - now.start_s) > _SLACK_S):
            if self._growth.words and not live.ended:
                dropped = [Growing(self._next)]
            self._growth = None
        if now is None or "quick" not in self._ears:
            return dropped
        if self._growth is None:
            self._growth = Growth(now.start_s)
        if live.silent_s < _TALKS_S and all(asked.ear != "quick" for asked in self._asked.values()):
            stretch = self._growth.due(now.end_s)
            if stretch is not None:
                self._send("quick", self._next, stretch=stretch, growth=self._growth)
        return dropped

    def _send_careful(self, number: int, stretch: Stretch) -> None:
        running, self._untold = self._untold, None
        self._send("careful", number, stretch=stretch, running=running)

    def _send(
        self,
        which: Which,
        number: int,
        *,
        stretch: Stretch,
        running: bool | None = None,
        growth: Growth | None = None,
    ) -> None:
        if which not in self._ears:
            return
        first = round(max(0.0, stretch.start_s - AROUND_S) * SAMPLE_RATE)
        samples = self._sound[first : round((stretch.end_s + AROUND_S) * SAMPLE_RATE)]
        self._tasks += 1
        self._asked[self._tasks] = _Asked(which, number, stretch, growth)
        task = Task(
            self._tasks, samples, stretch, first / SAMPLE_RATE, running=running, growing=growth is not None
        )
        self._ears[which].hear(task)
