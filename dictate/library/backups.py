"""Backups of a library: whole copies beside it, made by SQLite while others write, kept by a rule.

Kept are the newest seven made by themselves, one a month of the twelve newest months, the three newest from
before a change of schema; those made by hand are never taken away.
"""

from __future__ import annotations

import contextlib
import os
import re
import sqlite3
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import Final, Literal

Reason = Literal["daily", "schema", "hand"]
_DAYS, _MONTHS, _SCHEMAS = 7, 12, 3
_NAME: Final = re.compile(r"(?P<when>\d{8}T\d{6})-(?P<reason>daily|schema|hand)(?:-\d+)?\.sqlite")


def backups_folder(library: Path) -> Path:
    """Where the backups of a library lie."""
    return library.with_name(f"{library.stem}-backups")


def backups_of(library: Path) -> list[Path]:
    """The backups of a library, the newest last."""
    with contextlib.suppress(OSError):
        return sorted(p for p in backups_folder(library).iterdir() if _NAME.fullmatch(p.name))
    return []


def newest_backup(library: Path) -> Path | None:
    """The newest backup, None where there is none."""
    return next(reversed(backups_of(library)), None)


def is_due(library: Path, now: datetime) -> bool:
    """Whether no daily backup was made on this day."""
    day = now.strftime("%Y%m%d")
    return not any(p.name.startswith(day) and "-daily" in p.name for p in backups_of(library))


def back_up(connection: sqlite3.Connection, library: Path, *, reason: Reason, now: datetime) -> Path:
    """Copy an open library beside it, then take away what the rule no longer keeps; returns the copy.

    Raises sqlite3.Error, OSError; no half copy is left under a backup's name.
    """
    folder = backups_folder(library)
    folder.mkdir(parents=True, exist_ok=True)
    target = _free(folder, f"{now.strftime('%Y%m%dT%H%M%S')}-{reason}")
    copy_to(connection, target)
    for old in _outdated(backups_of(library)):
        old.unlink(missing_ok=True)
    return target


def copy_to(connection: sqlite3.Connection, target: Path) -> None:
    """Copy an open library into a file, whole or not at all. Raises sqlite3.Error, OSError."""
    part = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        with contextlib.closing(sqlite3.connect(part, isolation_level=None)) as copy:
            connection.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")  # one file, not three
        with part.open("rb+") as file:
            os.fsync(file.fileno())
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)


def _free(folder: Path, stem: str) -> Path:
    path, number = folder / f"{stem}.sqlite", 1
    while path.exists():
        number += 1
        path = folder / f"{stem}-{number}.sqlite"
    return path


def _outdated(backups: Iterable[Path]) -> set[Path]:
    """What the rule no longer keeps, of backups sorted by age."""
    by_reason: dict[str, list[Path]] = {"daily": [], "schema": [], "hand": []}
    for path in backups:
        by_reason[_NAME.fullmatch(path.name)["reason"]].append(path)  # type: ignore[index]
    daily = by_reason["daily"]
    monthly = list({path.name[:6]: path for path in daily}.values())  # the newest of each month
    kept = {*daily[-_DAYS:], *monthly[-_MONTHS:], *by_reason["schema"][-_SCHEMAS:], *by_reason["hand"]}
    return {path for paths in by_reason.values() for path in paths} - kept
