"""A phrase made ready for reading: tokens, clauses, mentions of the lexicon, scopes. Built once."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from dictate.extract.others import named_others
from dictate.extract.scope import Mark, ScopeRule, mark_scopes
from dictate.language.amounts import Quantity
from dictate.language.lost_commas import with_lost_commas
from dictate.language.mentions import Mention, find_mentions
from dictate.language.numbers import Number, read_numbers
from dictate.language.patterns import Line
from dictate.language.quantities import read_quantities
from dictate.language.tokens import Token, clauses_of, spoken_text, tokenise
from dictate.lexicon.entries import Entry, Lexicon
from dictate.values import Phrase, Reading, Scope, Source


@dataclass(frozen=True)
class Parsed:
    """One phrase; `index` is its place among the phrases given to `read_fields`."""

    phrase: Phrase
    index: int
    tokens: tuple[Token, ...]
    mentions: tuple[Mention, ...]
    marks: tuple[Mark, ...]
    lexicon: Lexicon

    def first_word(self, mention: Mention) -> tuple[Entry, ...]:
        """What the first word of a longer mention is by itself ("Picpoul de Pinet")."""
        inner = find_mentions(self.tokens[mention.first : mention.first + 1], self.lexicon)
        return inner[0].entries if inner else ()

    @cached_property
    def line(self) -> Line:
        """The tokens as text for patterns."""
        return Line(self.tokens)

    @cached_property
    def numbers(self) -> tuple[Number, ...]:
        """Numbers said."""
        return read_numbers(self.tokens)

    @cached_property
    def quantities(self) -> tuple[Quantity, ...]:
        """Numbers with what they count, ranges as one."""
        return read_quantities(self.tokens)

    @cached_property
    def clauses(self) -> tuple[tuple[int, int], ...]:
        """Token spans between pauses."""
        return tuple(clauses_of(self.tokens))

    @cached_property
    def clause_starts(self) -> tuple[int, ...]:
        """First tokens of the clauses, to look a clause up by."""
        return tuple(first for first, _ in self.clauses)

    def clause_at(self, place: int) -> tuple[int, int]:
        """The clause that holds a token; (0, 0) where there is none."""
        at = bisect_right(self.clause_starts, place) - 1
        return self.clauses[at] if at >= 0 and place < self.clauses[at][1] else (0, 0)

    def clause_end(self, place: int) -> int:
        """Where the clause of a token ends; behind the last token that is there too."""
        return self.clause_at(place)[1] or len(self.tokens)

    @cached_property
    def mention_at(self) -> Mapping[int, Mention]:
        """The mention that covers a token; mentions do not overlap."""
        return {p: m for m in self.mentions for p in range(m.first, m.last)}

    def scope(self, first: int, last: int) -> Mark:
        """The mark of a token span: that of its last token that is not simply said."""
        marks = [m for m in self.marks[first:last] if m.scope != "said"]
        return marks[-1] if marks else Mark()

    def words(self, first: int, last: int) -> tuple[int, int]:
        """Token span to word span."""
        return self.tokens[first].word, self.tokens[last - 1].word + 1

    def text(self, first: int, last: int) -> str:
        """The words of a token span as said."""
        start, end = self.words(first, last)
        return spoken_text(self.phrase.words[start:end])

    def confidence(self, first: int, last: int) -> float:
        """The least sure word of a token span."""
        start, end = self.words(first, last)
        return min((w.confidence for w in self.phrase.words[start:end]), default=1.0)

    def last_named(self, place: int, *, names: frozenset[str]) -> str:
        """The last token before a place that is one of some words, or ""."""
        if names not in self._named:
            self._named[names] = [i for i, t in enumerate(self.tokens) if t.text in names]
        at = bisect_left(self._named[names], place) - 1
        return self.tokens[self._named[names][at]].text if at >= 0 else ""

    @cached_property
    def _named(self) -> dict[frozenset[str], list[int]]:
        """Places of words asked for once."""
        return {}

    def said_within(self, first: int, last: int, *, texts: frozenset[str]) -> bool:
        """Whether any token of the span is one of these."""
        return any(t.text in texts for t in self.tokens[first:last])

    def reading(
        self, name: str, value: str | float | int, *, first: int, last: int, scope: Scope | None = None,
        rule: str = "", source: Source = "spoken", family: str = "", strength: float | None = None,
        known: bool = True, certain: bool = True, out_of: float | None = None,
        corrects: bool = False,
    ) -> Reading:  # fmt: skip
        """A reading of tokens [first, last), its scope looked up unless given."""
        mark = self.scope(first, last) if scope is None else Mark(scope, rule)
        start, end = self.words(first, last)
        return Reading(
            field=name, value=value, phrase=self.index, first=start, last=end, scope=mark.scope,
            rule=mark.rule or rule, source=source, confidence=self.confidence(first, last),
            family=family, strength=strength, known=known, certain=certain, out_of=out_of,
            corrects=corrects,
        )  # fmt: skip


@dataclass(frozen=True)
class Context:
    """What reading knows of a note so far: which thing was measured last, and the wine's style."""

    focus: str = ""  # an attribute's name
    level: float | None = None  # its level
    values: Mapping[str, str] = field(default_factory=dict)
    named: bool = False  # whether the thing was named, or only an adjective of it said ("dry")


def parse_phrase(
    phrase: Phrase, *, index: int, lexicon: Lexicon, rules: tuple[ScopeRule, ...],
    own: frozenset[str] = frozenset(),
) -> Parsed:  # fmt: skip
    """Tokenise, find the lexicon's words, mark scopes; `own`: names that this wine was given."""
    tokens = with_lost_commas(tokenise(phrase.words))
    mentions = find_mentions(tokens, lexicon)
    kinds = ("descriptor", "fault", "texture", *(["hue"] if phrase.stage == "appearance" else []))
    things = [m for m in mentions if any(m.of(k) for k in kinds)]
    anchors = frozenset(p for m in things for p in range(m.first, m.last))
    others = tuple(named_others(tokens, mentions, own=own)) if phrase.stage != "identity" else ()
    marks = mark_scopes(tokens, rules, anchors=anchors, others=others)
    return Parsed(phrase, index, tokens, mentions, marks, lexicon)
