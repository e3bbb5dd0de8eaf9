"""Finds lost sound: time by the clock against time in samples. Pure.

A buffer that comes late is no loss, if those behind it make up for it; samples that never come leave
all later ones late. So a suspicion is waited out for a moment before it counts.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

SETTLE_S = 0.35  # sound devices deliver in bursts, of up to 0.15 s here: one whole burst and more
SUSPECT_S = 0.4  # late by that much without being told of a loss: more than bursts make (0.1 s here)
LEAST_S = 0.02  # a loss that was told of but is shorter than that cannot be told from bursts
_MEMORY_S = 20.0  # the usual lateness is the least of that long; two clocks drift apart 2 ms in it (100 ppm)


@dataclass(frozen=True, slots=True)
class Gap:
    """Sound that is missing before a block."""

    seconds: float
    reason: str


@dataclass(frozen=True, slots=True)
class Chunk:
    """A buffer as the device gave it: when it came (s, any clock that runs on while the machine sleeps), how
    long the machine had slept by then (s, sum), how long it lasts (s), and the loss that was told before it.
    """

    data: bytes
    at_s: float
    slept_s: float
    length_s: float
    cause: str = ""


class GapFinder:
    """Passes chunks on, each with the gap before it."""

    def __init__(self) -> None:
        self._got_s = 0.0  # samples and gaps so far
        self._lately: deque[tuple[float, float]] = deque()  # lateness by time, rising: a moving minimum
        self._held: list[Chunk] = []
        self._latenesses: list[float] = []  # of the chunks held
        self._place = 0  # of those held the first behind the loss
        self._slept_s = 0.0

    def feed(self, chunk: Chunk) -> list[tuple[Chunk, Gap | None]]:
        """What can be passed on now, in order; nothing while a suspicion is waited out."""
        lateness = chunk.at_s - self._got_s - sum(c.length_s for c in self._held) - chunk.length_s
        if not self._lately:  # the very first: whatever was before it is not missing
            self._slept_s = chunk.slept_s
        elif self._held:
            if chunk.cause:
                self._place = len(self._held)
            self._hold(chunk, lateness)
            return self.flush() if chunk.at_s - self._held[self._place].at_s >= SETTLE_S else []
        elif chunk.cause or lateness - self._lately[0][1] > SUSPECT_S:
            self._place = 0
            self._hold(chunk, lateness)
            return []
        self._passed(chunk, lateness)
        return [(chunk, None)]

    def flush(self) -> list[tuple[Chunk, Gap | None]]:
        """What is held, judged by what is known; empty where nothing is."""
        held, self._held = self._held, []
        latenesses, self._latenesses = self._latenesses, []
        if not held:
            return []
        first = held[self._place]
        lost_s = min(latenesses[self._place :]) - self._lately[0][1]
        least = LEAST_S if first.cause else SUSPECT_S / 2
        gap = Gap(lost_s, self._reason(first, lost_s)) if lost_s >= least else None
        passed: list[tuple[Chunk, Gap | None]] = []
        for number, (chunk, lateness) in enumerate(zip(held, latenesses, strict=True)):
            here = gap if number == self._place else None
            if here:
                self._got_s += here.seconds
            self._passed(chunk, lateness - (gap.seconds if gap and number >= self._place else 0.0))
            passed.append((chunk, here))
        return passed

    def _hold(self, chunk: Chunk, lateness: float) -> None:
        self._held.append(chunk)
        self._latenesses.append(lateness)

    def _reason(self, first: Chunk, lost_s: float) -> str:
        if first.slept_s - self._slept_s > lost_s / 2:
            return "the machine slept"
        return first.cause or "the microphone gave no sound"

    def _passed(self, chunk: Chunk, lateness: float) -> None:
        self._got_s += chunk.length_s
        self._slept_s = chunk.slept_s
        while self._lately and self._lately[-1][1] >= lateness:
            self._lately.pop()
        self._lately.append((chunk.at_s, lateness))
        while len(self._lately) > 1 and self._lately[0][0] < chunk.at_s - _MEMORY_S:
            self._lately.popleft()
