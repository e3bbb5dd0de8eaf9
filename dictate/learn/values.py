"""What passes through the room of learning. Frozen, without logic."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from dictate.lexicon.entries import Entry, Lexicon
from dictate.personal.habits import CuePhrase, LevelUse, Own
from dictate.personal.words import PersonalWord
from dictate.phonetics.terms import TermSounds

Learnt = Literal["word", "level", "cue"]


@dataclass(frozen=True)
class Known:
    """What the program knows while it looks at corrections."""

    own: Own
    lexicon: Lexicon  # with the taster's own words
    sounds_of: Callable[[Entry], TermSounds]  # how one term sounds
    is_everyday: Callable[[str], bool]  # of one token: an everyday English word
    degree_of: Callable[[str], float | None]  # the level that words of degree have now, None: they are none
    nouns: frozenset[str]  # tokens that name what is measured ("acidity")


@dataclass(frozen=True, slots=True)
class Correction:
    """One value that a hand put right: `before` is None where the value was missing, `after` where it was to
    go. Texts as the history has them; a level is a number in figures."""

    note: str  # its id
    field: str
    before: str | None
    after: str | None
    when: str


@dataclass(frozen=True, slots=True)
class Misheard:
    """What was heard where a value should have been read: as match text ("sailing"), and where it stands in
    the note's transcript (phrase, first word, last word not counted)."""

    heard: str
    at: tuple[float, float]  # seconds
    place: tuple[int, int, int]
    written: str = ""  # what a repair made of it, "" where none did


@dataclass(frozen=True, slots=True)
class Evidence:
    """One occasion: the note (its id), what was heard, and where (seconds), None where it isn't known."""

    note: str
    heard: str
    at: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Proposal:
    """Something that the taster may want to be learnt. `key` tells it from others, today and later; `text` is
    one plain sentence; `writes` is what accepting it puts among the taster's own."""

    kind: Learnt
    key: str
    text: str
    evidence: tuple[Evidence, ...]
    writes: PersonalWord | LevelUse | CuePhrase

    @property
    def times(self) -> int:
        """On how many occasions it was seen."""
        return len(self.evidence)


@dataclass(frozen=True, slots=True)
class KindHeard:
    """How well one kind of value is heard, in notes that a hand has looked at: how many values of it there
    should be, how many of these were put right and how many were missing; how many more were taken out; and
    what was heard for what, the commonest first."""

    kind: str
    values: int
    changed: int
    missing: int
    taken_out: int
    misheard: tuple[tuple[str, str, int], ...]

    @property
    def right(self) -> float:
        """The share of the values that needed nothing; 1 where there are none."""
        return 1 - (self.changed + self.missing) / self.values if self.values else 1.0
