"""The level check that goes on through a session: a taster leans back, a mute key is hit. Pure."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from dictate.listen.levels import SAMPLE_RATE, Remark, check_speech, is_dead

FOR_LONG = 3  # breath groups in a row: one may be an aside, said into the glass
DEAD_S = 30.0  # sound without any motion at all; made-up recordings have pauses of 25 s without any
_LONGEST_S = 1.0  # a longer block of nothing stands for sound that was lost


class LevelWatch:
    """What is wrong with the level for long, one remark at a time."""

    def __init__(self) -> None:
        self._kind = ""  # of what was wrong with the last breath groups
        self._count = 0  # how many in a row
        self._remark: Remark | None = None
        self._dead_s = 0.0

    @property
    def remark(self) -> Remark | None:
        """What is wrong, as it was when it began; None where all is well."""
        return self._remark

    def block(self, samples: NDArray[np.float32]) -> None:
        """Sound as it comes, shape (n,), 16 kHz, -1 to 1."""
        if not len(samples) or len(samples) > _LONGEST_S * SAMPLE_RATE:
            return
        dead = is_dead(samples)
        if dead is None:
            self._dead_s = 0.0
            if self._remark is not None and self._remark.kind == "dead":
                self._remark = None
            return
        self._dead_s += len(samples) / SAMPLE_RATE
        if self._dead_s >= DEAD_S:
            self._remark = self._remark or dead

    def said(self, speech: NDArray[np.float32]) -> None:
        """The sound of a breath group that has ended."""
        found = check_speech(speech)
        if found is None:
            self._kind, self._count, self._remark = "", 0, None
            return
        self._count = self._count + 1 if found.kind == self._kind else 1
        self._kind = found.kind
        if self._remark is not None and self._remark.kind != found.kind:
            self._remark = None  # that is over; whether the other is for long, the next ones tell
        if self._count >= FOR_LONG:
            self._remark = self._remark or found
