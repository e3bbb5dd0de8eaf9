"""The tables of a library: documents in, documents out, and the index that is derived from them. EDGE.

Every function works within its caller's transaction; sqlite3.Error goes through.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import suppress
from sqlite3 import Connection, DatabaseError, OperationalError
from typing import Any

from dictate.library.errors import LibraryError
from dictate.library.index import rows_of
from dictate.library.recordings import tell_place
from dictate.library.schema import INDEX
from dictate.library.values import Making
from dictate.note import MadeWith, Note, as_document, read_note


def as_text(note: Note) -> str:
    """The note's document as the library has it."""
    text = json.dumps(as_document(note), ensure_ascii=False, separators=(",", ":"))
    try:
        text.encode()
    except UnicodeEncodeError:  # half a character, of a file's name
        return json.dumps(as_document(note), separators=(",", ":"))
    return text


def document_of(db: Connection, number: int, *, revision: int | None = None) -> str:
    """The text of a note's document, by default of its newest revision. Raises LibraryError."""
    wanted = "(SELECT revision FROM notes WHERE number = ?1)" if revision is None else "?2"
    row = db.execute(
        f"SELECT document FROM revisions WHERE number = ?1 AND revision = {wanted}",
        [number] if revision is None else [number, revision],
    ).fetchone()
    if row is None:
        which = "" if revision is None else f", revision {revision}"
        raise LibraryError(f"note {number}{which} is not there; see: dictate find")
    return str(row[0])


def has_been(db: Connection, number: int, *, note: Note) -> bool:
    """Whether the note has, or had, just this document."""
    sql = "SELECT 1 FROM revisions WHERE number = ? AND document = ?"
    return db.execute(sql, [number, as_text(note)]).fetchone() is not None


def note_of(db: Connection, number: int, *, revision: int | None = None) -> Note:
    """A note. Raises LibraryError where it is not there or its document is damaged."""
    try:
        return read_note(json.loads(document_of(db, number, revision=revision)))
    except ValueError as error:
        first = str(error).splitlines()[0]
        raise LibraryError(f"note {number} cannot be read ({first}); see: dictate library check") from error


def makings(db: Connection) -> tuple[Making, ...]:
    """With what each note was made, by number. Of one that cannot be read nothing is told."""
    rows = db.execute(
        "SELECT notes.number, coalesce(sha256, ''), removed_at IS NOT NULL, "
        "CASE WHEN json_valid(document) THEN json_extract(document, '$.made_with') END, coalesce(end_s, 0) "
        "FROM notes JOIN revisions USING (number, revision) LEFT JOIN places USING (number) "
        "ORDER BY notes.number"
    )
    return tuple(
        Making(number, sha256, _made_with(made), bool(removed), end_s)
        for number, sha256, removed, made, end_s in rows
    )


def _made_with(text: str | None) -> MadeWith | None:
    with suppress(ValueError):
        return MadeWith.model_validate_json(text) if text else None
    return None


def put_index(db: Connection, number: int, *, note: Note) -> None:
    """Write what a note is found by, in place of what was there."""
    rows = rows_of(note)
    forget(db, number)
    added = db.execute("SELECT added_at FROM notes WHERE number = ?", [number]).fetchone()[0]
    _insert(db, "facts", row={"number": number, "added": added, **rows.facts})
    _insert(db, "texts", row={"rowid": number, **rows.texts})


def _insert(db: Connection, table: str, *, row: dict[str, Any]) -> None:
    places = ", ".join("?" * len(row))
    db.execute(f"INSERT INTO {table} ({', '.join(row)}) VALUES ({places})", list(row.values()))


def forget(db: Connection, number: int) -> None:
    """Take away what a note is found by."""
    db.execute("DELETE FROM facts WHERE number = ?", [number])
    db.execute("DELETE FROM texts WHERE rowid = ?", [number])


def rebuild(db: Connection) -> int:
    """Derive the whole index anew; how many notes it has. A note that cannot be read is left out: `problems`
    tells of it."""
    db.execute("DELETE FROM facts")
    db.execute("DELETE FROM texts")
    count = 0
    notes = db.execute("SELECT number, changed_at, removed_at FROM notes").fetchall()
    for number, changed_at, removed_at in notes:
        with suppress(LibraryError):
            note = note_of(db, number)
            tell_place(db, number, note=note, when=changed_at)
            if removed_at is None:
                put_index(db, number, note=note)
                count += 1
    db.execute("INSERT OR REPLACE INTO about VALUES ('index', ?)", [str(INDEX)])
    return count


def is_indexed(db: Connection) -> bool:
    """Whether the index is what this program derives."""
    row = db.execute("SELECT value FROM about WHERE name = 'index'").fetchone()
    return row is not None and row[0] == str(INDEX)


def problems(db: Connection) -> Iterator[str]:
    """All that is wrong with the file, its notes and its index, a line each."""
    for (line,) in db.execute("PRAGMA integrity_check").fetchall():
        if line != "ok":
            yield f"the file: {line}"
    try:  # FTS5's own check, which changes nothing; https://sqlite.org/fts5.html, 6.4
        db.execute("INSERT INTO texts (texts) VALUES ('integrity-check')")
    except OperationalError:  # another program writes
        raise
    except DatabaseError as error:
        yield f"the index of words: {error}"
    for table, row, parent, _ in db.execute("PRAGMA foreign_key_check").fetchall():
        yield f"{table} {row} belongs to none of {parent}"
    notes = db.execute("SELECT number, removed_at, added_at FROM notes").fetchall()
    for number, removed_at, added_at in notes:
        try:
            derived = rows_of(note_of(db, number))
        except LibraryError as error:
            yield str(error)
            continue
        facts = {"number": number, "added": added_at, **derived.facts}
        if _indexed(db, number) != ((None, None) if removed_at else (facts, derived.texts)):
            yield f"note {number}: what it is found by is not what it says"
    for table, key in (("facts", "number"), ("texts", "rowid")):
        strange = {row[0] for row in db.execute(f"SELECT {key} FROM {table}")} - {note[0] for note in notes}
        if strange:
            yield f"{len(strange)} entries of the index are of no note"


def _indexed(db: Connection, number: int) -> tuple[dict[str, Any] | None, dict[str, Any] | None]:
    return (
        _row(db, "SELECT * FROM facts WHERE number = ?", number=number),
        _row(db, "SELECT * FROM texts WHERE rowid = ?", number=number),
    )


def _row(db: Connection, sql: str, *, number: int) -> dict[str, Any] | None:
    cursor = db.execute(sql, [number])
    row = cursor.fetchone()
    return dict(zip([c[0] for c in cursor.description], row, strict=True)) if row else None
