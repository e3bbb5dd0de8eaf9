"""Letters to phones for English as read by someone who does not know the word. Pure.

The table is learnt from a pronouncing dictionary (see lexicon/letters/make.py): for each letter the
widest known context of letters around it tells its phones.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping
from functools import lru_cache

from dictate.language.tokens import fold, split_word
from dictate.phonetics.phones import PHONES, tidy

EDGE = "#"
# letters before and behind, from narrow to wide
CONTEXTS = ((0, 0), (0, 1), (1, 1), (1, 2), (2, 2), (2, 3), (3, 3), (3, 4))


def context_of(edged: str, place: int, *, width: int) -> str | None:
    """The context of a letter of a word between two EDGEs; None where it would reach over an edge
    and so be no other than a narrower one."""
    before, behind = CONTEXTS[width]
    if width and (place - before < 0 and place + behind >= len(edged)):
        return None
    left = edged[max(0, place - before) : place]
    return f"{left}>{edged[place]}{edged[place + 1 : place + 1 + behind]}"


class LetterTable:
    """Contexts to phones, and the words read so far."""

    def __init__(self, contexts: Mapping[str, str]) -> None:
        """`contexts`: as `context_of` writes them, to a string of phones (maybe none)."""
        # The contexts of one place grow by letters on either side, so the longest known is the widest. They
        # are put by (letters before, letters behind), and the wide ones are named under the three letters
        # in their middle: most groups of three have few.
        self._by_reach: dict[tuple[int, int], dict[str, str]] = {}
        wide: defaultdict[str, set[tuple[int, int]]] = defaultdict(set)
        for context, phones in contexts.items():
            left, _, right = context.partition(">")
            reach = len(left), len(right) - 1
            self._by_reach.setdefault(reach, {})[left + right] = phones
            if left and len(right) > 1:
                wide[left[-1] + right[:2]].add(reach)
        self._wide = {
            middle: [(b, f + 1, self._by_reach[b, f]) for b, f in sorted(reaches, key=sum, reverse=True)]
            for middle, reaches in wide.items()
        }
        self.phones = lru_cache(maxsize=65536)(self._phones)

    def _phones(self, text: str) -> str:
        """Phones of one or more words, said as one; "" for text without letters."""
        if text.isascii() and text.isalpha():
            return tidy(self._word(text))
        pieces = (p.replace("'", "") for word in text.split() for p in split_word(word)[0])
        return tidy("".join(self._word(p) for p in pieces if p.isalpha()))

    def _word(self, piece: str) -> str:
        edged = EDGE + (piece.lower() if piece.isascii() else fold(piece)) + EDGE
        one, two = self._by_reach.get((0, 0), {}), self._by_reach.get((0, 1), {})
        sounds: list[str] = []
        for place in range(1, len(edged) - 1):
            for before, behind, known in self._wide.get(edged[place - 1 : place + 2], ()):
                # where the slice would reach over an edge it is shorter than any key
                sound = known.get(edged[place - before : place + behind])
                if sound is not None:
                    break
            else:
                sound = two.get(edged[place : place + 2])
                if sound is None:
                    sound = one.get(edged[place], "")
            sounds.append(sound)
        return "".join(sounds)


# letters as most languages of Europe read them, the longest first
_CONTINENTAL = {
    "sch": "ʃ", "tch": "ʧ", "sh": "ʃ", "ch": "k", "ck": "k", "cc": "k", "ce": "ʧe", "ci": "ʧi", "gh": "g",
    "gn": "nj", "gl": "lj", "ge": "ʤe", "gi": "ʤi", "ph": "f", "th": "t", "qu": "kw", "zz": "ts", "ee": "i",
    "oo": "u", "ou": "u", "ea": "i", "ai": "e", "ay": "e", "ey": "e", "ie": "i", "ei": "I", "au": "o",
    "eu": "ø", "ow": "o", "aw": "o", "oe": "ø", "a": "a", "e": "e", "i": "i", "o": "o", "u": "u", "y": "i",
    "c": "k", "j": "ʒ", "x": "ks", "h": "", "q": "k", "w": "v",
}  # fmt: skip
_BY_LENGTH = sorted(_CONTINENTAL, key=len, reverse=True)
_PART = re.compile("|".join(_BY_LENGTH) + "|.")


@lru_cache(maxsize=65536)
def continental(text: str) -> str:
    """Phones of words whose letters have the values that most languages of Europe give them; a final e
    is silent behind a consonant, as a recogniser of English writes it."""
    pieces = (p.replace("'", "") for word in text.split() for p in split_word(word)[0])
    sounds = (
        _CONTINENTAL.get(m.group(), m.group())
        for p in pieces
        if p.isalpha()
        for m in _PART.finditer(re.sub("(?<=[^aeiouy])e$", "", fold(p)))
    )
    return tidy("".join(c for c in "".join(sounds) if c in PHONES))
