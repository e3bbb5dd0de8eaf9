"""What is known of each heard word before repair: its tokens, what guards it, what it stands near. Pure."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Sequence

from dictate.language.mentions import find_mentions
from dictate.language.patterns import Line as TokenLine
from dictate.language.tokens import tokenise
from dictate.lexicon.entries import Lexicon, match_key
from dictate.repair.table import RepairTable
from dictate.values import Word

NAMES = ("grape", "origin", "producer", "wine")  # kinds that name a wine
_TASTES = ("descriptor", "texture", "fault", "hue")
_SOON = 4  # words
_YEAR = 4  # figures
_PLACED = 6  # words from a place to the "from" that is of the producer
_LONGEST_NAME = 4  # words


class Line:
    """Words with, for each word index: `pieces` (tokens), `kept` (not to be touched), `shut` (the same
    but for figures), `sealed` (not even for a name that the taster or a list gave), `odd` (not everyday),
    `mention` (the number of the lexicon mention that covers it, or -1), `breaks` (a pause behind it),
    `name` (a capital in mid-sentence), `identity` and `taste` (names, descriptors are near), `naming` (a
    wine is being named here: "next wine, number four, ...")."""

    def __init__(
        self, words: Sequence[Word], lexicon: Lexicon, table: RepairTable, pieces: frozenset[str]
    ) -> None:
        self.words = words
        tokens = tokenise(words)
        self.text = TokenLine(tokens)
        self.pieces: list[list[str]] = [[] for _ in words]
        self.breaks = [""] * len(words)
        for token in tokens:
            self.pieces[token.word].append(token.text)
            self.breaks[token.word] = token.pause or self.breaks[token.word]
        self.odd = [any(match_key(x) not in pieces and not table.ordinary(x) for x in p) for p in self.pieces]
        self.small = [bool(p) and all(x in table.small for x in p) for p in self.pieces]
        self.name = [self._is_name(index) for index in range(len(words))]
        figures = [any(c.isdigit() for x in p for c in x) for p in self.pieces]
        # nothing to put right, or put right already, by a cue spotter
        self.shut = [not p or word.heard is not None for p, word in zip(self.pieces, words, strict=True)]
        self._shut(table.keep)
        self.sealed = [a or b for a, b in zip(self.shut, figures, strict=True)]
        self._shut(*table.names)
        self.kept = [a or b for a, b in zip(self.shut, figures, strict=True)]
        self.mentions = find_mentions(tokens, lexicon)
        self.mention = [-1] * len(words)
        names: list[int] = []
        tastes: list[int] = []
        for number, mention in enumerate(self.mentions):
            covered = range(tokens[mention.first].word, tokens[mention.last - 1].word + 1)
            for index in covered:
                self.mention[index] = number
                self.odd[index] = False
            if any(mention.of(kind) for kind in NAMES):
                names.append(covered[0])
            if any(mention.of(kind) for kind in _TASTES):
                tastes.append(covered[0])
        self.identity = self._near(table.identity, names, table.measures.reach)
        self.taste = self._near(table.taste, tastes, table.measures.reach)
        self._producers = list(self._producer_names())
        self._ruled = frozenset(table.terms) | table.degrees
        self.naming = [False] * len(words)
        for first, last in self.word_spans(table.naming):
            if self._soon(first):
                end = self._named_until(last, set(names), reach=table.measures.naming_reach)
                self.naming[last:end] = [True] * (end - last)

    def closed(self, *, any_own: bool) -> list[bool]:
        """For each word whether it is not to be touched; where a made-up name stands, one of the taster's
        own may be meant, if there are `any_own`."""
        return self.sealed if any_own else self.kept

    def breaks_name(self, first: int, last: int) -> bool:
        """Are words [first, last) a part of a producer's name and not the whole? "A Chinon from Herons Rake":
        no place is in that, though each word may sound like one."""
        return any(
            first < end and start < last and not (first <= start and end <= last)
            for start, end in self._producers
        )

    def said(self, first: int, last: int) -> str:
        """The pieces of words [first, last) as one text."""
        return " ".join(piece for pieces in self.pieces[first:last] for piece in pieces)

    def terms(self, first: int, last: int) -> frozenset[tuple[str, str]]:
        """Kind and term of the entries that words [first, last) are one mention of, if they are."""
        numbers = set(self.mention[first:last])
        if len(numbers) != 1 or -1 in numbers:
            return frozenset()
        return frozenset((e.kind, e.term) for e in self.mentions[numbers.pop()].entries)

    def heard_terms(self, first: int, last: int) -> list[frozenset[str]]:
        """The match keys of each term, of the lexicon or of the rule tables, in words [first, last)."""
        numbers = {number for number in self.mention[first:last] if number >= 0}
        ruled = [p for pieces in self.pieces[first:last] for p in pieces if p in self._ruled]
        return [*map(self.mention_pieces, sorted(numbers)), *(frozenset([match_key(p)]) for p in ruled)]

    def word_spans(self, pattern: re.Pattern[str]) -> Iterable[tuple[int, int]]:
        """Spans of words [first, last) where the compiled pattern stands."""
        tokens = self.text.tokens
        for first, last in self.text.spans(pattern):
            yield tokens[first].word, tokens[last - 1].word + 1

    def mention_pieces(self, number: int) -> frozenset[str]:
        """The match keys of a mention."""
        mention = self.mentions[number]
        return frozenset(match_key(t.text) for t in self.text.tokens[mention.first : mention.last])

    def joined(self, first: int, last: int) -> bool:
        """Are these words said in one breath, without a pause inside?"""
        words = self.words
        return words[first].utterance == words[last - 1].utterance and not any(self.breaks[first : last - 1])

    def opens(self, index: int) -> bool:
        """Does a breath group begin here, or is a pause in front?"""
        before = index - 1
        return (
            before < 0
            or self.words[before].utterance != self.words[index].utterance
            or self.breaks[before] != ""
        )

    def _named_until(self, start: int, names: Collection[int], *, reach: int) -> int:
        """Where the naming of a wine ends that begins at a word: at most `reach` words on, and with the
        breath group in which a name or a year was said. `names`: first words of names."""
        told = False
        for index in range(start, min(len(self.words), start + reach)):
            if told and self.words[index].utterance != self.words[index - 1].utterance:
                return index
            told |= index in names or any(p.isdigit() and len(p) == _YEAR for p in self.pieces[index])
        return min(len(self.words), start + reach)

    def _producer_names(self) -> Iterator[tuple[int, int]]:
        """Several unknown words behind a place and "from", in one breath."""
        placed = -_PLACED - 1
        for index in range(len(self.words)):
            if index and self.words[index].utterance != self.words[index - 1].utterance:
                placed = -_PLACED - 1
            number = self.mention[index]
            if number >= 0 and self.mentions[number].of("origin"):
                placed = index
            if self.pieces[index] == ["from"] and index - placed <= _PLACED:
                end = index + 1
                while end < len(self.words) and end - index <= _LONGEST_NAME and self._may_be_named(end):
                    end += 1
                    if self.breaks[end - 1]:
                        break
                if end - index > 2:
                    yield index + 1, end

    def _may_be_named(self, index: int) -> bool:
        return not (self.opens(index) or self.small[index] or self.kept[index] or self.mention[index] >= 0)

    def _soon(self, index: int) -> bool:
        """Has a breath group only just begun here?"""
        start = max(0, index - _SOON)
        return index < _SOON or self.words[start].utterance != self.words[index].utterance

    def open(self, first: int, last: int, *, figures: bool = False) -> bool:
        """... and none of them kept? `figures`: those may be misheard too ("10 in" for tannin)."""
        return self.joined(first, last) and not any((self.shut if figures else self.kept)[first:last])

    def _is_name(self, index: int) -> bool:
        opens = index == 0 or self.breaks[index - 1] in (".", "?", "!")
        return not opens and self.words[index].text[:1].isupper() and self.pieces[index] != ["i"]

    def _shut(self, *patterns: re.Pattern[str]) -> None:
        for pattern in patterns:
            for first, last in self.word_spans(pattern):
                self.shut[first:last] = [True] * (last - first)

    def _near(self, pattern: re.Pattern[str], places: Sequence[int], reach: int) -> list[bool]:
        """Is a trigger at most `reach` words away, before or behind (itself not counted)?"""
        marks = [0] * (len(self.words) + 1)
        for first in {first for first, _ in self.word_spans(pattern)} | set(places):
            start, end = max(0, first - reach), min(len(self.words), first + reach + 1)
            marks[start] += 1
            marks[end] -= 1
        near: list[bool] = []
        depth = 0
        for mark in marks[:-1]:
            depth += mark
            near.append(depth > 0)
        return near
