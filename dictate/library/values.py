"""What a library hands out, beside notes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from dictate.note import MadeWith, Note

Outcome = Literal["new", "changed", "same", "back"]


@dataclass(frozen=True, slots=True)
class Kept:
    """What came of adding a note: its number in the library, its revision from 1, the note as it is there."""

    number: int
    revision: int
    outcome: Outcome  # "back": it had been removed
    note: Note


@dataclass(frozen=True, slots=True)
class Revised:
    """A note's next revision, where `revision` is still its newest."""

    number: int
    note: Note
    revision: int
    why: str


@dataclass(frozen=True, slots=True)
class Making:
    """With what a note was made, and the SHA-256 of what it was made from: "" and None where it tells of
    none."""

    number: int
    sha256: str
    made_with: MadeWith | None
    is_removed: bool
    end_s: float = 0.0  # where its part of the recording ends


@dataclass(frozen=True, slots=True)
class Hit:
    """A note found, by what a list of notes shows of it: `facts` are its numbers by the names of a query."""

    number: int
    id: str
    title: str
    facts: dict[str, float | str | None]


@dataclass(frozen=True, slots=True)
class Found:
    """How many notes were found, and those asked for."""

    total: int
    hits: tuple[Hit, ...]

    @property
    def numbers(self) -> tuple[int, ...]:
        """The notes' numbers, in the order of the hits."""
        return tuple(hit.number for hit in self.hits)


@dataclass(frozen=True, slots=True)
class Removed:
    """A note that was removed and can be brought back."""

    number: int
    title: str
    at: str
