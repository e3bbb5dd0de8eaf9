"""The tree of a query. Each node says of a note yes or no; `library/` makes SQL of it."""

from __future__ import annotations

from dataclasses import dataclass


class QueryError(ValueError):
    """A query that cannot be read: one line that names the place and what is wanted there."""


@dataclass(frozen=True, slots=True)
class Range:
    """A number of the note lies between two; a note without that number is no hit. None: no bound."""

    field: str  # of fields.NUMBERS
    low: float | None = None
    high: float | None = None
    low_counts: bool = True  # whether the bound itself is in
    high_counts: bool = True


@dataclass(frozen=True, slots=True)
class Mentions:
    """Search keys stand next to each other, in this order, in one item of one of the texts. `opening`: the
    last of them is only how the word begins."""

    texts: tuple[str, ...]  # of fields.TEXTS
    keys: tuple[str, ...]
    opening: bool = False


@dataclass(frozen=True, slots=True)
class Not:
    """The part does not hold."""

    part: Query


@dataclass(frozen=True, slots=True)
class All:
    """Each part holds; without parts, any note is a hit."""

    parts: tuple[Query, ...] = ()


@dataclass(frozen=True, slots=True)
class Any:
    """One of the parts holds."""

    parts: tuple[Query, ...]


Query = Range | Mentions | Not | All | Any
