"""Where recordings lie: they stay files, known by their SHA-256 and found again when moved. EDGE."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from sqlite3 import Connection

from dictate.note import Note


def tell_place(db: Connection, number: int, *, note: Note, when: str) -> None:
    """Write where a note's recording lies, as far as it says, and which part of it is the note's."""
    db.execute("DELETE FROM places WHERE number = ?", [number])
    recording = note.recording
    if recording is None or not recording.sha256.isalnum() or not recording.sha256.isascii():
        return
    db.execute(
        "INSERT INTO places VALUES (?, ?, ?, ?)",
        [number, recording.sha256, recording.start_s, recording.end_s],
    )
    path = os.path.abspath(recording.path)  # noqa: PTH100  # a link stays a link
    size = _size(path)
    if size is not None or not _known(db, recording.sha256):
        _tell(db, recording.sha256, path=path, size=size, when=when)


def _known(db: Connection, sha256: str) -> bool:
    return db.execute("SELECT 1 FROM recordings WHERE sha256 = ?", [sha256]).fetchone() is not None


def _tell(db: Connection, sha256: str, *, path: str, size: int | None, when: str) -> None:
    storable = path.encode("utf-8", "replace").decode().replace("\0", "?")
    db.execute(
        "INSERT OR REPLACE INTO recordings VALUES (?, ?, ?, ?)",
        [sha256, storable, size, when if size is not None else None],
    )


def _size(path: str) -> int | None:
    try:
        return os.stat(path).st_size if os.path.isfile(path) else None  # noqa: PTH116, PTH113
    except (OSError, ValueError):
        return None


@dataclass(frozen=True, slots=True)
class Lost:
    """A recording that is not where it was: that place, and its bytes where they are known."""

    path: Path
    size: int | None


def missing(db: Connection) -> dict[str, Lost]:
    """The recordings of notes that are not where they were, by SHA-256."""
    rows = db.execute(
        "SELECT DISTINCT recordings.sha256, path, size FROM recordings JOIN places USING (sha256) "
        "JOIN notes USING (number) WHERE removed_at IS NULL ORDER BY path"
    )
    return {sha256: Lost(Path(path), size) for sha256, path, size in rows.fetchall() if _size(path) is None}


def found_in(folders: Iterable[Path], lost: Mapping[str, Lost]) -> Iterator[tuple[str, Path]]:
    """Lost recordings below `folders` and right in the folders where they were, by SHA-256; a file of another
    size is not read. The file itself is told, not copied. Raises OSError where a folder cannot be read."""
    left, sizes = set(lost), {each.size for each in lost.values()}
    before = sorted({each.path.parent for each in lost.values()})
    near = (file for folder in before if folder.is_dir() for file in sorted(folder.iterdir()))
    for file in chain(near, *map(_files, folders)):
        if not left:
            return
        try:
            if not file.is_file() or (None not in sizes and file.stat().st_size not in sizes):
                continue
            with file.open("rb") as opened:
                digest = hashlib.file_digest(opened, "sha256").hexdigest()
        except OSError:  # one that may not be read is none that is found
            continue
        if digest in left:
            left.discard(digest)
            yield digest, file.absolute()


def _files(folder: Path) -> Iterator[Path]:
    next(folder.iterdir(), None)  # os.walk would pass over a folder that is not there
    for parent, folders, names in os.walk(folder):
        folders.sort()
        yield from (Path(parent, name) for name in sorted(names))


def tell_found(db: Connection, sha256: str, *, path: Path, when: str) -> None:
    """Write where a recording was found."""
    place = os.path.abspath(path)  # noqa: PTH100
    _tell(db, sha256, path=place, size=_size(place), when=when)


def place_of(db: Connection, sha256: str) -> Path | None:
    """Where a recording was seen last, None where it was never told."""
    row = db.execute("SELECT path FROM recordings WHERE sha256 = ?", [sha256]).fetchone()
    return Path(row[0]) if row else None
