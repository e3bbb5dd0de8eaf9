"""Misheard trade words put right, where the gain is worth the risk. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dictate.lexicon.entries import Lexicon, spelled
from dictate.repair.index import sound_index
from dictate.repair.line import Line
from dictate.repair.pairs import find_pairs
from dictate.repair.replay import replay
from dictate.repair.table import RepairTable
from dictate.repair.windows import Found, find_by_sound
from dictate.values import Step, Word

_NAMES = ("grape", "origin")


@dataclass(frozen=True, slots=True)
class Repaired:
    """The words after repair and the steps that made them of the words before."""

    words: tuple[Word, ...]
    steps: tuple[Step, ...]


def repair_words(words: Sequence[Word], lexicon: Lexicon, *, table: RepairTable) -> Repaired:
    """Misheard terms in words (any length, in order of time) put right.

    Two ways: listed pairs in their context, and windows of up to five words that sound almost like a
    term of the lexicon. Left alone are terms, cues, made-up names, and everyday words in everyday
    sentences. Laws: `replay(words, steps)` gives the result; times, utterances and the number of
    breath groups stay; time is linear in the number of words. The lexicon's index of sounds is built
    at first use. Steps hold what was heard, private speech too: do not keep them before `find_cues`.
    """
    index = sound_index(lexicon, terms=table.terms, shortest=table.measures.exact_shortest)
    line = Line(words, lexicon, table, index.pieces)
    found = find_pairs(line, table) + find_by_sound(line, index, table=table)
    steps = tuple(step for f in _chosen(found, len(words)) if not _same(step := _step(words, f)))
    return Repaired(replay(words, steps), steps)


def _chosen(found: list[Found], size: int) -> list[Found]:
    """The surest that do not overlap, in order."""
    free = [True] * size
    chosen: list[Found] = []
    for one in sorted(found, key=lambda f: (not f.listed, -f.score, f.last - f.first, f.first)):
        if all(free[one.first : one.last]):
            free[one.first : one.last] = [False] * (one.last - one.first)
            chosen.append(one)
    return sorted(chosen, key=lambda f: f.first)


def _step(words: Sequence[Word], found: Found) -> Step:
    before = tuple(w.text for w in words[found.first : found.last])
    return Step(found.first, found.last, before, _written(before, found), found.score, found.reason)


def _written(before: tuple[str, ...], found: Found) -> tuple[str, ...]:
    """The term with the capitals and the punctuation of what was heard."""
    after = list(found.said)
    head = before[0].lstrip("\"'([")
    if head[:1].isupper():
        count = len(after) if found.kind in _NAMES else 1
        after[:count] = [word[:1].upper() + word[1:] for word in after[:count]]
    tail = before[-1]
    letters = max((place + 1 for place, c in enumerate(tail) if c.isalnum()), default=0)
    after[-1] += tail[letters:]
    after[0] = before[0][: len(before[0]) - len(head)] + after[0]
    return tuple(after)


def _same(step: Step) -> bool:
    """Is nothing changed but capitals, accents, hyphens and punctuation?"""
    before, after = (spelled(" ".join(texts)) for texts in (step.before, step.after))
    return before == after
