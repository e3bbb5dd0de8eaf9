"""Which note of the library one is: by its id, and by the speech it was made from. EDGE.

Every function works within its caller's transaction; sqlite3.Error goes through.
"""

from __future__ import annotations

from itertools import count
from sqlite3 import Connection

from dictate.library.errors import LibraryError
from dictate.note import Note


def number_of(db: Connection, name: str) -> int:
    """The number of a note that is not removed: by its number, its id, one that it had, or the beginning of
    its id that no other has. Raises LibraryError."""
    rows = db.execute(
        "SELECT number FROM notes WHERE removed_at IS NULL AND "
        + ("number = ?" if name.isascii() and name.isdigit() and len(name) < 16 else "id = ?"),
        [name],
    ).fetchall()
    if not rows:
        rows = db.execute(
            "SELECT number FROM former_ids JOIN notes USING (number) WHERE removed_at IS NULL "
            "AND former_ids.id = ?",
            [name],
        ).fetchall()
    if not rows and len(name) >= 4:
        rows = db.execute(
            "SELECT number FROM notes WHERE removed_at IS NULL AND substr(id, 1, ?) = ? LIMIT 2",
            [len(name), name],
        ).fetchall()
    if len(rows) != 1:
        what = "more than one note has an id that begins so" if rows else "no note has this number or id"
        raise LibraryError(f"“{name[:80]}”: {what}; see: dictate find")
    return int(rows[0][0])


def same_note(db: Connection, note: Note) -> int | None:
    """The number of the note, removed or not, that this is another revision of: of its id, or that it had, if
    it is not of other speech; else the one made from the same speech. None: there is none."""
    for table in ("notes", "former_ids"):
        row = db.execute(f"SELECT number FROM {table} WHERE id = ?", [note.id]).fetchone()
        if row is not None and not is_elsewhere(db, row[0], note=note):
            return int(row[0])
    return same_speech(db, note)


def is_taken(db: Connection, name: str) -> bool:
    """Whether a note has this id, removed or not."""
    return db.execute("SELECT 1 FROM notes WHERE id = ?", [name]).fetchone() is not None


def free_id(db: Connection, note: Note) -> str:
    """The note's id, or where another has it one that also tells where in the recording it begins."""
    start_s = note.recording.start_s if note.recording else 0
    names = (f"{note.id}-at-{start_s:g}" + (f"-{n}" if n > 1 else "") for n in count(1))
    return next(name for name in names if not is_taken(db, name)) if is_taken(db, note.id) else note.id


def same_speech(db: Connection, note: Note) -> int | None:
    """The number of the note made from the same part of the same recording under another id: same SHA-256,
    parts that overlap by more than half of the longer, no other position told. None: there is none."""
    recording = note.recording
    if recording is None or not recording.sha256:
        return None
    rows = db.execute(
        "SELECT places.number, start_s, end_s, position FROM places JOIN notes USING (number) "
        "LEFT JOIN facts USING (number) WHERE sha256 = ? AND id != ? ORDER BY places.number",
        [recording.sha256, note.id],
    )
    for number, start_s, end_s, position in rows:
        shared = min(end_s, recording.end_s) - max(start_s, recording.start_s)
        longest = max(end_s - start_s, recording.end_s - recording.start_s)
        if shared > longest / 2 and (position is None or note.wine.position in (None, int(position))):
            return int(number)
    return None


def is_elsewhere(db: Connection, number: int, *, note: Note) -> bool:
    """Whether a note in the library is of another part of the recording that this one is of: ids count the
    wines of a recording through, and where they are parted otherwise the same id is another wine."""
    row = db.execute("SELECT sha256, start_s, end_s FROM places WHERE number = ?", [number]).fetchone()
    place = note.recording
    if row is None or place is None or place.sha256 != row[0]:
        return False
    start_s, end_s = float(row[1]), float(row[2])
    return place.start_s != start_s and (place.start_s >= end_s or place.end_s <= start_s)
