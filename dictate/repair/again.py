"""The second hearing: terms that may have been said where the recogniser wrote something else. Pure.

A recogniser that does not know the trade writes what it knows instead ("camera lit" for Camaralet). For
each run of words that it was not sure of, the terms that sound most like it are proposed. The recogniser
then tells how much better or worse its sound fits each of them than what it wrote, told beforehand that
these terms may come; and what gains enough for how odd it is is put in place, as a step.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher

from dictate.language.numerals import SPOKEN
from dictate.lexicon.entries import Lexicon, spelled
from dictate.phonetics.terms import Alike, Target, TermSounds, windows
from dictate.repair.apart import apart
from dictate.repair.line import NAMES, Line
from dictate.repair.table import Again, RepairTable
from dictate.repair.written import as_written
from dictate.values import Step, Word

_FIGURES = {str(n): word for n, word in enumerate(SPOKEN)}
_LEAST_GAIN, _MOST_GAIN = -15.0, 8.0  # nats: what lies beyond says no more


@dataclass(frozen=True, slots=True)
class Proposal:
    """Words [first, last) may have been `target`. `share`: how far its sound is off, 0 to 1; `sure`: the
    recogniser's mean confidence in the words; `odd`: what was heard holds a word that is no everyday word
    nor one of the trade; `apt`: 1 where such terms are spoken of, -1 where others are, else 0; `known`: the
    words are a term already."""

    first: int
    last: int
    target: Target
    share: float
    sure: float
    odd: bool
    apt: int
    known: bool

    @property
    def rank(self) -> float:
        """Smaller is likelier, before the recogniser is asked."""
        short = 0.1 if len(self.target.phones) < 5 else 0.0
        return (
            self.share
            + 0.3 * self.sure
            - 0.22 * self.odd
            - 0.06 * self.apt
            - 0.1 * self.target.likely
            + short
        )

    def features(self, gain: float) -> dict[str, float]:
        """What the weights of repair.toml are for, by their names there. `gain`: see `decide`."""
        return {
            "gain": max(_LEAST_GAIN, min(_MOST_GAIN, gain)),
            "share": self.share,
            "odd": float(self.odd),
            "known": float(self.known),
            "likely": self.target.likely,
            "length": float(min(len(self.target.phones), 14)),
            "named": float(self.target.kind in NAMES and self.apt > 0 and self.target.likely > 0),
            "bias": 1.0,
        }


@dataclass(frozen=True, slots=True)
class Decided:
    """What a second hearing changes, none overlapping, in order; and what it weighed and did not believe."""

    steps: tuple[Step, ...] = ()
    refused: tuple[Step, ...] = ()


@dataclass(frozen=True, slots=True)
class _Window:
    """Words [first, last), heard so (folded pieces) in the likeliest text or in another one."""

    first: int
    last: int
    heard: str


class SecondHearing:
    """Proposes and decides; made once for a lexicon, used for each breath group."""

    def __init__(self, lexicon: Lexicon, sounds: TermSounds, *, table: RepairTable) -> None:
        """`sounds`: of that lexicon."""
        self._lexicon = lexicon
        self._sounds = sounds
        self._table = table

    def propose(self, words: Sequence[Word], others: Sequence[str] = ()) -> tuple[Proposal, ...]:
        """At most `again.most` proposals for the words of one breath group, the likeliest first. `others`:
        the next likely texts of the same breath group: what is doubtful differs from one to the next."""
        line = Line(words, self._lexicon, self._table, self._sounds.pieces)
        limits = self._table.again
        found = list(dict.fromkeys(self._windows(line, others)))
        odd = [any(map(self._is_odd, window.heard.split())) for window in found]
        ways = [self._sounds.readings(w.heard, odd=o) for w, o in zip(found, odd, strict=True)]
        rows = self._sounds.alike(ways, count=limits.looked_at)
        best: dict[str, Proposal] = {}
        for window, is_odd, row in zip(found, odd, rows, strict=True):
            keys = spelled(line.said(window.first, window.last))
            named = any(line.kept[window.first : window.last])
            heard_already = line.terms(window.first, window.last)
            for alike in row:
                target = alike.target
                if alike.share > limits.furthest or (named and target.likely < 1):
                    continue
                if _holds(keys, target.pieces):  # heard already: words beside it would be lost
                    continue
                if (target.kind, target.term) in heard_already:  # another way to write the same
                    continue
                one = self._proposal(line, window, alike=alike, odd=is_odd)
                if _probability(one, _MOST_GAIN, limits) < limits.at_least:
                    continue  # whatever the sound says
                if target.text not in best or one.rank < best[target.text].rank:
                    best[target.text] = one
        return tuple(sorted(best.values(), key=lambda p: (p.rank, p.target.text))[: limits.most])

    def _proposal(self, line: Line, window: _Window, *, alike: Alike, odd: bool) -> Proposal:
        first, last = window.first, window.last
        name = alike.target.kind in NAMES
        near, other = (line.identity, line.taste) if name else (line.taste, line.identity)
        return Proposal(
            first,
            last,
            alike.target,
            share=alike.share,
            sure=_sure(line, first, last),
            odd=odd,
            apt=int(near[first]) - int(other[first] and not near[first]),
            known=bool(line.terms(first, last)),
        )

    def _windows(self, line: Line, others: Sequence[str]) -> Iterator[_Window]:
        texts = [word.text for word in line.words]
        longest = self._table.again.longest
        closed = line.closed(any_own=self._sounds.any_own)
        for first, last, heard in windows(texts, longest=longest):
            is_closed = any(closed[first:last]) or line.breaks_name(first, last)
            if heard and not is_closed and self._open(line, first, last):
                yield _Window(first, last, heard)
        for other in others:
            for window in _differing(texts, other.split(), longest=longest):
                is_closed = any(closed[window.first : window.last])
                if not is_closed and not line.breaks_name(window.first, window.last):
                    yield window

    def _is_odd(self, piece: str) -> bool:
        return piece not in self._sounds.pieces and not self._table.ordinary(piece)

    def _open(self, line: Line, first: int, last: int) -> bool:
        """May these words be something else? Not everyday words, nor a known term, heard for sure."""
        known = all(number >= 0 for number in line.mention[first:last])
        everyday = not any(line.odd[first:last])
        return not ((known or everyday) and _sure(line, first, last) >= self._table.again.sure)

    def prompt(self, proposals: Sequence[Proposal]) -> str:
        """What tells the recogniser that these terms may come, the likeliest last."""
        return ", ".join(dict.fromkeys(p.target.text for p in reversed(proposals))) + "."

    def hypothesis(self, words: Sequence[Word], proposal: Proposal) -> str:
        """The text of the breath group if the proposal is right."""
        texts = [word.text for word in words]
        texts[proposal.first : proposal.last] = _after(words, proposal)
        return " ".join(texts)

    def decide(
        self, words: Sequence[Word], proposals: Sequence[Proposal], *, gains: Sequence[float]
    ) -> Decided:
        """Steps for the proposals that are worth it; the others are refused.

        `gains`: for each proposal the nats by which the sound fits its hypothesis better than the words as
        heard. A step's score is the probability that the proposal is right, by a logistic regression whose
        weights stand in repair.toml.
        """
        steps: list[Step] = []
        refused: list[Step] = []
        for one, gain in zip(proposals, gains, strict=True):
            chance = _probability(one, gain, self._table.again)
            before = tuple(w.text for w in words[one.first : one.last])
            reason = f"heard again as {one.target.text}: {gain:+.1f} nats, {1 - one.share:.0%} alike"
            step = Step(one.first, one.last, before, tuple(_after(words, one)), chance, reason)
            (steps if chance >= self._table.again.at_least else refused).append(step)
        return Decided(tuple(apart(sorted(steps, key=lambda step: -step.score))), tuple(refused))


def _differing(texts: Sequence[str], other: Sequence[str], *, longest: int) -> Iterator[_Window]:
    """Windows of another text that hold words by which it differs, as windows of the first text."""
    plain, plain_other = ([_bare(w) for w in ws] for ws in (texts, other))
    # for each word of `other`: its place in `texts`, whether it differs, and the block that does
    spans: list[tuple[int, int, bool, int, int]] = []
    for tag, i1, i2, j1, j2 in SequenceMatcher(None, plain, plain_other, autojunk=False).get_opcodes():
        for j in range(j1, j2):
            same = tag == "equal"
            spans.append((i1 + j - j1, i1 + j - j1 + 1, False, j, j + 1) if same else (i1, i2, True, j1, j2))
    for first, last, heard in windows(other, longest=longest):
        within = spans[first:last]
        blocks = [(start, end) for _, _, differs, start, end in within if differs]
        whole = all(first <= start and end <= last for start, end in blocks)
        figures = any(c.isdigit() for word in other[first:last] for c in word)  # they sound like nothing
        if heard and blocks and whole and not figures and within[-1][1] > within[0][0]:
            yield _Window(within[0][0], within[-1][1], heard)


def _holds(pieces: Sequence[str], some: Sequence[str]) -> bool:
    """Whether some pieces stand among others as they are, in a run."""
    return any(tuple(pieces[n : n + len(some)]) == tuple(some) for n in range(len(pieces) - len(some) + 1))


def _bare(word: str) -> str:
    """A word as two texts are compared: "8" is "eight"."""
    plain = word.lower().strip(",.?!;:")
    return _FIGURES.get(plain, plain)


def _sure(line: Line, first: int, last: int) -> float:
    return sum(w.confidence for w in line.words[first:last]) / (last - first)


def _after(words: Sequence[Word], proposal: Proposal) -> list[str]:
    before = [w.text for w in words[proposal.first : proposal.last]]
    return list(as_written(proposal.target.text.split(), before, name=proposal.target.kind in NAMES))


def _probability(proposal: Proposal, gain: float, again: Again) -> float:
    weighed = sum(getattr(again, name) * value for name, value in proposal.features(gain).items())
    return 1 / (1 + math.exp(-weighed))
