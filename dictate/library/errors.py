"""What goes wrong with a library, as one line that says what to do."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


class LibraryError(Exception):
    """One line: what is wrong with the library, and what to do."""


class DamagedError(LibraryError):
    """The file is no whole library."""


class OutdatedError(LibraryError):
    """A note was changed by somebody else since it was read."""


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Turns what SQLite raises into LibraryError, with the newest backup where the file is damaged."""
    try:
        yield
    except sqlite3.OperationalError as error:
        raise LibraryError(f"{path}: {_cure(error)}") from error
    except sqlite3.DatabaseError as error:
        raise damaged(path, str(error)) from error


def damaged(path: Path, why: str) -> DamagedError:
    """Says that a library is damaged and offers its newest backup."""
    from dictate.library.backups import newest_backup

    backup = newest_backup(path)
    cure = (
        f"its newest backup is {backup.name}; take it with: dictate library restore"
        if backup
        else "there is no backup; move the file away to begin anew, and take notes in again with: "
        "dictate library add FOLDER"
    )
    return DamagedError(f"{path}: the library is damaged ({why}); {cure}")


def _cure(error: sqlite3.OperationalError) -> str:
    what = str(error)
    if "locked" in what or "busy" in what:
        return "another program is writing to the library; try again when it is done"
    if "full" in what:
        return "the disk is full; make room"
    if "readonly" in what or "unable to open" in what:
        return f"{what}; check that the file and its folder may be read and written"
    if "no such" in what:
        return f"{what}: the library lacks a part; take a backup with: dictate library restore"
    return f"{what}; check it with: dictate library check"
