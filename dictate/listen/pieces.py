"""A breath group as the two ears hear it, and what of its words may be told. Pure."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from dictate.audio.speech import Stretch
from dictate.recognise.recogniser import HeardStretch
from dictate.values import Step, Word

Span = tuple[float, float]  # seconds


@dataclass(slots=True)
class Piece:
    """A breath group. `withheld`: by an earlier session, its words are not known; `held`: it is known from
    there that something in it was off the record; `private`: something in it is, as heard now; `reduced`:
    of `careful` what was off the record is taken out."""

    number: int
    stretch: Stretch
    quick: HeardStretch | None = None
    careful: HeardStretch | None = None
    withheld: bool = False
    held: bool = False
    private: bool = False
    reduced: bool = False

    @property
    def unknown(self) -> bool:
        """Whether it is withheld and not yet heard anew: what it begins is not known."""
        return self.withheld and self.careful is None

    @property
    def heard(self) -> HeardStretch:
        """The best there is of it, its words known by the number of the breath group."""
        best = self.careful or self.quick or HeardStretch(())
        return best.with_words(lambda word: replace(word, utterance=self.number))


def in_spans(word: Word, spans: Sequence[Span]) -> bool:
    """Whether a word is in a span, in part; one of no length at its very end too: it may be what ends it."""
    if word.start_s == word.end_s:
        return any(start <= word.start_s <= end for start, end in spans)
    return any(word.start_s < end and start < word.end_s for start, end in spans)


def only(heard: HeardStretch, kept: Collection[int]) -> HeardStretch:
    """Of a breath group the words at these places, and the steps of the second hearing that are of them
    alone. What was doubtful was of all its words, and goes."""
    place = {old: new for new, old in enumerate(sorted(kept))}
    again, refused = (
        tuple(
            replace(s, first=place[s.first], last=place[s.first] + s.last - s.first)
            for s in steps
            if _stands(s, place)
        )
        for steps in (heard.again, heard.refused)
    )
    return HeardStretch(tuple(heard.words[n] for n in sorted(kept)), again, refused)


def _stands(step: Step, kept: Collection[int]) -> bool:
    return step.first < step.last and all(n in kept for n in range(step.first, step.last))


def without_first(heard: HeardStretch, count: int) -> HeardStretch:
    """A breath group without its first words."""
    return only(heard, range(count, len(heard.words)))
