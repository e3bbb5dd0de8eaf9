"""Strings of phones retrieved by sound: from many, those most like a given one. Pure.

Two steps. Rough: every string as classes of phones that are taken for each other, compared by plain edit
distance (rapidfuzz, half a millisecond for 28,000 strings). Fine: the best of these by the weighted edit
distance of `distance.py`. Of the strings that are truly nearest, the rough step keeps 95 in 100.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

from dictate.phonetics.distance import as_numbers, distances, weights
from dictate.phonetics.phones import PHONES

LONGEST = 32  # phones of a string that are compared
_ROUGH = 160  # strings that the rough step keeps for each query, and as many more as are as near
_MOST_ROUGH = 400
# queries compared together: each takes a row as long as the index, so that memory stays bounded
_AT_ONCE = 200
_CLASSES = "pb fvw tdɾθð szʃʒʧʤ kgxh mn ŋ l r ji ɪeɛyø æaɑʌəɜ ɔɒo ʊu IO W".split()
_WEAK = "ɹ~"  # left out: half of all speakers do too
_CLASS_OF: dict[int, str | None] = {
    ord(phone): phones[0] for phones in _CLASSES for phone in phones
} | dict.fromkeys(map(ord, _WEAK))
assert len(_CLASS_OF) == len(PHONES)


@dataclass(frozen=True, slots=True)
class Near:
    """A string of the index (by its number), its distance, and that as a share of the longer string's
    weight: 0 for the same sound, 1 for nothing in common."""

    number: int
    distance: float
    share: float


class SoundIndex:
    """Strings of phones, ready to be searched."""

    def __init__(self, sounds: Sequence[str]) -> None:
        """`sounds`: strings of phones; they keep their numbers, 0 to n - 1."""
        self._rows = as_numbers(sounds, width=LONGEST)
        self._weights = weights(self._rows)
        self._classes = [text[:LONGEST].translate(_CLASS_OF) for text in sounds]

    def nearest(self, queries: Sequence[str], *, count: int = 24) -> list[list[Near]]:
        """For each query at most `count` strings, the nearest first."""
        if not len(self._rows):
            return [[] for _ in queries]
        some = (queries[at : at + _AT_ONCE] for at in range(0, len(queries), _AT_ONCE))
        return [near for part in some for near in self._nearest(part, count)]

    def _nearest(self, queries: Sequence[str], count: int) -> list[list[Near]]:
        best = self._rough(queries)
        kept = best.shape[1]
        rows = as_numbers(queries, width=LONGEST)
        found = best.reshape(-1)
        used = int((rows > 0).sum(axis=1).max(initial=1))
        reach = min(LONGEST, 2 * used + 4)  # a string twice as long is no candidate
        off = distances(np.repeat(rows[:, :used], kept, axis=0), self._rows[found, :reach])
        off += weights(self._rows[found, reach:])  # what was cut off is missed
        longer = np.maximum(np.repeat(weights(rows), kept), self._weights[found])
        shares = (off / np.maximum(longer, 1e-6)).reshape(best.shape)
        off = off.reshape(best.shape)
        order = np.lexsort((best, shares))[:, :count]
        return [
            [Near(int(best[q, k]), float(off[q, k]), float(shares[q, k])) for k in order[q]]
            for q in range(len(queries))
        ]

    def _rough(self, queries: Sequence[str]) -> NDArray[np.int64]:
        """Numbers of the strings that are nearest by classes, shape (queries, at most _MOST_ROUGH)."""
        wanted = [text[:LONGEST].translate(_CLASS_OF) for text in queries]
        far = process.cdist(
            wanted, self._classes, scorer=Levenshtein.normalized_distance, dtype=np.float32, workers=1
        )
        kept = min(_ROUGH, len(self._classes))
        # those as near as the last that is kept are kept too: else a new term could push an old one out
        last = np.partition(far, kept - 1, axis=1)[:, kept - 1 : kept]
        kept = min(_MOST_ROUGH, len(self._classes), int((far <= last).sum(axis=1).max()))
        return np.argpartition(far, kept - 1, axis=1)[:, :kept].astype(np.int64)
