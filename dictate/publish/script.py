"""What the taster said of a wine, clause by clause, and what of it the note still holds. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from dictate.export import clean
from dictate.language.tokens import fold, split_word, stem
from dictate.note import Descriptor, Fault, Level, Note, Score, Spoken, Term, Text, TranscriptPhrase

Group = Literal["appearance", "nose", "palate", "finish", "verdict"]
GROUPS: tuple[Group, ...] = ("appearance", "nose", "palate", "finish", "verdict")
BY_HAND = ("corrected", "typed")
_CLAUSE_ENDS = re.compile(r"[,;:.?!–—…][\"'”’)\]]*$")
_SLACK_S = 0.0015  # spans are rounded to 0.001 s


@dataclass(frozen=True, slots=True)
class Held:
    """A value that the note holds: its path ("palate.acidity"), the group it is told in, the value."""

    path: str
    group: Group
    value: Spoken

    @property
    def is_absent(self) -> bool:
        """Listed as not there."""
        return self.path.endswith(".absent")


@dataclass(frozen=True, slots=True)
class Clause:
    """Words up to a mark, the values they hold, and where they are: phrase and clause, from 0."""

    phrase: int
    place: int
    words: tuple[str, ...]
    at: tuple[tuple[float, float], ...]
    held: tuple[Held, ...] = ()

    @property
    def key(self) -> tuple[int, int]:
        """In order of speech."""
        return self.phrase, self.place

    @property
    def text(self) -> str:
        """As one line, without the marks at its ends."""
        return trimmed(" ".join(self.words))

    def names(self, term: str) -> bool:
        """Whether all words of a term are among its own, in whatever number."""
        mine = {stem(piece) for word in self.words for piece in split_word(word)[0]}
        asked = {stem(piece) for word in term.split() for piece in split_word(word)[0]}
        return bool(asked) and asked <= mine


def trimmed(text: str) -> str:
    """Text on one line without marks at its ends; those that belong to a word or a quote stay."""
    return clean(text).strip(" ,.;:–—-…")


def held_values(note: Note) -> Iterator[Held]:
    """All that the note holds of how the wine looks, smells, tastes and is judged, in order of tasting."""
    for group in GROUPS:
        section = getattr(note, group)
        for name in type(section).model_fields:
            found = getattr(section, name)
            for value in found if isinstance(found, list) else [found]:
                if isinstance(value, Spoken):
                    yield Held(f"{group}.{name}", group, value)
    yield from (Held("faults", "palate", fault) for fault in note.faults)


def told(held: Held) -> str:
    """A value in words of its own, for one that no transcript has: typed, or put right by hand."""
    value, name = held.value, held.path.rpartition(".")[2].replace("_", " ")
    if isinstance(value, Descriptor):
        unsure = isinstance(value, Fault) and not value.certain
        return ("no " if held.is_absent else "perhaps " if unsure else "") + clean(value.term)
    if isinstance(value, Term):
        return f"{value.term} at the rim" if name == "rim" else clean(value.term)
    if isinstance(value, Text):
        return clean(value.text)
    if isinstance(value, Level):
        changed = value.source in BY_HAND and value.at is not None  # its words are those of the old level
        said = "" if changed else trimmed(value.said)
        if not said:
            return figure_of(held)
        return said if stem(fold(name))[:4] in fold(said) else f"{name} {said}"
    if isinstance(value, Score):
        return f"{value.points:g}" + (f" out of {value.out_of:g}" if value.out_of is not None else " points")
    return trimmed(value.said)


def figure_of(held: Held) -> str:
    """A level by its number ("acidity 5 of 10"); any other value as `told` has it."""
    if isinstance(held.value, Level):
        return f"{held.path.rpartition('.')[2].replace('_', ' ')} {held.value.level:g} of 10"
    return told(held)


def clauses_of(note: Note) -> tuple[tuple[Clause, ...], ...]:
    """For each phrase of the transcript its clauses."""
    values = [held for held in held_values(note) if held.value.at is not None]
    return tuple(_clauses(number, phrase, values) for number, phrase in enumerate(note.transcript))


def _clauses(number: int, phrase: TranscriptPhrase, values: Sequence[Held]) -> tuple[Clause, ...]:
    words: list[Any] = list(phrase.words)
    if words:
        span = min(word.at[0] for word in words), max(word.at[1] for word in words)
        values = [held for held in values if _near(held, span)]
    cut = [i + 1 for i, word in enumerate(words[:-1]) if _CLAUSE_ENDS.search(word.text)]
    made = []
    for place, (start, end) in enumerate(zip([0, *cut], [*cut, len(words)], strict=True)):
        at = tuple(word.at for word in words[start:end])
        mine = tuple(held for held in values if any(covers(held, span) for span in at))
        made.append(Clause(number, place, tuple(word.text for word in words[start:end]), at, mine))
    return tuple(made)


def _near(held: Held, span: tuple[float, float]) -> bool:
    at = held.value.at
    return at is not None and at[0] - _SLACK_S <= span[1] and span[0] <= at[1] + _SLACK_S


def covers(held: Held, span: tuple[float, float]) -> bool:
    """Whether a word of this span is one of those that a value was said in."""
    at, middle = held.value.at, (span[0] + span[1]) / 2
    return at is not None and at[0] - _SLACK_S <= middle <= at[1] + _SLACK_S
