"""The frames of growing sound, those of the last minutes kept. Pure but for the voice detector's weights."""

from __future__ import annotations

import numpy as np

from dictate.audio.speech import (
    EARLIER,
    HOP,
    VOICE_HOP,
    Floats,
    Frames,
    VoiceDetector,
    band_levels,
)


class FrameMaker:
    """Sound in, frames out, the same as `measure` makes of the whole."""

    def __init__(self) -> None:
        self._voice = VoiceDetector()
        self._waiting: Floats = np.zeros(0, np.float32)  # not yet a block for the voice detector
        self._tail: Floats = np.zeros(EARLIER, np.float32)  # not yet a frame; begins EARLIER before the next
        self._blocks: Floats = np.zeros(0, np.float32)  # voice, from block `_dropped` on
        self._dropped = 0
        self._count = 0
        self._samples = 0

    def feed(self, samples: Floats) -> Frames:
        """The frames that are whole with these samples."""
        self._samples += len(samples)
        return self._made(samples)

    def finish(self) -> Frames:
        """The last ones: behind the sound is silence."""
        frames = self._made(np.zeros(2 * HOP + VOICE_HOP, np.float32))
        left = max(0, self._samples // HOP - (self._count - len(frames.voice)))
        return Frames(frames.bands[:, :left], frames.voice[:left])

    def _made(self, samples: Floats) -> Frames:
        self._waiting = np.concatenate([self._waiting, samples])
        self._tail = np.concatenate([self._tail, samples])
        whole = len(self._waiting) // VOICE_HOP * VOICE_HOP
        if whole:
            self._blocks = np.concatenate([self._blocks, self._voice(self._waiting[:whole])])
            self._waiting = self._waiting[whole:]
        by_voice = (self._dropped + len(self._blocks)) * VOICE_HOP
        count = min(
            (len(self._tail) - EARLIER - 2 * HOP) // HOP + 1,
            (by_voice - HOP // 2 - 1) // HOP + 1 - self._count,
        )
        if count <= 0:
            return Frames(np.zeros((4, 0), np.float32), np.zeros(0, np.float32))
        bands = band_levels(self._tail, count)
        self._tail = self._tail[count * HOP :]
        middles = (np.arange(self._count, self._count + count) * HOP + HOP // 2) // VOICE_HOP
        voice = self._blocks[middles - self._dropped]
        self._count += count
        spare = int(middles[-1]) - self._dropped
        self._blocks, self._dropped = self._blocks[spare:], self._dropped + spare
        return Frames(bands, voice)


class KeptFrames:
    """Frames of the last minutes, numbered from the first that ever came."""

    def __init__(self, most: int, spare: int) -> None:
        """At most `most` are kept, and up to `spare` more until they are given up all at once."""
        self._most, self._spare = most, spare
        self._bands: Floats = np.empty((4, most + spare), np.float32)
        self._voice: Floats = np.empty(most + spare, np.float32)
        self._length = 0
        self.first = 0  # number of the first one kept

    @property
    def count(self) -> int:
        """The number of the next one."""
        return self.first + self._length

    @property
    def room(self) -> int:
        """So many may be put before some are given up."""
        return self._most + self._spare - self._length

    def put(self, frames: Frames) -> None:
        """The next ones, at most `room`; a full store gives up its oldest first."""
        count = len(frames.voice)
        if count > self.room:
            self._bands[:, : self._most] = self._bands[:, self._length - self._most : self._length]
            self._voice[: self._most] = self._voice[self._length - self._most : self._length]
            self.first += self._length - self._most
            self._length = self._most
        self._bands[:, self._length : self._length + count] = frames.bands
        self._voice[self._length : self._length + count] = frames.voice
        self._length += count

    def since(self, number: int) -> Frames:
        """Those from a number on."""
        at = max(0, number - self.first)
        return Frames(self._bands[:, at : self._length], self._voice[at : self._length])
