"""The lexicon by sound: which terms sound almost like a window of words. Pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

from dictate.lexicon.entries import Entry, Lexicon, spelled
from dictate.repair.sound import Reading, sound_key

_VOWELS = "ieaou"
_READINGS: dict[str, tuple[Reading, ...]] = {
    "France": ("french",), "Italy": ("italian",), "Germany": ("german",), "Austria": ("german",),
    "Spain": ("iberian",), "Portugal": ("iberian",), "Argentina": ("iberian",), "Chile": ("iberian",),
    "Switzerland": ("french", "german"), "Luxembourg": ("french", "german"),
}  # fmt: skip
_FOREIGN: tuple[Reading, ...] = ("french", "italian", "german", "iberian")
_LEFT_OUT = ("colour", "style")  # everyday words


@dataclass(frozen=True, slots=True)
class Target:
    """A way of saying a term. `units` is the length of its key."""

    text: str
    kind: str
    units: int
    main: bool  # the term itself, not another way of saying it

    @property
    def pieces(self) -> frozenset[str]:
        """Its match keys."""
        return frozenset(spelled(self.text))


@dataclass(frozen=True, slots=True)
class Near:
    """A target and how far its sound is (in units of the key)."""

    target: Target
    distance: int


class SoundIndex:
    """Keys by class of first sound and length: what sounds alike begins alike and is about as long.

    `pieces`: match keys of all words in terms.
    """

    def __init__(self, lexicon: Lexicon, *, terms: Sequence[str], shortest: int) -> None:
        """`terms`: words of the trade beside the lexicon's; keys under `shortest` units are left out."""
        self.pieces = frozenset(p for entry in lexicon.entries for text in entry.said for p in spelled(text))
        self._targets: dict[str, list[Target]] = defaultdict(list)
        for term in terms:
            self._add(Target(term, "term", 0, True), ("english",), shortest)
        for entry in lexicon.entries:
            if entry.kind not in _LEFT_OUT:
                for text in entry.said:
                    target = Target(text, entry.kind, 0, text == entry.term)
                    self._add(target, _readings(entry), shortest)
        self._buckets: dict[tuple[str, int], list[str]] = defaultdict(list)
        for key in self._targets:
            self._buckets[_onset(key), len(key)].append(key)

    def _add(self, target: Target, readings: Sequence[Reading], shortest: int) -> None:
        for key in {sound_key(target.text, reading) for reading in readings}:
            if len(key) >= shortest:
                self._targets[key].append(replace(target, units=len(key)))

    def near(self, key: str, *, within: int) -> list[Near]:
        """Targets at most `within` units away, the nearest first."""
        found: list[tuple[int, str]] = []
        for size in range(len(key) - within, len(key) + within + 1):
            keys = self._buckets.get((_onset(key), size))
            if keys:
                hits = process.extract(
                    key, keys, scorer=Levenshtein.distance, score_cutoff=within, limit=8, processor=None
                )
                found.extend((int(distance), hit) for hit, distance, _ in hits)
        found.sort()
        return [Near(target, distance) for distance, hit in found for target in self._targets[hit]]


def _onset(key: str) -> str:
    return "*" if key[:1] in _VOWELS else key[:1]


def _readings(entry: Entry) -> tuple[Reading, ...]:
    """Names are read as English and as at home; a grape may be at home anywhere."""
    if entry.kind == "grape":
        return ("english", *_FOREIGN)
    if entry.kind == "origin":
        return ("english", *_READINGS.get(entry.family, ()))
    return ("english",)


@lru_cache(maxsize=4)
def sound_index(lexicon: Lexicon, *, terms: tuple[str, ...], shortest: int) -> SoundIndex:
    """The index of a lexicon, built at first use (see `SoundIndex`)."""
    return SoundIndex(lexicon, terms=terms, shortest=shortest)
