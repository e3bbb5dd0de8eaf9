"""The library: one SQLite file of notes, their revisions, and what they are found by. EDGE."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from dictate.assemble import keep_listed
from dictate.find import All, Query
from dictate.form import keep_corrections
from dictate.library.backups import back_up, copy_to, is_due
from dictate.library.errors import LibraryError, OutdatedError, told
from dictate.library.identity import free_id, is_taken, number_of, same_note
from dictate.library.index import rows_of
from dictate.library.opening import connect, writing
from dictate.library.recordings import found_in, missing, place_of, tell_found, tell_place
from dictate.library.revisions import MADE, TAKEN_IN, in_effect, last_change, undone
from dictate.library.search import search
from dictate.library.tables import (
    as_text,
    document_of,
    forget,
    has_been,
    is_indexed,
    makings,
    note_of,
    problems,
    put_index,
    rebuild,
)
from dictate.library.values import Found, Kept, Making, Removed, Revised
from dictate.note import Note

KEPT_DAYS: Final = 30  # a removed note can be brought back so long
_EVERY: Final = All()


class Library:
    """An open library; a context manager. Each method raises LibraryError, one line, where it cannot do its
    work, DamagedError where the file is damaged; nothing is then changed."""

    def __init__(self, path: Path, *, clock: Callable[[], datetime] = lambda: datetime.now(UTC)) -> None:
        """Use `open`."""
        self.path, self._clock = path, clock
        with told(path):
            self._db = connect(path, now=clock())
            if not is_indexed(self._db):
                with writing(self._db):
                    rebuild(self._db)

    @classmethod
    def open(cls, path: Path, *, clock: Callable[[], datetime] = lambda: datetime.now(UTC)) -> Self:
        """Open a library, or begin one; an older schema is brought up to date after a backup. `clock` gives
        now, with its zone. Raises LibraryError, OSError."""
        return cls(path, clock=clock)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Give it back. May be called twice."""
        self._db.close()

    # what is kept

    def add(self, note: Note, *, why: str = MADE) -> Kept:
        """Keep a note; when this returns, it is on the disk.

        The same note again changes nothing. Another of the same id, or from the same part of the same
        recording, is a new revision; the older ones stay. `why`: MADE by the program (what a hand put right
        before is then kept, and what a wine list gave), or what was done by hand. What is TAKEN_IN is as
        MADE, but changes nothing where the note was once just so: its file is older than what is here.
        """
        (kept,) = self.add_all([note], why=why)
        return kept

    def add_all(self, notes: Iterable[Note], *, why: str = MADE) -> tuple[Kept, ...]:
        """As `add`, all or none of them."""
        with self._writing():
            kept = tuple(self._add(note, why) for note in notes)
        self._tidy()
        return kept

    def change(self, number: int, note: Note, *, revision: int, why: str) -> Kept:
        """A note's next revision, where `revision` is still its newest. Raises OutdatedError where it is not:
        somebody else changed the note meanwhile."""
        (kept,) = self.change_all([Revised(number, note, revision, why)])
        return kept

    def change_all(self, revised: Sequence[Revised]) -> tuple[Kept, ...]:
        """As `change`, all or none; of several for one note each stands on the one before."""
        kept: list[Kept] = []
        with self._writing():
            for each in revised:
                if each.number not in {before.number for before in kept}:
                    self._check_newest(each)
                kept.append(self._add(each.note, each.why))
        self._tidy()
        return tuple(kept)

    def undo(self, number: int, *, revision: int) -> Kept | None:
        """Take the last change of a note back (`last_change`), where `revision` is still its newest: a
        revision more, with the document from before. None where there is nothing to undo. Raises
        OutdatedError."""
        first = last_change(self._whys(str(number)))
        if first is None:
            return None
        back = self.revision(str(number), first - 1)
        return self.change(number, back, revision=revision, why=undone(first))

    def get(self, name: str) -> Note:
        """A note by its number, its id, or the beginning of its id that no other has."""
        with told(self.path):
            return note_of(self._db, number_of(self._db, name))

    def number(self, name: str) -> int:
        """The number of a note, named as for `get`."""
        with told(self.path):
            return number_of(self._db, name)

    def revisions(self, name: str) -> tuple[tuple[int, str, str], ...]:
        """Number, time and reason of each revision of a note, the oldest first."""
        with told(self.path):
            rows = self._db.execute(
                "SELECT revision, made_at, why FROM revisions WHERE number = ? ORDER BY revision",
                [number_of(self._db, name)],
            )
            return tuple((int(revision), str(at), str(why)) for revision, at, why in rows)

    def last_change(self, name: str) -> int | None:
        """The first revision of what `undo` would take back, None where there is nothing."""
        return last_change(self._whys(name))

    def in_effect(self, name: str) -> tuple[tuple[str, Note], ...]:
        """Reason and note of each revision that led to a note as it is, the newest first; what was undone is
        left out."""
        whys = self._whys(name)
        return tuple((whys[place], self.revision(name, place)) for place in in_effect(whys))

    def _whys(self, name: str) -> dict[int, str]:
        return {revision: why for revision, _, why in self.revisions(name)}

    def revision(self, name: str, revision: int) -> Note:
        """A note as it was at a revision."""
        with told(self.path):
            return note_of(self._db, number_of(self._db, name), revision=revision)

    def find(
        self,
        query: Query = _EVERY,
        *,
        by: str = "added",
        reverse: bool = False,
        limit: int | None = None,
    ) -> Found:
        """Notes for which a query holds, sorted by a name of `dictate.find.sort_key`: the newest, the most
        first, names from a to z. `limit`: so many hits at most; `total` counts all."""
        with told(self.path), self._reading():
            return search(self._db, query, by=by, reverse=reverse, limit=limit)

    def makings(self) -> tuple[Making, ...]:
        """With what each note was made, by number; removed notes too."""
        with told(self.path), self._reading():
            return makings(self._db)

    def notes(self, numbers: Sequence[int]) -> tuple[Note, ...]:
        """Notes by their numbers, in that order."""
        with told(self.path), self._reading():
            return tuple(note_of(self._db, number) for number in numbers)

    # what is taken away

    def remove(self, names: Sequence[str]) -> tuple[Removed, ...]:
        """Take notes away, all or none; for 30 days `restore` brings them back."""
        now = _stamp(self._clock(), "microseconds")  # what was removed together is told by it
        with self._writing():
            gone = []
            for number in dict.fromkeys(number_of(self._db, name) for name in names):
                row = self._db.execute("SELECT title FROM facts WHERE number = ?", [number]).fetchone()
                self._db.execute("UPDATE notes SET removed_at = ? WHERE number = ?", [now, number])
                forget(self._db, number)
                gone.append(Removed(number, str(row[0]) if row else "unreadable", now))
        self._tidy()
        return tuple(gone)

    def removed(self) -> tuple[Removed, ...]:
        """Notes that can be brought back, the last removed first."""
        with told(self.path):
            rows = self._db.execute(
                "SELECT number, removed_at FROM notes WHERE removed_at IS NOT NULL "
                "ORDER BY removed_at DESC, number"
            ).fetchall()
            return tuple(Removed(number, self._title(number), at) for number, at in rows)

    def _title(self, number: int) -> str:
        try:
            return str(rows_of(note_of(self._db, number)).facts["title"])
        except LibraryError:  # it can be brought back, or go, all the same
            return "unreadable"

    def restore(self, numbers: Sequence[int]) -> None:
        """Bring removed notes back, all or none."""
        with self._writing():
            for number in numbers:
                changed = self._db.execute(
                    "UPDATE notes SET removed_at = NULL WHERE number = ? AND removed_at IS NOT NULL", [number]
                )
                if not changed.rowcount:
                    raise LibraryError(
                        f"{number}: no removed note has this number; see: dictate library undo"
                    )
                with suppress(LibraryError):  # of one that cannot be read, `check` tells
                    put_index(self._db, number, note=note_of(self._db, number))

    # recordings

    def recording(self, note: Note) -> Path | None:
        """The file of a note's recording, None where it is not where it was seen last."""
        if note.recording is None:
            return None
        with told(self.path):
            place = place_of(self._db, note.recording.sha256)
        return place if place is not None and place.is_file() else None

    def missing_recordings(self) -> tuple[Path, ...]:
        """Where recordings were that are no longer there."""
        with told(self.path), self._reading():
            return tuple(lost.path for lost in missing(self._db).values())

    def look_for_recordings(self, folders: Sequence[Path] = ()) -> tuple[Path, ...]:
        """Look below folders, and right in those in which they were, for recordings that are missing; their
        SHA-256 tells them. Returns where they are now. Raises OSError where a folder cannot be read."""
        with told(self.path), self._reading():
            lost = missing(self._db)
        found = list(found_in(folders, lost)) if lost else []
        with self._writing():
            for sha256, path in found:
                tell_found(self._db, sha256, path=path, when=self._now())
        return tuple(path for _, path in found)

    # the file

    def backup(self, target: Path | None = None) -> Path:
        """A whole copy of the library, beside it or in a file that is not there yet; returns it. Raises
        OSError too."""
        with told(self.path):
            if target is None:
                return back_up(self._db, self.path, reason="hand", now=self._clock())
            if target.exists():
                raise LibraryError(f"{target}: is there already; give another name")
            copy_to(self._db, target)
            return target

    def check(self) -> tuple[str, ...]:
        """All that is wrong with the file and its notes, a line each; nothing is changed. The index is
        compared with what the documents give. Raises DamagedError only where it cannot even be read."""
        with told(self.path), self._reading():
            return tuple(problems(self._db))

    def rebuild_index(self) -> int:
        """Derive anew what notes are found by; returns how many notes there are."""
        with self._writing():
            return rebuild(self._db)

    # within a transaction

    def _add(self, note: Note, why: str) -> Kept:
        if not note.id.isprintable() or not note.id.strip():
            raise LibraryError(f"{note.id[:80]!r} is no id for a note; use letters, figures and “-”")
        number = same_note(self._db, note)
        if number is None:
            return self._add_new(note, why)
        row = self._db.execute(
            "SELECT id, revision, removed_at FROM notes WHERE number = ?", [number]
        ).fetchone()
        old_id, revision, removed_at = row
        if note.id != old_id and is_taken(self._db, note.id):
            note = note.model_copy(update={"id": old_id})
        if why == TAKEN_IN and not removed_at and has_been(self._db, number, note=note):
            return Kept(number, revision, "same", note_of(self._db, number))
        if why in (MADE, TAKEN_IN):
            old = note_of(self._db, number)
            note = keep_corrections(old, keep_listed(old, note), when=self._now())
        if not removed_at and document_of(self._db, number) == as_text(note):
            return Kept(number, revision, "same", note)
        self._db.execute("DELETE FROM former_ids WHERE id = ?", [note.id])
        self._db.execute(
            "UPDATE notes SET id = ?, changed_at = ?, removed_at = NULL, revision = ? WHERE number = ?",
            [note.id, self._now(), revision + 1, number],
        )
        if old_id != note.id:
            self._db.execute("INSERT OR REPLACE INTO former_ids VALUES (?, ?)", [old_id, number])
        return self._keep(Kept(number, revision + 1, "back" if removed_at else "changed", note), why)

    def _check_newest(self, revised: Revised) -> None:
        number, name = revised.number, str(revised.number)
        if number_of(self._db, name) != number or note_of(self._db, number).id != revised.note.id:
            raise LibraryError(f"note {number} is another one now; open it again")
        newest = self._db.execute("SELECT revision FROM notes WHERE number = ?", [number]).fetchone()[0]
        if newest != revised.revision:
            raise OutdatedError(f"note {number} was changed meanwhile (revision {newest}); open it again")

    def _add_new(self, note: Note, why: str) -> Kept:
        now = self._now()
        note = note.model_copy(update={"id": free_id(self._db, note)})
        number = self._db.execute(
            "INSERT INTO notes (id, added_at, changed_at, revision) VALUES (?, ?, ?, 1)", [note.id, now, now]
        ).lastrowid
        assert number is not None  # of an INSERT it never is
        return self._keep(Kept(number, 1, "new", note), why)

    def _keep(self, kept: Kept, why: str) -> Kept:
        now = self._now()
        self._db.execute(
            "INSERT INTO revisions (number, revision, made_at, why, document) VALUES (?, ?, ?, ?, ?)",
            [kept.number, kept.revision, now, why, as_text(kept.note)],
        )
        put_index(self._db, kept.number, note=kept.note)
        tell_place(self._db, kept.number, note=kept.note, when=now)
        return kept

    def _tidy(self) -> None:
        """Once a day, behind what was written first: a backup, and removed notes go whose time is over.
        What goes wrong here costs no note: it is tried again with what is written next."""
        now = self._clock()
        with suppress(sqlite3.Error, OSError):
            if not is_due(self.path, now):
                return
            back_up(self._db, self.path, reason="daily", now=now)
            over = _stamp(now - timedelta(days=KEPT_DAYS), "microseconds")
            with writing(self._db):
                self._db.execute("DELETE FROM notes WHERE removed_at < ?", [over])

    def _now(self) -> str:
        return _stamp(self._clock())

    @contextmanager
    def _writing(self) -> Iterator[None]:
        with told(self.path), writing(self._db):
            yield

    @contextmanager
    def _reading(self) -> Iterator[None]:
        """All that is read is of one moment."""
        self._db.execute("BEGIN")
        try:
            yield
        finally:
            self._db.execute("COMMIT")


def _stamp(when: datetime, precision: str = "seconds") -> str:
    return when.astimezone(UTC).isoformat(timespec=precision)
