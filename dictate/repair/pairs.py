"""Listed mishearings, put right in their context. Pure."""

from __future__ import annotations

from functools import lru_cache

from dictate.language.tokens import split_word
from dictate.lexicon.entries import Lexicon
from dictate.repair.line import NAMES, Line
from dictate.repair.table import RepairTable
from dictate.repair.windows import Found

_SURE = 1.0  # in its context it wins over any sound


def find_pairs(line: Line, table: RepairTable) -> list[Found]:
    """All places where a pair's words stand in one of its contexts."""
    present = {piece for pieces in line.pieces for piece in pieces}
    found: list[Found] = []
    for pair in table.pairs:
        if present.isdisjoint(pair.first_word):
            continue
        spans = line.word_spans(pair.heard)
        heard = [span for span in spans if not pair.opens or line.opens(span[0])]
        opening = (span for span in line.word_spans(pair.opening) if line.opens(span[0]))
        for start, end in (*line.word_spans(pair.contexts), *opening):
            for first, last in heard:
                if start <= first and last <= end and line.open(first, last, figures=True):
                    reason = f"pair: {' '.join(pair.said)}"
                    found.append(Found(first, last, pair.said, "term", _SURE, reason, listed=True))
    return found


@lru_cache(maxsize=4)
def _heard_as(lexicon: Lexicon) -> tuple[tuple[tuple[str, ...], str, str], ...]:
    """What a recogniser makes of the taster's own words: pieces, the term, its kind."""
    return tuple(
        (tuple(p for word in text.split() for p in split_word(word)[0]), entry.term, entry.kind)
        for entry in lexicon.entries
        if "heard_as" in entry.data
        for text in entry.data["heard_as"]
    )


def find_heard_as(line: Line, lexicon: Lexicon, *, table: RepairTable) -> list[Found]:
    """All places where words stand that the taster said are heard for one of their own; a single everyday
    word ("sailing" for saline) only where such things are spoken of."""
    found: list[Found] = []
    for pieces, term, kind in _heard_as(lexicon):
        for first in range(len(line.words)):
            heard: list[str] = []
            last = first
            while last < len(line.words) and len(heard) < len(pieces):
                heard += line.pieces[last]
                last += 1
            if tuple(heard) == pieces and pieces and not any(line.sealed[first:last]):
                spoken_of = line.identity if kind in NAMES else line.taste
                if len(pieces) == 1 and table.ordinary(pieces[0]) and not spoken_of[first]:
                    continue
                found.append(Found(first, last, tuple(term.split()), kind, _SURE, f"own word: {term}", True))
    return found
