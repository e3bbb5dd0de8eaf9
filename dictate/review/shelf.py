"""Notes of the library as the page changes them: saved at once, undone, never over another's change. EDGE."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from dictate.form import Amendment, Vocabulary, accepted, amended, changes_between, touched
from dictate.library import REVIEWED, Library, LibraryError, OutdatedError
from dictate.note import Change, Note
from dictate.review.sheet import told_change

_TRIES: Final = 5
_NEWEST: Final = 200  # of a library, where no notes are named: so many are gone through


class ConflictError(Exception):
    """Somebody else changed the same field meanwhile; `theirs` says what, a line each; nothing is saved."""

    def __init__(self, message: str, theirs: Sequence[str]) -> None:
        super().__init__(message)
        self.theirs = tuple(theirs)


@dataclass(frozen=True, slots=True)
class Open:
    """A note, its number, and the revision it is of."""

    number: int
    note: Note
    revision: int


@dataclass(frozen=True, slots=True)
class Saved:
    """The note behind a change; what was changed, and what others had changed meanwhile, a line each."""

    now: Open
    told: tuple[str, ...]
    meanwhile: tuple[str, ...] = ()


class Shelf:
    """The library's notes under review. All of it is used by one thread, that which first asks."""

    def __init__(self, path: Path, asked: Sequence[int] = ()) -> None:
        """`asked`: the notes to go through, in that order; without them the newest of the library."""
        self.path, self.asked = path, tuple(asked)
        self._library: Library | None = None

    @property
    def library(self) -> Library:
        """The open library. Raises LibraryError, OSError."""
        if self._library is None:
            self._library = Library.open(self.path)
        return self._library

    def close(self) -> None:
        """Give the library back."""
        if self._library is not None:
            self._library.close()
            self._library = None

    def open(self, number: int) -> Open:
        """A note as it is now. Raises LibraryError where there is none of this number."""
        name = str(number)
        revision = self.library.revisions(name)[-1][0]
        return Open(number, self.library.revision(name, revision), revision)

    def change(
        self,
        number: int,
        amendments: Sequence[Amendment],
        *,
        revision: int,
        known: Vocabulary,
        said: str = "",
    ) -> Saved:
        """Change a note that was seen at `revision`, in all or in nothing. `said`: what was said to ask for
        it, which history tells. What others changed since stays, where it is in other fields. Raises
        ConflictError, AmendError, LibraryError."""
        for _ in range(_TRIES):
            now = self.open(number)
            between = self._between(now, revision)
            lines = tuple(map(told_change, between))
            if frozenset[str]().union(*map(touched, amendments)) & {change.field for change in between}:
                raise ConflictError("This was changed elsewhere meanwhile; yours is not saved.", lines)
            made, when = now.note, _now()
            for amendment in amendments:
                made = amended(made, amendment, known=known, when=when)
            made = _as_said(now.note, made, said)
            try:
                saved = self._save(now, made, REVIEWED)
            except OutdatedError:
                continue
            return Saved(saved, tuple(map(told_change, _newer(now.note, made))), lines)
        raise ConflictError("Others change this note all the time; try again.", ())

    def undo(self, number: int, *, revision: int) -> Saved:
        """Take the last change by a hand back; again and again, down to the note as it was made. Raises
        ConflictError where the note is no longer at `revision`, or there is nothing to undo."""
        now = self.open(number)
        if now.revision != revision:
            lines = map(told_change, self._between(now, revision))
            raise ConflictError("This note was changed elsewhere meanwhile; nothing is undone.", (*lines,))
        try:
            kept = self.library.undo(number, revision=now.revision)
        except OutdatedError as error:
            raise ConflictError(
                "This note was changed elsewhere meanwhile; nothing is undone.", ()
            ) from error
        if kept is None:
            raise ConflictError("There is nothing to undo.", ())
        back = kept.note
        is_older = now.note.history[: len(back.history)] == back.history
        gone = (_newer(back, now.note) if is_older else ()) or changes_between(back, now.note)
        told = tuple(f"undone: {told_change(change)}" for change in gone)
        return Saved(Open(number, back, kept.revision), told or ("undone",))

    def last_change(self, number: int) -> int | None:
        """The revision that `undo` would take back, None where there is none."""
        return self.library.last_change(str(number))

    def in_turn(self) -> tuple[int, ...]:
        """The notes to go through."""
        return self.asked or self.library.find(limit=_NEWEST).numbers

    def following(self, number: int) -> int | None:
        """The next note that nobody has accepted yet, behind this one (0: from the first on), then from the
        first on; None where all are."""
        turn = self.in_turn()
        place = turn.index(number) + 1 if number in turn else 0
        for each in (*turn[place:], *turn[:place]):
            if each != number and self._is_open(each):
                return each
        return None

    def _is_open(self, number: int) -> bool:
        try:
            return not is_accepted(self.library.get(str(number)))
        except LibraryError:  # it was removed since
            return False

    def _save(self, now: Open, made: Note, why: str) -> Open:
        kept = self.library.change(now.number, made, revision=now.revision, why=why)
        return Open(now.number, kept.note, kept.revision)

    def _between(self, now: Open, revision: int) -> tuple[Change, ...]:
        """What was changed since a revision was seen."""
        if revision == now.revision:
            return ()
        try:
            seen = self.library.revision(str(now.number), revision)
        except LibraryError as error:
            raise ConflictError("This page is out of date; load it again.", ()) from error
        return changes_between(seen, now.note)


def is_accepted(note: Note) -> bool:
    """Whether a hand accepted the note as a whole."""
    return ("", "") in accepted(note)


def _newer(before: Note, after: Note) -> tuple[Change, ...]:
    """The changes that only the later note's history tells."""
    return tuple(after.history[len(before.history) :])


def _as_said(before: Note, after: Note, said: str) -> Note:
    """The later note, whose new changes were made by voice where words are given."""
    if not said:
        return after
    new = [change.model_copy(update={"by": "voice", "said": said}) for change in _newer(before, after)]
    return after.model_copy(update={"history": [*before.history, *new]})


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
