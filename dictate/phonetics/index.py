"""Strings of phones retrieved by sound: from many, those most like a given one. Pure.

Two steps. Rough: strings as counts of classes of phones, of pairs of classes (edges count) and of pairs
of consonants, compared by the cosine of the counts, all at once by one matrix product. Fine: the best of
these by the weighted edit distance of `distance.py`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dictate.phonetics.distance import as_numbers, distances, weights
from dictate.phonetics.phones import PHONES

LONGEST = 32  # phones of a string that are compared
# phones that are taken for each other fall into one class; consonants come first
_CLASSES = ("pb", "fvw", "tdɾθð", "szʃʒʧʤ", "kgxh", "mnŋ~", "l", "rɹ", "jiɪeɛyIø", "æaɑʌəɜWO", "ɔɒoʊu")
_SKELETON = 8  # the first so many classes are consonants
_EDGE = len(_CLASSES)
_SIDE = _EDGE + 1
_CLASS_OF = np.full(len(PHONES) + 1, _EDGE, np.int64)
for _number, _phone in enumerate(PHONES, 1):
    _CLASS_OF[_number] = next(n for n, letters in enumerate(_CLASSES) if _phone in letters)
_SINGLE, _PAIR, _SKELETON_PAIR = 0.7, 1.0, 0.8  # weights of the three kinds of counts
_FEATURES = _EDGE + _SIDE * _SIDE + _SIDE * _SIDE


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
        self._counts = _counted(self._rows)

    def nearest(self, queries: Sequence[str], *, count: int = 24) -> list[list[Near]]:
        """For each query at most `count` strings, the nearest first."""
        if not queries or not len(self._rows):
            return [[] for _ in queries]
        rows = as_numbers(queries, width=LONGEST)
        likeness = _counted(rows) @ self._counts.T
        count = min(count, len(self._rows))
        best = np.argpartition(likeness, -count, axis=1)[:, -count:]
        found = best.reshape(-1)
        used = int((rows > 0).sum(axis=1).max(initial=1))
        reach = min(LONGEST, 2 * used + 4)  # a string twice as long is no candidate
        repeated = np.repeat(rows[:, :used], count, axis=0)
        off = distances(repeated, self._rows[found, :reach]) + _cut(self._rows[found], reach)
        longer = np.maximum(np.repeat(weights(rows), count), self._weights[found])
        shares = (off / np.maximum(longer, 1e-6)).reshape(best.shape)
        order = np.argsort(shares, axis=1, kind="stable")
        off = off.reshape(best.shape)
        return [
            [Near(int(best[q, k]), float(off[q, k]), float(shares[q, k])) for k in order[q]]
            for q in range(len(queries))
        ]


def _cut(rows: NDArray[np.int8], reach: int) -> NDArray[np.float32]:
    """What was cut off behind `reach` phones costs as much as to miss it."""
    if reach >= rows.shape[1]:
        return np.zeros(len(rows), np.float32)
    return weights(rows[:, reach:])


def _counted(rows: NDArray[np.int8]) -> NDArray[np.float32]:
    """Counts of each row's classes, pairs of classes and pairs of consonants; rows of length 1."""
    size = len(rows)
    counts = np.zeros((size, _FEATURES), np.float32)
    classes = _CLASS_OF[rows]
    edge = np.full((size, 1), _EDGE)
    classes = np.concatenate([edge, classes, edge], axis=1)
    place = np.arange(size)[:, None]
    singles = classes[:, 1:-1]
    flat = np.concatenate([counts.reshape(-1), np.zeros(1, np.float32)])  # the last takes what counts not
    aside = flat.size - 1
    _add(flat, np.where(singles < _EDGE, place * _FEATURES + singles, aside), _SINGLE)
    left, right = classes[:, :-1], classes[:, 1:]
    pairs = place * _FEATURES + _EDGE + left * _SIDE + right
    _add(flat, np.where((left < _EDGE) | (right < _EDGE), pairs, aside), _PAIR)
    skeleton = _consonants_only(classes)
    left, right = skeleton[:, :-1], skeleton[:, 1:]
    pairs = place * _FEATURES + _EDGE + _SIDE * _SIDE + left * _SIDE + right
    _add(flat, np.where((left < _EDGE) | (right < _EDGE), pairs, aside), _SKELETON_PAIR)
    counts = flat[:-1].reshape(size, _FEATURES)
    return counts / np.maximum(np.linalg.norm(counts, axis=1, keepdims=True), 1e-6)


def _add(flat: NDArray[np.float32], places: NDArray[np.int64], weight: float) -> None:
    flat += np.bincount(places.reshape(-1), minlength=flat.size).astype(np.float32) * weight


def _consonants_only(classes: NDArray[np.int64]) -> NDArray[np.int64]:
    """Each row without its vowels, moved to the left, an edge in front and behind."""
    kept = classes < _SKELETON
    order = np.argsort(~kept, axis=1, kind="stable")
    moved = np.take_along_axis(np.where(kept, classes, _EDGE), order, axis=1)
    edge = np.full((len(classes), 1), _EDGE)
    return np.concatenate([edge, moved, edge], axis=1)
