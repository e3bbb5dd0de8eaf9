"""Cuts sound into breath groups while it comes: the same frames and gate as for a whole recording.

Pure but for the voice detector's weights: blocks in, stretches out. What a whole recording would tell of
noise floor and near talker is not there yet, so both are learnt from the minutes before.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dictate.audio.speech import (
    EARLIER,
    HOP,
    SAMPLE_RATE,
    VOICE_HOP,
    Floats,
    Frames,
    Stretch,
    VoiceDetector,
    band_levels,
    cut,
    voice_of_frames,
)

FRAMES_A_SECOND = SAMPLE_RATE // HOP
_LEARN_S = 300  # of what came before: a taster moves, a room fills
_LONGEST_S = 20.0  # a stretch is cut there at the latest, where it is quietest in its second half
_SMOOTH = 10  # frames over which "quietest" is meant


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

    def __init__(self, *, pause_s: float = 0.35, from_s: float = 0.0) -> None:
        """`pause_s`: a breath group ends with that much silence, in seconds."""
        self._pause_s = pause_s
        self._from_s = from_s
        self._voice = VoiceDetector()
        self._pending: Floats = np.zeros(0, np.float32)  # not yet enough for the voice detector
        self._tail: Floats = np.zeros(
            EARLIER, np.float32
        )  # not yet enough for a frame; begins EARLIER before
        self._blocks: Floats = np.zeros(0, np.float32)  # voice, since the beginning of block `_dropped`
        self._bands: Floats = np.zeros((4, 0), np.float32)
        self._first = 0  # number of the first frame kept
        self._dropped = 0  # blocks of voice no longer kept
        self._done_s = 0.0  # up to here all stretches are given out

    @property
    def heard_s(self) -> float:
        """How much sound is in frames, seconds in the recording."""
        return self._begins_s + int(self._bands.shape[1]) / FRAMES_A_SECOND

    @property
    def _begins_s(self) -> float:
        """Where the frames kept begin, seconds in the recording."""
        return self._from_s + self._first / FRAMES_A_SECOND

    def feed(self, samples: Floats) -> Live:
        """The next samples, shape (n,), mono, 16 kHz, -1 to 1; any n."""
        self._measure(samples)
        return self._look(final=False)

    def finish(self) -> tuple[Stretch, ...]:
        """No more comes: what was being said has ended."""
        self._measure(np.zeros(2 * HOP + VOICE_HOP, np.float32))
        return self._look(final=True).ended

    def _measure(self, samples: Floats) -> None:
        self._pending = np.concatenate([self._pending, samples])
        whole = len(self._pending) // VOICE_HOP * VOICE_HOP
        if whole:
            self._blocks = np.concatenate([self._blocks, self._voice(self._pending[:whole])])
            self._pending = self._pending[whole:]
        self._tail = np.concatenate([self._tail, samples])
        by_voice = (self._dropped + len(self._blocks)) * VOICE_HOP // HOP
        have = self._first + self._bands.shape[1]
        count = min((len(self._tail) - EARLIER - 2 * HOP) // HOP + 1, by_voice - have)
        if count > 0:
            self._bands = np.hstack([self._bands, band_levels(self._tail, count)])
            self._tail = self._tail[count * HOP :]
        self._forget()

    def _forget(self) -> None:
        """Frames of long ago, a minute's at a time, in whole blocks of voice (5 frames are 800 samples and
        16 frames 5 blocks)."""
        spare = self._bands.shape[1] - _LEARN_S * FRAMES_A_SECOND
        if spare > 60 * FRAMES_A_SECOND:
            spare -= spare % 16
            self._bands = self._bands[:, spare:]
            self._first += spare
            blocks = spare * HOP // VOICE_HOP
            self._blocks = self._blocks[blocks:]
            self._dropped += blocks

    def _frames(self) -> Frames:
        voice = voice_of_frames(self._blocks, 0, count=self._bands.shape[1])
        return Frames(self._bands, voice)

    def _look(self, *, final: bool) -> Live:
        offset = self._begins_s
        ended: list[Stretch] = []
        found = [
            Stretch(s.start_s + offset, s.end_s + offset) for s in cut(self._frames(), pause_s=self._pause_s)
        ]
        for stretch in found:
            # what was given out stays: the levels learnt since may move an edge of it
            if stretch.end_s <= self._done_s + 0.1:
                continue
            stretch = Stretch(max(stretch.start_s, self._done_s), stretch.end_s)
            while stretch.end_s - stretch.start_s > _LONGEST_S:
                at_s = self._quietest(stretch.start_s)
                ended.append(Stretch(stretch.start_s, at_s))
                stretch = Stretch(at_s, stretch.end_s)
            silent_s = self.heard_s - stretch.end_s
            if not final and silent_s < self._pause_s + 1e-6:
                self._done_s = max([self._done_s, *(s.end_s for s in ended)])
                return Live(tuple(ended), stretch, silent_s)
            ended.append(stretch)
        self._done_s = max([self._done_s, *(s.end_s for s in ended)])
        return Live(tuple(ended))

    def _quietest(self, start_s: float) -> float:
        """Where a stretch that is too long is cut, seconds."""
        offset = self._begins_s
        first = round((start_s + _LONGEST_S / 2 - offset) * FRAMES_A_SECOND)
        last = round((start_s + _LONGEST_S - offset) * FRAMES_A_SECOND)
        power = np.power(10, self._bands[:, first:last] / 10).sum(axis=0)
        smooth = np.convolve(power, np.ones(_SMOOTH), "same")
        return offset + (first + int(smooth.argmin())) / FRAMES_A_SECOND
