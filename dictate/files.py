"""Writes files, each whole or not at all: notes into a folder, and what others hand it. EDGE."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import os
import re
import tempfile
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

import platformdirs
from filelock import FileLock, Timeout

from dictate.export import as_markdown, file_name
from dictate.note import Note, as_document


def data_folder() -> Path:
    """Where the taster's own data lie: DICTATE_HOME, else what the system has for it. It need not exist."""
    return Path(os.environ.get("DICTATE_HOME") or platformdirs.user_data_dir("dictate", appauthor=False))


def notes_as_json(notes: list[Note]) -> str:
    """The notes as one JSON array, a final newline behind it."""
    return _json([as_document(note) for note in notes])


def check_folder(folder: Path) -> None:
    """Raises OSError where notes surely cannot be written into `folder`; makes nothing."""
    place = folder
    while not os.path.lexists(place) and place != place.parent:
        place = place.parent
    if not place.is_dir():
        raise NotADirectoryError(errno.ENOTDIR, "Not a folder", str(place))
    if not os.access(place, os.W_OK | os.X_OK):
        raise PermissionError(errno.EACCES, "Nothing may be written there", str(place))


def write_note(note: Note, folder: Path, *, year: int | None = None) -> tuple[Path, Path]:
    """Write NAME.json and NAME.md into `folder`, which is made where it is missing; returns both paths.
    `year` is that of the tasting, for the sense checks.

    A note of the same id is replaced; another note's file is never: NAME gets "-2", "-3" behind it.
    Both files are written aside and renamed only when both are whole. Raises OSError.
    """
    folder.mkdir(parents=True, exist_ok=True)
    stem = _free_stem(note, folder)
    document = _json(as_document(note))
    json_path, markdown_path = folder / f"{stem}.json", folder / f"{stem}.md"
    write_together({json_path: document, markdown_path: as_markdown(note, year)}, folder)
    return json_path, markdown_path


def rewrite_note(note: Note, folder: Path, *, year: int | None = None) -> tuple[Path, Path]:
    """As `write_note`; what the note had in the folder under another name, its wine being named otherwise
    now, goes. Raises OSError."""
    written = write_note(note, folder, year=year)
    take_away(folder, lambda known: known == note.id, but=written[:1])
    return written


def take_away(folder: Path, is_old: Callable[[str], bool], *, but: Collection[Path]) -> None:
    """Files of notes whose id `is_old`, but for some. The page goes first: what is killed between can be
    found again by the other. Raises OSError."""
    for path in folder.glob("*.json"):
        if path not in but and is_old(str(_id_in(path) or "")):
            path.with_suffix(".md").unlink(missing_ok=True)
            path.unlink(missing_ok=True)


def sha256_of(path: Path) -> str:
    """The SHA-256 of a file's bytes. Raises OSError."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _json(document: object) -> str:
    """JSON text; of a file name that is no valid Unicode, the bytes that are none become U+FFFD."""
    return re.sub("[\ud800-\udfff]", "\ufffd", json.dumps(document, ensure_ascii=False, indent=1)) + "\n"


def _free_stem(note: Note, folder: Path) -> str:
    base = stem = file_name(note)
    number = 1
    while (folder / f"{stem}.json").exists() and _id_in(folder / f"{stem}.json") != note.id:
        number += 1
        stem = f"{base}-{number}"
    return stem


def _id_in(path: Path) -> str | None:
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return document.get("id") if isinstance(document, dict) else None


def write_file(data: bytes, target: Path) -> None:
    """Write one file, whole or not at all; raises OSError, naming a folder that is not there."""
    if not target.parent.is_dir():
        raise FileNotFoundError(errno.ENOENT, "No such folder", str(target.parent))
    if target.is_dir():
        raise IsADirectoryError(errno.EISDIR, "Is a folder", str(target))
    write_together({target: data}, target.parent)


def write_together(texts: Mapping[Path, str | bytes], folder: Path) -> None:
    """Write texts (UTF-8) and bytes into files of `folder`: all are written aside, then renamed. Raises
    OSError."""
    aside: dict[Path, Path] = {}
    try:
        for target, content in texts.items():
            handle, name = tempfile.mkstemp(prefix=".", suffix=".part", dir=folder)
            aside[target] = Path(name)
            with os.fdopen(handle, "wb") as file:
                file.write(content if isinstance(content, bytes) else content.encode("utf-8"))
                file.flush()
                os.fsync(file.fileno())
            Path(name).chmod(0o666 & ~_umask())
        for target, part in aside.items():
            part.replace(target)
    finally:
        for part in aside.values():
            with contextlib.suppress(FileNotFoundError):
                part.unlink()


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


@contextmanager
def locked(path: Path, *, busy: Exception) -> Iterator[None]:
    """Holds a lock by a file; after kill -9 too the next may have it. Raises `busy` where another has it."""
    lock = FileLock(path, timeout=0)
    try:
        lock.acquire()
    except Timeout:
        raise busy from None
    try:
        yield
    finally:
        lock.release()
