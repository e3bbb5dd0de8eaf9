"""Closed terms (clarity, age, balance, readiness): which of a few words fits what was said."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from dictate.extract.parsed import Parsed
from dictate.language.patterns import compile_any
from dictate.values import Reading

# words that a term may hold itself: "far from ready" is no denial of "keep"
_NEGATORS = frozenset(
    ["not", "no", "lacks", "lacking", "far", "nowhere", "gone", "hardly", "barely", "scarcely"]
)
_OF_THINGS = frozenset(["young", "mature", "aged"])
_NEGATIVE_BY_NATURE = ("unbalanced", "drink soon", "keep", "past")

_NOW = frozenset(["now", "tonight", "today"])  # "drink it now or give it ten years"
_FADING = "fading"  # "no fruit left"; "it will be fading" says nothing of now


@dataclass(frozen=True, slots=True)
class TermField:
    """One field with its terms, the longest spelling first."""

    field: str
    stages: tuple[str, ...]
    terms: tuple[tuple[str, re.Pattern[str]], ...]


def term_fields(data: Mapping[str, Any]) -> tuple[TermField, ...]:
    """Plain data of `terms.toml` to compiled fields. Raises KeyError where a part is missing."""
    made = []
    for name, entry in data.items():
        path = entry.get("field", f"appearance.{name}")
        terms = tuple((term, compile_any(said)) for term, said in entry["terms"].items())
        made.append(TermField(path, tuple(entry["stages"]), terms))
    return tuple(made)


def _told_of_a_thing(parsed: Parsed, first: int, last: int) -> bool:
    """ "a mature cheese", "young leather": the age is the thing's, not the nose's."""
    around, behind = parsed.mention_at.get(first), parsed.mention_at.get(last)
    if around and around.last - around.first > last - first and around.of("descriptor"):
        return True  # "aged beef"
    told = last - first == 1 and parsed.tokens[first].text in _OF_THINGS and not parsed.tokens[first].pause
    return bool(told and behind and behind.first == last and behind.of("descriptor"))


def read_terms(parsed: Parsed, fields: tuple[TermField, ...]) -> list[Reading]:
    """Readings of the closed terms in order of speech; overlapping ones: the longer wins."""
    found: list[Reading] = []
    for entry in fields:
        if parsed.phrase.stage not in entry.stages:
            continue
        hits = [
            (first, last, term) for term, pattern in entry.terms for first, last in parsed.line.spans(pattern)
        ]
        taken: list[tuple[int, int, str]] = []
        for hit in sorted(hits, key=lambda h: (h[0] - h[1], h[0])):
            if not any(hit[0] < t[1] and t[0] < hit[1] for t in taken):
                taken.append(hit)
        for first, last, term in sorted(taken):
            if _told_of_a_thing(parsed, first, last):
                continue
            mark = parsed.scope(first, last)
            inside = any(t.text in _NEGATORS or t.text.endswith("n't") for t in parsed.tokens[first:last])
            future = mark.scope == "future" and term != _FADING
            future &= term != "ready" or parsed.said_within(first, last, texts=_NOW)
            if (term in _NEGATIVE_BY_NATURE or term in (_FADING, "ready")) and (inside or future):
                found.append(parsed.reading(entry.field, term, first=first, last=last, scope="said"))
            else:
                found.append(parsed.reading(entry.field, term, first=first, last=last))
    return found
