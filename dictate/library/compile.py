"""A query's tree to SQL. Pure. Names of columns come from fixed tables, all else is a parameter."""

from __future__ import annotations

from typing import Final

from dictate.find import NUMBERS, TEXTS, All, Any, Mentions, Not, Query, Range
from dictate.find.fields import ANYWHERE

Parameter = float | str
_SORTED_UP: Final = frozenset(["title", "producer", "origin", "position"])  # others: the most first
_YEARS: Final = range(1000, 3000)  # a year in four figures is a word too
_COLUMNS: Final = frozenset([*NUMBERS, "added", "title", "producer", "origin"])


def full_text(query: Query) -> str | None:
    """A query that is of texts alone as one query of FTS5, itself a parameter; None where it is not. One
    such query is far quicker than several and what they have in common."""
    match query:
        case Mentions() if set(query.texts) <= set(TEXTS):
            return _phrase(query)
        case Range("vintage", low, high, True, True) if low == high and low in _YEARS:
            return f'{{vintage}} : "{low:.0f}"'
        case Any(parts) if parts:
            made = [full_text(part) for part in parts]
            return None if None in made else " OR ".join(f"({part})" for part in made)
        case All(parts):
            asked = [full_text(part) for part in parts if not isinstance(part, Not)]
            denied = [full_text(part.part) for part in parts if isinstance(part, Not)]
            if not asked or None in asked or None in denied:
                return None
            wanted = " AND ".join(f"({part})" for part in asked)
            return "".join([f"({wanted})", *(f" NOT ({part})" for part in denied)])
    return None


def where(query: Query) -> tuple[str, list[Parameter]]:
    """A condition on a row of `facts`, and its parameters."""
    if (texts := full_text(query)) is not None:
        # "+": not by looking up each of them in `facts`, which is slow where they are many
        return "+number IN (SELECT rowid FROM texts WHERE texts MATCH ?)", [texts]
    match query:
        case Range():
            return _range(query)
        case Not(part):
            condition, parameters = where(part)
            return f"NOT ({condition})", parameters
        case All(parts):
            return _joined(_together(parts), " AND ", nothing="1")
        case Any(parts):
            return _joined(parts, " OR ", nothing="0")
    raise ValueError(f"no query: {query!r}")


def _together(parts: tuple[Query, ...]) -> tuple[Query, ...]:
    """Parts that are of texts alone as one part."""
    texts = [p for p in parts if full_text(p.part if isinstance(p, Not) else p) is not None]
    if all(isinstance(p, Not) for p in texts):
        return parts
    return (All(tuple(texts)), *(p for p in parts if p not in texts))


def order(by: str, *, reverse: bool) -> str:
    """How hits are sorted by a name of `sort_key`: texts from a to z, positions up, what else from the most
    to the least; `reverse` turns it. What a note does not tell comes last in any case. Notes were added in
    the order of their numbers."""
    if by not in _COLUMNS:
        raise ValueError(f"no column {by!r}")
    way = "DESC" if (by not in _SORTED_UP) != reverse else "ASC"
    if by == "added":
        return f"number {way}"
    folded = " COLLATE NOCASE" if by in ("title", "producer", "origin") else ""
    return f"{by}{folded} {way} NULLS LAST, number {way}"


def _joined(parts: tuple[Query, ...], by: str, *, nothing: str) -> tuple[str, list[Parameter]]:
    made = [where(part) for part in parts]
    conditions = by.join(f"({condition})" for condition, _ in made)
    return conditions or nothing, [p for _, parameters in made for p in parameters]


def _range(query: Range) -> tuple[str, list[Parameter]]:
    if query.field not in NUMBERS:
        raise ValueError(f"no number {query.field!r}")
    conditions, parameters = [f"{query.field} IS NOT NULL"], []
    if query.low is not None:
        conditions.append(f"{query.field} {'>=' if query.low_counts else '>'} ?")
        parameters.append(query.low)
    if query.high is not None:
        conditions.append(f"{query.field} {'<=' if query.high_counts else '<'} ?")
        parameters.append(query.high)
    return " AND ".join(conditions), list(parameters)


def _phrase(query: Mentions) -> str:
    """A phrase in columns. Keys are of a-z and 0-9 alone."""
    if not all(key.isascii() and key.isalnum() for key in query.keys):
        raise ValueError(f"no search keys: {query.keys!r}")
    phrase = f'"{" ".join(query.keys)}"' + ("*" if query.opening else "")
    columns = "- {absent}" if query.texts == ANYWHERE else f"{{{' '.join(query.texts)}}}"
    return f"{columns} : {phrase}"
