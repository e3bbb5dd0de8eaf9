"""Notes whose files are written, into the library as well: what goes wrong there stops nothing. EDGE."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from dictate.library.errors import LibraryError
from dictate.library.store import Library
from dictate.note import Note


def keep_notes(notes: Sequence[Note], path: Path) -> tuple[tuple[Note, ...], str]:
    """Keep notes in the library of a file: as they are in it, where a hand may have put something right
    before, and "". Where it cannot take them: as they came, and why, one line."""
    if not notes:
        return (), ""
    try:
        with Library.open(path) as library:
            kept = library.add_all(notes)
    except (LibraryError, OSError) as error:
        why = str(error) if isinstance(error, LibraryError) else f"{path}: {error.strerror}"
        return tuple(notes), why
    return tuple(each.note for each in kept), ""
