"""Breath groups of frames that come one by one: those of `breath_groups`, at the same levels. Pure.

A frame costs the same however long the breath group is that is being said. A group has ended when no frame
to come can change it: a word that begins softly reaches back over `REACH` frames from where it is voiced.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from dictate.audio.speech import CLOSURE, LULL, LULL_EDGE, MIN_CORE, REACH, VOICED, Frames, Levels

SURE = REACH + VOICED  # frames that may still become part of what is said behind them
_SPARE = 2000  # frames that are no longer needed, before they are given up


@dataclass(slots=True)
class _Open:
    """What is being said, in frames. `first` and `last`: half-open, of the part behind the last lull."""

    first: int = -1  # -1: nothing is said
    last: int = 0
    core_end: int = 0
    edge: int = 0  # up to there the edge behind the last core reaches
    in_core: bool = False
    in_lull: bool = False
    window: int = 0  # where the next window begins that is looked at for a lull


class Grouper:
    """Frames in, the breath groups that have ended out; frames are numbered from `begin`."""

    def __init__(self, levels: Levels, *, gap: int, begin: int = 0) -> None:
        """`gap`: frames of silence between two breath groups, at least."""
        self.levels, self._gap = levels, gap
        self._floor = begin  # before that all is given out
        self._base = begin  # number of the first frame kept
        self._loud: list[bool] = []
        self._over: list[bool] = []
        self._power = [0.0]  # sums up to each frame; of power that could be in a lull
        self._cores = [0]
        self._voiced = begin - SURE
        self._settled = begin  # from there on a frame may still become core
        self._open = _Open()

    @property
    def count(self) -> int:
        """The number of the next frame."""
        return self._base + len(self._loud)

    def feed(self, frames: Frames) -> Iterator[tuple[int, int]]:
        """The breath groups that ended with these frames."""
        level = frames.level
        powers = np.power(10.0, level / 10, dtype=np.float64).tolist()
        overs = (level > self.levels.gate).tolist()
        louds = self.levels.loud(frames.bands).tolist()
        voices = (frames.voice >= 0.5).tolist()
        for over, loud, voice, power in zip(overs, louds, voices, powers, strict=True):
            if voice:
                self._voiced = self.count
            self._over.append(over)
            self._loud.append(loud)
            self._power.append(self._power[-1] + power)
            while self._settled < self.count - VOICED:
                core = self._is_core(self._settled)
                self._cores.append(self._cores[-1] + core)
                yield from self._ended_before(core)
                self._step(self._open, self._settled, core=core)
                self._settled += 1
                yield from self._lulls()
            yield from self._ended()
        self._forget()

    def open(self) -> tuple[int, int] | None:
        """What is being said, in frames, as though no voice came; None where nothing is that is long enough
        to be a breath group."""
        state = copy.copy(self._open)
        core = self._cores[-1]
        before: tuple[int, int] | None = None  # what ended among the frames that are not sure yet
        begun: int | None = None  # core frames in front of what was said behind that
        for place in range(self._settled, self.count):
            is_core = self._is_core(place)
            if is_core and self._parts(state, place):
                before = self._long_enough(state, core, begun) or before
                state, begun = _Open(last=state.last), core
            core += is_core
            self._step(state, place, core=is_core)
        return self._long_enough(state, core, begun) or before

    def _long_enough(self, state: _Open, core: int, begun: int | None) -> tuple[int, int] | None:
        """What is open, if it is a breath group. `core`: core frames so far, of which `begun` before it."""
        if state.first < 0 or state.in_lull:
            return None
        told = core - (self._sum(state.first) if begun is None else begun)
        return (state.first, state.last) if told >= MIN_CORE else None

    def _parts(self, state: _Open, place: int) -> bool:
        """Whether a core that begins here is too far behind what is open to be of it."""
        if state.in_core or state.first < 0:
            return False
        return self._reach(place, place, limit=REACH) - state.last >= self._gap

    def _is_core(self, place: int) -> bool:
        return self._over[place - self._base] and self._voiced >= place - VOICED

    def _sum(self, place: int) -> int:
        return self._cores[min(place, self._settled) - self._base]  # behind that none is sure

    def _step(self, state: _Open, place: int, *, core: bool) -> None:
        if core:
            if not state.in_core:
                first = self._reach(place, place, limit=REACH)
                if state.first < 0:
                    state.first = state.window = first
                state.in_core = True
            state.core_end = state.edge = place + 1
        else:
            state.in_core = False
            near = state.first >= 0 and place < state.core_end + REACH and place - state.edge <= CLOSURE
            if near and self._loud[place - self._base]:
                state.edge = place + 1
        state.last = max(state.last, state.edge)

    def _reach(self, begin: int, end: int, *, limit: int, over: bool = False) -> int:
        """How far back from `begin` loud frames (`over`: or such as may become core) reach, `limit` frames
        before `end` at the most."""
        first = begin
        for place in range(begin - 1, max(self._floor, self._base, end - limit) - 1, -1):
            at = place - self._base
            if self._loud[at] or (over and self._over[at]):
                if first - place > CLOSURE + 1:
                    break
                first = place
        return first

    def _ended_before(self, core: bool) -> Iterator[tuple[int, int]]:
        """What ended before a core that begins now: its edge is too far from it."""
        if core and self._parts(self._open, self._settled):
            yield from self._give()

    def _ended(self) -> Iterator[tuple[int, int]]:
        """What no frame to come can change."""
        state = self._open
        if state.first < 0 or state.in_core or self.count - state.last < self._gap:
            return
        if self._reach(self.count, self.count, limit=SURE, over=True) - state.last >= self._gap:
            yield from self._give()

    def _give(self) -> Iterator[tuple[int, int]]:
        state = self._open
        self._open = _Open(last=state.last)
        if not state.in_lull:
            yield from self._worth(state.first, state.last)
        self._floor = state.last

    def _worth(self, first: int, last: int) -> Iterator[tuple[int, int]]:
        if self._sum(last) - self._sum(first) >= MIN_CORE:
            yield first, last

    def _lulls(self) -> Iterator[tuple[int, int]]:
        """What ended though others talk on: see `speech._part`."""
        state = self._open
        if not self.levels.parts or state.first < 0:
            return
        below = 10 ** (self.levels.lull / 10)
        while state.window + LULL <= state.last:
            at = state.window - self._base
            lull = (self._power[at + LULL] - self._power[at]) / LULL < below
            if lull and not state.in_lull:
                yield from self._worth(state.first, state.window + LULL_EDGE)
                self._floor = state.window + LULL_EDGE
            elif state.in_lull and not lull:
                state.first = state.window - 1 + LULL - LULL_EDGE
            state.in_lull = lull
            state.window += 1

    def _forget(self) -> None:
        keep = (self._open.first if self._open.first >= 0 else self._settled) - SURE - LULL
        if self._open.in_lull:
            keep = self._open.window - SURE - LULL
        spare = keep - self._base
        if spare > _SPARE:
            del self._over[:spare], self._loud[:spare], self._power[:spare], self._cores[:spare]
            self._base += spare
