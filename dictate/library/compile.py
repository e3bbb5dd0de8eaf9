"""A query's tree to SQL. Pure. Names of columns come from fixed tables, all else is a parameter."""

from __future__ import annotations

from typing import Final

from dictate.find import NUMBERS, TEXTS, All, Any, Mentions, Not, Query, Range
from dictate.find.fields import ANYWHERE

Parameter = float | str
_SORTED_UP: Final = frozenset(["title", "producer", "origin", "position"])  # others: the most first
_COLUMNS: Final = frozenset([*NUMBERS, "added", "title", "producer", "origin"])


def where(query: Query) -> tuple[str, list[Parameter]]:
    """A condition on a row of `facts`, and its parameters."""
    match query:
        case Range():
            return _range(query)
        case Mentions() if set(query.texts) <= set(TEXTS):
            return "number IN (SELECT rowid FROM texts WHERE texts MATCH ?)", [_match(query)]
        case Not(part):
            condition, parameters = where(part)
            return f"NOT ({condition})", parameters
        case All(parts):
            return _joined(parts, " AND ", "1")
        case Any(parts):
            return _joined(parts, " OR ", "0")
    raise ValueError(f"no query: {query!r}")


def order(by: str, *, reverse: bool) -> str:
    """How hits are sorted by a name of `sort_key`: texts from a to z, positions up, what else from the most
    to the least; `reverse` turns it. What a note does not tell comes last in any case."""
    if by not in _COLUMNS:
        raise ValueError(f"no column {by!r}")
    down = (by not in _SORTED_UP) != reverse
    folded = " COLLATE NOCASE" if by in ("title", "producer", "origin") else ""
    way = "DESC" if down else "ASC"
    return f"{by}{folded} {way} NULLS LAST, number {way}"


def _joined(parts: tuple[Query, ...], by: str, nothing: str) -> tuple[str, list[Parameter]]:
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


def _match(query: Mentions) -> str:
    """FTS5's own query, itself a parameter: a phrase in columns. Keys are of a-z and 0-9 alone."""
    if not all(key.isascii() and key.isalnum() for key in query.keys):
        raise ValueError(f"no search keys: {query.keys!r}")
    phrase = f'"{" ".join(query.keys)}"' + ("*" if query.opening else "")
    columns = "- {absent}" if query.texts == ANYWHERE else f"{{{' '.join(query.texts)}}}"
    return f"{columns} : {phrase}"
