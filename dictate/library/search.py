"""Finds notes: a query's tree asked of the index. EDGE."""

from __future__ import annotations

from sqlite3 import Connection
from typing import Any, Final

from dictate.find import Query
from dictate.library.compile import full_text, order, where
from dictate.library.values import Found, Hit

_MANY: Final = 3000  # hits: beyond it, going down the sorted index is quicker than sorting the hits


def search(
    db: Connection, query: Query, *, by: str, reverse: bool = False, limit: int | None = None
) -> Found:
    """All hits counted, those asked for told, sorted. Raises sqlite3.Error."""
    total = _count(db, query)
    texts, sorting = full_text(query), order(by, reverse=reverse)
    walked = "" if by == "added" or total <= _MANY else f"INDEXED BY facts_{by}"
    condition, parameters = where(query)
    source = f"number FROM facts {walked} WHERE {condition}"
    if texts is not None and by == "added":
        source, parameters = "rowid AS number FROM texts WHERE texts MATCH ?", [texts]
    numbers = db.execute(
        f"SELECT {source} ORDER BY {sorting} LIMIT ?", [*parameters, total if limit is None else limit]
    )
    return Found(total, tuple(_hit(db, row[0]) for row in numbers.fetchall()))


def _count(db: Connection, query: Query) -> int:
    texts = full_text(query)
    if texts is not None:
        counted = db.execute("SELECT count(*) FROM texts WHERE texts MATCH ?", [texts])
    else:
        condition, parameters = where(query)
        counted = db.execute(f"SELECT count(*) FROM facts WHERE {condition}", parameters)
    return int(counted.fetchone()[0])


def _hit(db: Connection, number: int) -> Hit:
    cursor = db.execute("SELECT facts.*, id FROM facts JOIN notes USING (number) WHERE number = ?", [number])
    row: dict[str, Any] = dict(zip([c[0] for c in cursor.description], cursor.fetchone(), strict=True))
    return Hit(row.pop("number"), row.pop("id"), row.pop("title"), row)
