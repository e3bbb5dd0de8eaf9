"""How strong a thing is: worded in front of it ("loads of violets") or behind it ("violets, loads")."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from dictate.extract.leveltable import LevelTable
from dictate.extract.parsed import Parsed
from dictate.language.patterns import Line

_STAGES = ("nose", "palate", "finish")
# said of the nose as a whole as well: behind a list they are not of its last thing
_OF_ALL = frozenset(["faint", "strong", "delicate"])
_BESIDE = frozenset("a an the some and but with then there 's is it i get got bit of".split())
_IS = frozenset(["is", "'s", "are", "very", "quite", "rather", "fairly", "really", "pretty", "just", "only"])


@dataclass(frozen=True, slots=True)
class Strength:
    """A strength, 0 to 10, told in tokens [first, last)."""

    value: float
    first: int
    last: int


def strength_before(parsed: Parsed, first: int, *, table: LevelTable) -> float | None:
    """The strength worded in the few tokens before `first` ("heaps of", "a whisper of"), 0 to 10."""
    start = parsed.clause_at(first)[0]
    window = parsed.tokens[max(start, first - 5) : first]
    if not window:
        return None
    line = Line(window)
    ends = [
        (last - first, value)
        for value, pattern in table.strength
        for first, last in line.spans(pattern)
        if last >= len(window) - 1
    ]
    return max(ends)[1] if ends else None  # the longest wording: "a good bit of", not "bit of"


def strengths_behind(parsed: Parsed, *, table: LevelTable) -> Mapping[int, Strength]:
    """Strengths worded behind a thing, by its first token: "smoke faint", "vanilla, lots of it". Nothing else
    stands in that clause, and nothing but the thing in its own."""
    if parsed.phrase.stage not in _STAGES:
        return {}
    # the longest wording first, as in the table
    told = {
        first: Strength(value, first, last)
        for value, pattern in reversed(table.strength_behind)
        for first, last in parsed.line.spans(pattern)
    }
    found = {}
    for place, mention in enumerate(parsed.mentions):
        if not mention.of("descriptor"):
            continue
        start, end = parsed.clause_at(mention.first)
        at = mention.last
        while at < end and at not in told and parsed.tokens[at].text in _IS:
            at += 1
        strength = told.get(at)
        if strength is None or (at == end and mention.last < end):
            continue
        begins, ends = parsed.clause_at(strength.first)
        lone = {t.text for t in parsed.tokens[start : mention.first]} <= _BESIDE
        listed = begins > start and place > 0 and parsed.mentions[place - 1].last == start
        of_all = listed and any(t.text in _OF_ALL for t in parsed.tokens[strength.first : ends])
        if lone and strength.last == ends and not of_all:
            found[mention.first] = strength
    return found
