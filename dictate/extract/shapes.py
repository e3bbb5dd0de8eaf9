"""Things the lexicon does not know, by their shape: behind "smells of", or in a list of known things."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from dictate.extract.parsed import Parsed
from dictate.language.patterns import compile_any

_LONGEST = 5  # tokens of an unknown thing
_LINKS = frozenset(["and", "then", "plus", "with", "or"])
_BEGINNING = 6  # tokens of a clause
_AND = frozenset(["and", "but", "so", "well", "oh"])
_SUBORDINATE = frozenset(
    "as when where while because till until since if which who whom unless although".split()
)
_WHO = frozenset(["i", "we", "you", "he", "she", "they"])
_FINDS = frozenset("get got getting find found finding smell taste have 'm 've 'd 'll see pick".split())
_SORTS = frozenset("sort kind type stuff one ones thing way".split())
_OF = frozenset(["to", "of", "with", "about", "for", "on", "by"])
_THAT = frozenset(["that", "it", "this", "them", "those", "these", "you", "me", "us"])
_SEEN = frozenset("see smell taste find notice point miss say".split())


@dataclass(frozen=True, slots=True)
class ShapeTable:
    """Compiled `shape.toml`."""

    introducers: re.Pattern[str]
    strong: re.Pattern[str]
    hedges: frozenset[str]
    sentence: frozenset[str]
    everyday: frozenset[str]  # both: words that name no thing


def shape_table(data: Mapping[str, Any]) -> ShapeTable:
    """Plain data to compiled table. Raises KeyError where a part is missing."""
    hedges, sentence = frozenset(data["hedges"]), frozenset(data["sentence"])
    return ShapeTable(
        compile_any(data["introducers"]), compile_any(data["strong"]), hedges, sentence, hedges | sentence
    )


def _chunks(parsed: Parsed) -> Iterator[tuple[int, int]]:
    """Clauses cut at "and", "then", "with": the members of a list."""
    for first, last in parsed.clauses:
        start = first
        for place in range(first, last):
            if parsed.tokens[place].text in _LINKS:
                if place > start:
                    yield start, place
                start = place + 1
        if last > start:
            yield start, last


def _stripped(parsed: Parsed, first: int, last: int, shape: ShapeTable) -> tuple[int, int]:
    while first < last and parsed.tokens[first].text in shape.hedges:
        first += 1
    while last > first and parsed.tokens[last - 1].text in shape.hedges:
        last -= 1
    return first, last


def _is_thing(parsed: Parsed, first: int, last: int, shape: ShapeTable, *, loose: bool) -> bool:
    tokens = parsed.tokens[first:last]
    if not tokens or last - first > (_LONGEST if loose else 3):
        return False
    if any(
        t.text.isdigit() or len(t.text) < 3
        for t in tokens
        if t.text not in ("of", "my", "a", "'s", "on", "in")
    ):
        return False
    if any(t.text in shape.sentence or t.text.endswith("n't") for t in tokens):
        return False
    if any(_is_name(parsed, place) for place in range(first, last)):
        return False
    if any(t.text == "the" for t in tokens[1:-1]):
        return False
    # one word that ends like an adverb or a verb in "-ing" is seldom a thing; "fruitless" is none
    return not (len(tokens) == 1 and tokens[0].text.endswith(("ly", "ing", "ed", "ish", "less")))


def _is_name(parsed: Parsed, place: int) -> bool:
    """A capital that does not begin a sentence: somebody's name, not a smell."""
    word = parsed.tokens[place].word
    text = parsed.phrase.words[word].text
    begins = word == 0 or parsed.phrase.words[word - 1].text.endswith((".", "?", "!"))
    return text[:1].isupper() and not begins


def _filler(parsed: Parsed, first: int, last: int, shape: ShapeTable) -> bool:
    """ "I don't know", "what is it": nothing but small words."""
    return all(t.text in shape.everyday or t.text.endswith("n't") for t in parsed.tokens[first:last])


def _after_introducer(parsed: Parsed, shape: ShapeTable) -> Iterator[tuple[int, int]]:
    """What follows "something like", "notes of", up to the end of its chunk."""
    chunks = list(_chunks(parsed))
    starts = [a for a, _ in chunks]
    for _, end in parsed.line.spans(shape.strong):
        at = end
        if parsed.tokens[end - 1].pause:  # "something like, I don't know, the inside of a fiddle case"
            behind = parsed.clauses[bisect_left(parsed.clause_starts, end) :]
            fillers = (a for a, b in behind if not _filler(parsed, a, b, shape))
            at = next(fillers, len(parsed.tokens))
        chunk = chunks[bisect_right(starts, at) - 1] if starts and starts[0] <= at else (0, 0)
        if chunk[0] <= at < chunk[1]:
            yield at, chunk[1]


def unknown_things(
    parsed: Parsed, shape: ShapeTable, *, level_places: frozenset[int]
) -> Iterator[tuple[int, int]]:
    """Token spans of things the lexicon does not know."""
    taken = {p for m in parsed.mentions for p in range(m.first, m.last)}
    introduced = list(_after_introducer(parsed, shape))
    known = [m for m in parsed.mentions if m.of("descriptor")]
    firsts = [m.first for m in known]
    chunks = list(_chunks(parsed)) if known else []
    listed = [
        c for i, c in enumerate(chunks)
        if any(_has(firsts, chunks[j]) for j in (i - 1, i + 1) if 0 <= j < len(chunks))
    ]  # fmt: skip
    for loose, spans in ((True, introduced), (False, listed)):
        for span in spans:
            first, last = _stripped(parsed, *span, shape)
            places = set(range(first, last))
            if (
                (not loose and _tells_no_thing(parsed, span))
                or places & taken
                or places & level_places
                or not _is_thing(parsed, first, last, shape, loose=loose)
            ):
                continue
            taken |= places
            yield first, last


def _tells_no_thing(parsed: Parsed, chunk: tuple[int, int]) -> bool:
    """Whether what stands in a list is a clause with a verb of its own ("when I hold it over the paper",
    "the sort you find at the back of the cupboard") or an opinion ("quite partial to that")."""
    first, last = parsed.clause_at(chunk[0])
    begins = [t.text for t in parsed.tokens[first : min(last, first + _BEGINNING)] if t.text not in _AND]
    if begins and (begins[0] in _SUBORDINATE or (begins[0] in _WHO and not _FINDS.intersection(begins[1:3]))):
        return True
    if len(begins) > 2 and begins[0] in ("the", "a", "that") and begins[1] in _SORTS:
        return begins[2] in _WHO or begins[2] == "that"
    end = [t.text for t in parsed.tokens[chunk[0] : chunk[1]]][-2:]
    return len(end) == 2 and ((end[0] in _OF and end[1] in _THAT) or (end[0] == "to" and end[1] in _SEEN))


def _has(firsts: Sequence[int], chunk: tuple[int, int]) -> bool:
    """Whether one of the places, in order, lies in the chunk."""
    at = bisect_left(firsts, chunk[0])
    return at < len(firsts) and firsts[at] < chunk[1]
