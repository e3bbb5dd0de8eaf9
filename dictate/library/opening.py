"""Opens the file of a library: makes a new one, brings an older schema up to date. EDGE."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from dictate.library.backups import back_up, copy_to
from dictate.library.errors import LibraryError, damaged
from dictate.library.schema import APPLICATION, SCHEMA, STEPS

WAIT_S = 20.0  # for another program that writes


def connect(path: Path, *, now: datetime) -> sqlite3.Connection:
    """An open library of the newest schema; the file and its folder are made where they are missing.

    Before an older schema is changed, the file is backed up. Raises LibraryError (no library, of a newer
    program), DamagedError, sqlite3.Error, OSError.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    connection = sqlite3.connect(path, timeout=WAIT_S, isolation_level=None)
    try:
        _prepare(connection, path, now=now)
    except BaseException:
        connection.close()
        raise
    return connection


def _prepare(connection: sqlite3.Connection, path: Path, *, now: datetime) -> None:
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = FULL")  # what is acknowledged outlives a power cut
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("PRAGMA cache_size = -65536")  # 64 MB: the index of 100,000 notes
    schema = _schema(connection, path)
    if schema == SCHEMA:
        return
    if schema:
        back_up(connection, path, reason="schema", now=now)
    connection.execute("PRAGMA journal_mode = WAL")
    with writing(connection):
        for step in STEPS[_schema(connection, path) :]:  # another program may have done it meanwhile
            for statement in _statements(step):
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION}")
        connection.execute(f"PRAGMA user_version = {SCHEMA}")


def _schema(connection: sqlite3.Connection, path: Path) -> int:
    """The schema of a file, 0 where it is empty."""
    version = int(_pragma(connection, "user_version"))
    application = int(_pragma(connection, "application_id"))
    tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    if application == 0 and version == 0 and tables == 0:
        return 0
    if application != APPLICATION:
        raise LibraryError(f"{path}: is no library of tasting notes; give another file with --library")
    if version > SCHEMA:
        raise LibraryError(
            f"{path}: was written by a newer program (schema {version}, known here: {SCHEMA}); update dictate"
        )
    if version < 1:
        raise damaged(path, "it has no schema")
    return version


def _pragma(connection: sqlite3.Connection, name: str) -> int:
    found: tuple[int] = connection.execute(f"PRAGMA {name}").fetchone()
    return found[0]


@contextmanager
def writing(connection: sqlite3.Connection) -> Iterator[None]:
    """A transaction that writes: all of it or nothing."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        with contextlib.suppress(sqlite3.Error):
            connection.execute("ROLLBACK")
        raise


def _statements(script: str) -> list[str]:
    """`executescript` would end the transaction."""
    made, rest = [], ""
    for piece in script.split(";"):
        rest += piece + ";"
        if sqlite3.complete_statement(rest):
            made.append(rest)
            rest = ""
    return [statement for statement in made if statement.strip(" \n;")]


def restore_backup(path: Path, backup: Path, *, now: datetime) -> Path | None:
    """Put a backup in the place of a library; what was there is moved aside and never taken away.

    Returns where it lies now, None where there was nothing. No other program may have the library open.
    Raises LibraryError where the backup is no whole library, sqlite3.Error, OSError; nothing is then changed.
    """
    if not backup.is_file():
        raise LibraryError(f"{backup}: no such file; see what there is with: dictate library backups")
    part = path.with_name(f".{path.name}.part")
    try:
        _copy_whole(backup, part)
        aside = _move_aside(path, now=now)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    return aside


def _copy_whole(backup: Path, part: Path) -> None:
    """Copy a backup that was looked through. Raises LibraryError, OSError."""
    part.parent.mkdir(parents=True, exist_ok=True)
    part.unlink(missing_ok=True)
    try:
        uri = f"{backup.resolve().as_uri()}?mode=ro"
        with contextlib.closing(sqlite3.connect(uri, uri=True, isolation_level=None)) as source:
            if not _schema(source, backup):
                raise LibraryError(f"{backup}: is empty; name another backup")
            copy_to(source, part)
        with contextlib.closing(sqlite3.connect(part, isolation_level=None)) as copy:
            found = [row[0] for row in copy.execute("PRAGMA integrity_check")]
    except sqlite3.DatabaseError as error:
        found = [str(error)]
    if found != ["ok"]:
        raise LibraryError(f"{backup}: this backup is damaged ({found[0]}); name another one")


def _move_aside(path: Path, *, now: datetime) -> Path | None:
    """Move a library with what lies beside it (SQLite's log of what was written last)."""
    if not path.exists():
        return None
    stem, number = f"{path.stem}-before-{now.strftime('%Y%m%dT%H%M%S')}", 1
    aside = path.with_name(f"{stem}{path.suffix}")
    while aside.exists():
        number += 1
        aside = path.with_name(f"{stem}-{number}{path.suffix}")
    for ending in ("", "-wal", "-shm"):
        file = path.with_name(path.name + ending)
        if file.exists():
            file.replace(aside.with_name(aside.name + ending))
    return aside
