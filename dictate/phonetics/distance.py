"""How alike phones are, and strings of phones: a weighted edit distance, many pairs at a time. Pure.

Costs follow what listeners confuse: voice before manner before place for consonants, and nearness in the
vowel chart (height, backness, lips) for vowels; weak sounds (schwa, h, the r that half of all speakers
drop, nasal colour) are cheap to miss. 1 is the cost of two sounds that have nothing in common. The
coordinates are those of the chart of the International Phonetic Association (2020), the weights our own.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from dictate.phonetics.phones import CONSONANTS, PHONES, VOWELS

# vowels: height (0 open, 1 close), backness (0 front, 1 back), lips (0 spread, 1 round)
_VOWELS = {
    "i": (1.0, 0.0, 0.0), "ɪ": (0.85, 0.2, 0.0), "e": (0.7, 0.0, 0.0), "ɛ": (0.45, 0.05, 0.0),
    "æ": (0.2, 0.1, 0.0), "a": (0.0, 0.4, 0.0), "ɑ": (0.0, 0.9, 0.0), "ɒ": (0.1, 1.0, 0.5),
    "ɔ": (0.35, 1.0, 0.7), "o": (0.65, 1.0, 0.8), "ʊ": (0.85, 0.8, 0.6), "u": (1.0, 0.9, 1.0),
    "ʌ": (0.3, 0.75, 0.0), "ə": (0.45, 0.5, 0.0), "ɜ": (0.5, 0.5, 0.1), "y": (1.0, 0.2, 1.0),
    "ø": (0.6, 0.2, 0.8),
}  # fmt: skip
_GLIDES = {"I": ("a", "ɪ"), "W": ("a", "ʊ"), "O": ("ɔ", "ɪ")}  # diphthongs: from, to
# consonants: place (0 lips, 1 glottis), manner, voice
_STOP, _AFFRICATE, _FRICATIVE, _NASAL, _LATERAL, _RHOTIC, _GLIDE = range(7)
_CONSONANTS = {
    "p": (0.0, _STOP, 0), "b": (0.0, _STOP, 1), "t": (0.4, _STOP, 0), "d": (0.4, _STOP, 1),
    "k": (0.8, _STOP, 0), "g": (0.8, _STOP, 1), "ʧ": (0.55, _AFFRICATE, 0), "ʤ": (0.55, _AFFRICATE, 1),
    "f": (0.1, _FRICATIVE, 0), "v": (0.1, _FRICATIVE, 1), "θ": (0.3, _FRICATIVE, 0),
    "ð": (0.3, _FRICATIVE, 1), "s": (0.4, _FRICATIVE, 0), "z": (0.4, _FRICATIVE, 1),
    "ʃ": (0.55, _FRICATIVE, 0), "ʒ": (0.55, _FRICATIVE, 1), "x": (0.8, _FRICATIVE, 0),
    "h": (1.0, _FRICATIVE, 0), "m": (0.0, _NASAL, 1), "n": (0.4, _NASAL, 1), "ŋ": (0.8, _NASAL, 1),
    "~": (0.6, _NASAL, 1), "l": (0.4, _LATERAL, 1), "r": (0.45, _RHOTIC, 1), "ɹ": (0.45, _RHOTIC, 1),
    "w": (0.1, _GLIDE, 1), "j": (0.65, _GLIDE, 1), "ɾ": (0.4, _STOP, 1),
}  # fmt: skip
_MANNER = 0.6  # of two manners that are not near
_NEAR_MANNERS = {
    (_STOP, _AFFRICATE): 0.25, (_AFFRICATE, _FRICATIVE): 0.2, (_STOP, _FRICATIVE): 0.45,
    (_STOP, _NASAL): 0.45, (_NASAL, _LATERAL): 0.45, (_LATERAL, _RHOTIC): 0.35, (_RHOTIC, _GLIDE): 0.35,
    (_LATERAL, _GLIDE): 0.4,
}  # fmt: skip
_VOICE, _PLACE = 0.2, 0.6
# pairs that sound nearer, or are nearer in another language's mouth, than their features say
_PAIRS = {
    "vw": 0.35, "vb": 0.35, "xh": 0.25, "xk": 0.3, "xʃ": 0.35, "xg": 0.45, "xr": 0.45, "hr": 0.6, "ɾr": 0.3,
    "ɾt": 0.15, "ɾd": 0.1, "ɾl": 0.4, "~n": 0.15, "~m": 0.2, "~ŋ": 0.1, "ɹr": 0.1, "θf": 0.25, "ðv": 0.25,
    "θt": 0.35, "ðd": 0.3, "θs": 0.3, "ðz": 0.3, "mn": 0.25, "nŋ": 0.15, "ji": 0.2, "jɪ": 0.2, "wu": 0.2,
    "wʊ": 0.2, "wo": 0.35, "jʤ": 0.35, "yu": 0.25, "yi": 0.25, "øə": 0.2, "øɜ": 0.15, "øe": 0.3, "ʌə": 0.1,
    "ɪə": 0.15, "ɑɒ": 0.1, "ɒɔ": 0.1, "ɑɔ": 0.15, "ɑa": 0.1, "aæ": 0.15, "eɛ": 0.2, "oɔ": 0.2, "iɪ": 0.15,
    "uʊ": 0.15, "ɜə": 0.05, "əɛ": 0.2, "əa": 0.2, "əæ": 0.25, "eI": 0.35, "eɪ": 0.3, "oW": 0.35, "ei": 0.3,
}  # fmt: skip
# what a phone that is missed, or heard where there is none, costs
_MISSED = {
    "ə": 0.3, "ɪ": 0.4, "h": 0.35, "ɹ": 0.2, "~": 0.2, "j": 0.35, "w": 0.45, "t": 0.55, "d": 0.55, "θ": 0.6,
    "ð": 0.5,
}  # fmt: skip
_MISSED_VOWEL, _MISSED_CONSONANT = 0.5, 0.7

_NUMBER = {phone: number for number, phone in enumerate(PHONES, 1)}  # 0 fills up shorter strings
_AS_CHARACTER = str.maketrans({phone: chr(number) for phone, number in _NUMBER.items()})


def _vowel_cost(a: str, b: str) -> float:
    if a in _GLIDES or b in _GLIDES:
        first, second = _GLIDES.get(a, (a, a)), _GLIDES.get(b, (b, b))
        return min(1.0, 0.15 + 0.5 * (_vowel_cost(first[0], second[0]) + _vowel_cost(first[1], second[1])))
    (h1, b1, r1), (h2, b2, r2) = _VOWELS[a], _VOWELS[b]
    return float(min(1.0, 0.7 * np.sqrt((h1 - h2) ** 2 + 0.7 * (b1 - b2) ** 2 + 0.15 * (r1 - r2) ** 2)))


def _consonant_cost(a: str, b: str) -> float:
    (p1, m1, v1), (p2, m2, v2) = _CONSONANTS[a], _CONSONANTS[b]
    manner = 0.0 if m1 == m2 else _NEAR_MANNERS.get((min(m1, m2), max(m1, m2)), _MANNER)
    place = 0.15 + _PLACE * abs(p1 - p2) if p1 != p2 else 0.0
    return float(min(1.0, manner + place + _VOICE * (v1 != v2)))


def phone_cost(a: str, b: str) -> float:
    """What it costs to hear phone b for a: 0 for the same, 1 for nothing in common; symmetric."""
    if a == b:
        return 0.0
    pair = _PAIRS.get(a + b, _PAIRS.get(b + a))
    if pair is not None:
        return pair
    if a in VOWELS and b in VOWELS:
        return _vowel_cost(a, b)
    if a in CONSONANTS and b in CONSONANTS:
        return _consonant_cost(a, b)
    return 1.0


def missed_cost(phone: str) -> float:
    """What it costs to miss a phone, or to hear one that was not said."""
    return _MISSED.get(phone, _MISSED_VOWEL if phone in VOWELS else _MISSED_CONSONANT)


def _tables() -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    size = len(PHONES) + 1
    change, missed = np.zeros((size, size), np.float32), np.zeros(size, np.float32)
    for a, i in _NUMBER.items():
        missed[i] = change[i, 0] = change[0, i] = missed_cost(a)
        for b, j in _NUMBER.items():
            # a change never costs more than missing one and hearing the other
            change[i, j] = min(phone_cost(a, b), missed_cost(a) + missed_cost(b))
    return change, missed


_CHANGE, _MISS = _tables()


def as_numbers(strings: Sequence[str], *, width: int) -> NDArray[np.int8]:
    """Strings of phones as rows of numbers, shape (n, width), filled up with 0; longer ones are cut."""
    filled = "".join(text[:width].ljust(width, "\0") for text in strings).translate(_AS_CHARACTER)
    return np.frombuffer(filled.encode("latin-1"), np.int8).reshape(len(strings), width)


def weights(rows: NDArray[np.int8]) -> NDArray[np.float32]:
    """What all phones of each row cost to miss, shape (n,): a string's length in units of this distance."""
    total: NDArray[np.float32] = _MISS[rows].sum(axis=1, dtype=np.float32)
    return total


def distances(a: NDArray[np.int8], b: NDArray[np.int8]) -> NDArray[np.float32]:
    """The distance of each row of a to the same row of b: shapes (n, i), (n, j) -> (n,).

    Rows as `as_numbers` makes them. Wagner and Fischer's recurrence (1974), a cell of all pairs at once.
    """
    wide = b.shape[1]
    missed_a, missed_b = _MISS[a], _MISS[b]
    row = np.zeros((wide + 1, len(a)), np.float32)
    for j in range(wide):
        row[j + 1] = row[j] + missed_b[:, j]
    for i in range(a.shape[1]):
        change = _CHANGE[a[:, i : i + 1], b]
        lost = missed_a[:, i]
        above = row
        row = np.empty_like(above)
        row[0] = above[0] + lost
        for j in range(wide):
            cell = np.minimum(above[j + 1] + lost, row[j] + missed_b[:, j])
            np.minimum(cell, above[j] + change[:, j], out=row[j + 1])
    return row[wide]


def distance(a: str, b: str) -> float:
    """The distance of two strings of phones; 0 for the same."""
    wide = max(1, len(a), len(b))
    return float(distances(as_numbers([a], width=wide), as_numbers([b], width=wide))[0])
