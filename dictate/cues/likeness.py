"""How alike two stretches sound: a taster's cues are known again by how they were said before. Pure.

The same mouth says "spitting now" forty times in a morning: said again, it is nearer to the last time than
anything else is, though noise may hide from a recogniser what was said.
"""

from __future__ import annotations

from collections import defaultdict, deque

import numpy as np
from numpy.typing import NDArray

Frames = NDArray[np.float32]  # shape (n, k): n frames of sound, k numbers each
_KEPT = 4  # of a phrase: its latest
_LIMIT = 5.0  # standard deviations: a few of an encoder's numbers are huge in some frames


def distance(one: Frames, other: Frames) -> float:
    """How far apart two stretches are, 0 to 2: the mean of 1 - cosine of their frames on the best path.

    Dynamic time warping, symmetric, without slope constraint (Sakoe and Chiba, IEEE Trans. ASSP 26: 43,
    1978, form P = 0): both (n, k) and (m, k), neither empty; slower speech costs nothing of itself.
    """
    cost = 1 - _unit(one) @ _unit(other).T
    reached = np.cumsum(cost[0]) + cost[0, 0]  # the first cell counts twice, as each step aslant
    for row in cost[1:]:
        aslant = np.append(np.inf, reached[:-1]) + 2 * row
        from_above = np.minimum(aslant, reached + row)
        along = np.cumsum(row)
        reached = along + np.minimum.accumulate(from_above - along)
    return float(max(0.0, reached[-1]) / sum(cost.shape))


def _unit(frames: Frames) -> NDArray[np.float64]:
    wide = frames.astype(np.float64)
    return np.asarray(wide / np.maximum(np.linalg.norm(wide, axis=1, keepdims=True), 1e-9))


class Earlier:
    """How the cues of this recording sounded so far. Frames are compared in standard deviations from the mean
    of all that was heard in it, so that the room and the voice count for nothing."""

    def __init__(self) -> None:
        self._count = 0
        self._sum = self._squares = np.zeros(1)
        self._said: dict[str, deque[Frames]] = defaultdict(lambda: deque(maxlen=_KEPT))

    def hear(self, frames: Frames) -> None:
        """Any stretch, of whatever words: shape (n, k)."""
        wide = frames.astype(np.float64)
        self._count += len(wide)
        self._sum = self._sum + wide.sum(axis=0)
        self._squares = self._squares + (wide**2).sum(axis=0)

    def keep(self, text: str, frames: Frames) -> None:
        """A stretch in which a cue was said for sure, in these words."""
        if len(frames):
            self._said[text].append(frames)

    def distance(self, text: str, frames: Frames) -> float | None:
        """How far a stretch is from the nearest one in which these words were said; None if none was."""
        said = self._said.get(text)
        if not said or not len(frames):
            return None
        here = self._standard(frames)
        return min(distance(here, self._standard(before)) for before in said)

    def _standard(self, frames: Frames) -> Frames:
        if not self._count:
            return frames
        mean = self._sum / self._count
        spread = np.sqrt(np.maximum(self._squares / self._count - mean**2, 1e-12))
        return np.clip((frames - mean) / spread, -_LIMIT, _LIMIT).astype(np.float32)
