"""Misheard trade words put right, where the gain is worth the risk. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from dictate.lexicon.entries import Lexicon, spelled
from dictate.phonetics.terms import TermSounds
from dictate.repair.apart import apart
from dictate.repair.heard_again import believed, named_after_all
from dictate.repair.line import NAMES, Line
from dictate.repair.pairs import find_heard_as, find_pairs
from dictate.repair.replay import replay
from dictate.repair.table import RepairTable
from dictate.repair.windows import Found, find_by_sound
from dictate.repair.written import as_written
from dictate.values import Step, Word


@dataclass(frozen=True, slots=True)
class Repaired:
    """The words after repair and the steps that made them of the words before."""

    words: tuple[Word, ...]
    steps: tuple[Step, ...]


def repair_words(
    words: Sequence[Word],
    lexicon: Lexicon,
    *,
    table: RepairTable,
    sounds: TermSounds,
    again: Sequence[Step] = (),
    refused: Sequence[Step] = (),
) -> Repaired:
    """Misheard terms in words (any length, in order of time) put right.

    Four ways: the steps of the recogniser's second hearing (`again`), what the taster said is heard for
    their own words, listed pairs in their context, and windows of up to five words that sound almost like a
    term of the lexicon (`sounds`: of the same lexicon). Left alone are terms, cues, made-up names, and
    everyday words in everyday sentences; and by sound nothing becomes what the second hearing has `refused`
    for the same words (the recogniser has listened, the phone distance has not). A step of the second hearing
    that would lose a term must be sure; where a wine is being named, of what was refused the names often
    spoken of need less. Laws: `replay(words,
    steps)` gives the result; times, utterances and the number of breath groups stay; time is linear in the
    number of words. Steps hold what was heard, private speech too: do not keep them before `find_cues`.
    """
    line, doubted = Line(words, lexicon, table, sounds.pieces), list[Step]()
    heard = tuple(words)
    if again:
        again, doubted = believed(again, line, least=table.again.lost)
        heard = replay(words, again)
        line = Line(heard, lexicon, table, sounds.pieces)
    origins = _origins(len(words), again)
    weighed = _weighed((*refused, *doubted))
    found = [
        *find_heard_as(line, lexicon, table=table),
        *find_pairs(line, table),
        *named_after_all(line, refused, origins=origins, sounds=sounds, least=table.again.naming),
        *(f for f in find_by_sound(line, sounds, table=table) if not _refused(f, origins, weighed)),
    ]
    own = [step for f in _chosen(found) if not _same(step := _step(heard, f))]
    steps = tuple(sorted([*again, *_before(own, origins)], key=lambda step: step.first))
    return Repaired(replay(words, steps), steps)


def _origins(count: int, again: Sequence[Step]) -> list[int]:
    """For each word after `again` its index into the `count` words before; for what a step put in place,
    that of the first word it stands for."""
    origins: list[int] = []
    reached = 0
    for step in again:
        origins.extend(range(reached, step.first))
        origins.extend([step.first] * len(step.after))
        reached = step.last
    return [*origins, *range(reached, count)]


def _weighed(refused: Sequence[Step]) -> dict[int, set[tuple[str, ...]]]:
    """For each word, by its index before `again`, the terms that the recogniser has listened for in vain."""
    weighed: dict[int, set[tuple[str, ...]]] = {}
    for step in refused:
        for index in range(step.first, step.last):
            weighed.setdefault(index, set()).add(spelled(" ".join(step.after)))
    return weighed


def _refused(found: Found, origins: Sequence[int], weighed: Mapping[int, set[tuple[str, ...]]]) -> bool:
    """Has the recogniser listened for this, in some of these words, and not heard it?"""
    said = spelled(" ".join(found.said))
    return any(said in weighed.get(index, ()) for index in origins[found.first : found.last])


def _before(steps: Sequence[Step], origins: Sequence[int]) -> list[Step]:
    """Steps for words after `again`, as steps for the words before it; none overlaps those of `again`,
    whose words are kept."""
    return [replace(s, first=origins[s.first], last=origins[s.last - 1] + 1) for s in steps]


def _chosen(found: list[Found]) -> list[Found]:
    """The surest that do not overlap, in order."""
    return apart(sorted(found, key=lambda f: (not f.listed, -f.score, f.last - f.first, f.first)))


def _step(words: Sequence[Word], found: Found) -> Step:
    before = tuple(w.text for w in words[found.first : found.last])
    after = as_written(found.said, before, name=found.kind in NAMES)
    return Step(found.first, found.last, before, after, found.score, found.reason)


def _same(step: Step) -> bool:
    """Is nothing changed but capitals, accents, hyphens and punctuation?"""
    before, after = (spelled(" ".join(texts)) for texts in (step.before, step.after))
    return before == after
