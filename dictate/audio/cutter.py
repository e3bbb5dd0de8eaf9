"""Cuts sound into breath groups while it comes: the same frames, levels and gates as for a whole recording.

Pure but for the voice detector's weights: blocks in, stretches out. How the sound is parted into blocks makes
no difference. At the same levels the breath groups are exactly those of `find_speech`; but what a whole
recording tells of noise floor and near talker is not there yet, so both are learnt from the minutes before,
and again and again as more comes. So edges differ a little, more where a room grows loud later on.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dictate.audio.grouper import SURE, Grouper
from dictate.audio.growing import FrameMaker, KeptFrames
from dictate.audio.speech import HOP, SAMPLE_RATE, Floats, Frames, Stretch, breath_groups, learn
from dictate.values import PAUSE_S

FRAMES_A_SECOND = SAMPLE_RATE // HOP
_LEARN = 300 * FRAMES_A_SECOND  # frames of what came before: a taster moves, a room fills
_SPARE = 60 * FRAMES_A_SECOND
_STEP = 5  # frames at a time
_ANEW = 50  # levels are learnt anew when there is a 50th more: so a frame costs the same, early and late
_LONGEST = 20 * FRAMES_A_SECOND  # a stretch is cut there at the latest, where its second half is quietest
_SMOOTH = 10  # frames over which "quietest" is meant
_SAME = 30  # frames: so little right behind what was given out is the end of it, moved by new levels


@dataclass(frozen=True, slots=True)
class Live:
    """What is known after a block: the stretches that have ended, and the one that is being said.

    `open` may still grow or be dropped; `silent_s`: for how long nothing has been said behind it.
    """

    ended: tuple[Stretch, ...] = ()
    open: Stretch | None = None
    silent_s: float = 0.0


class LiveCutter:
    """Feed it sound; it says which breath groups have ended. Seconds from the first sample fed (`from_s`
    says where in the recording that is)."""

    def __init__(self, *, pause_s: float = PAUSE_S, from_s: float = 0.0) -> None:
        """`pause_s`: a breath group ends with that much silence, in seconds."""
        self._gap = round(pause_s * FRAMES_A_SECOND)
        self._from_s = from_s
        self._maker = FrameMaker()
        self._kept = KeptFrames(_LEARN, _SPARE)
        self._learnt = (0, 0)  # frames that had come when levels were learnt last, and frames with a voice
        self._voiced = 0
        self._done = 0  # up to that frame all is given out
        self._grouper: Grouper | None = None  # None as long as no levels are known

    @property
    def heard_s(self) -> float:
        """How much sound is in frames, seconds in the recording."""
        return self._from_s + self._kept.count / FRAMES_A_SECOND

    def feed(self, samples: Floats) -> Live:
        """The next samples, shape (n,), mono, 16 kHz, -1 to 1; any n."""
        ended = self._take(self._maker.feed(samples))
        now = self._grouper.open() if self._grouper else None
        if now is None:
            return Live(ended)
        first, last = now
        silent_s = (self._kept.count - last) / FRAMES_A_SECOND
        return Live(ended, self._stretch(max(first, self._done), last), silent_s)

    def finish(self) -> tuple[Stretch, ...]:
        """No more comes: what was being said has ended."""
        ended = self._take(self._maker.finish())
        return (*ended, *self._learn(final=True))

    def _take(self, frames: Frames) -> tuple[Stretch, ...]:
        """Frames in steps that do not depend on how they came."""
        ended: list[Stretch] = []
        at = 0
        while at < len(frames.voice):
            until = min(len(frames.voice), at + _STEP - self._kept.count % _STEP)
            part = Frames(frames.bands[:, at:until], frames.voice[at:until])
            at = until
            self._kept.put(part)
            self._voiced += int((part.voice >= 0.5).sum())
            if self._grouper is not None:
                for first, last in self._grouper.feed(part):
                    ended += self._give(first, last)
            if self._kept.count % _STEP == 0:
                ended += self._learn() if self._is_due else self._too_long()
        return tuple(ended)

    @property
    def _is_due(self) -> bool:
        """Whether levels are to be learnt: with much more sound, or much more speech."""
        count, voiced = self._learnt
        more = self._kept.count - max(count, self._kept.first)
        return (
            self._grouper is None
            or more * _ANEW >= count - self._kept.first
            or (self._voiced - voiced) * _ANEW > voiced
        )

    def _learn(self, *, final: bool = False) -> list[Stretch]:
        """Learn the levels anew; by them cut what was not given out yet."""
        levels = learn(self._kept.since(0), growing=not final)
        if levels is None:
            return []
        self._learnt = (self._kept.count, self._voiced)
        self._done = max(self._done, self._kept.first)
        count, offset = self._kept.count, self._done
        begin = max(self._done, count - 2 * SURE)
        ended: list[Stretch] = []
        for first, last in breath_groups(self._kept.since(self._done), levels, gap=self._gap):
            if not final and offset + last > count - SURE - self._gap:
                begin = min(begin, max(self._done, offset + first - SURE))
                break
            ended += self._give(offset + first, offset + last)
        begin = max(begin, self._done)
        self._grouper = Grouper(levels, gap=self._gap, begin=begin)
        for first, last in self._grouper.feed(self._kept.since(begin)):
            ended += self._give(first, last)
        return ended

    def _give(self, first: int, last: int) -> list[Stretch]:
        """A breath group that has ended, of which what was given out stays as it was."""
        if first - self._done < self._gap and last - self._done <= _SAME:
            return []
        first = max(first, self._done)
        ended: list[Stretch] = []
        while last - first > _LONGEST:
            cut = self._quietest(first)
            ended.append(self._stretch(first, cut))
            first = cut
        self._done = last
        return [*ended, self._stretch(first, last)]

    def _too_long(self) -> list[Stretch]:
        """The first part of what is being said, where it is too long."""
        now = self._grouper.open() if self._grouper else None
        if self._grouper is None or now is None or now[1] - now[0] <= _LONGEST:
            return []
        cut = self._quietest(now[0])
        ended = self._give(now[0], cut)
        self._grouper = Grouper(self._grouper.levels, gap=self._gap, begin=cut)
        for first, last in self._grouper.feed(self._kept.since(cut)):
            ended += self._give(first, last)
        return ended

    def _quietest(self, first: int) -> int:
        """Where a group that is too long is cut."""
        middle = first + _LONGEST // 2
        level = self._kept.since(middle).level[: _LONGEST // 2]
        smooth = np.convolve(np.power(10, level / 10), np.ones(_SMOOTH), "same")
        return middle + int(smooth.argmin())

    def _stretch(self, first: int, last: int) -> Stretch:
        return Stretch(self._from_s + first / FRAMES_A_SECOND, self._from_s + last / FRAMES_A_SECOND)
