"""The folder of a session: its recording, its log, its notes; one program at a time has it. EDGE."""

from __future__ import annotations

import hashlib
import json
from contextlib import ExitStack
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from dictate import __version__
from dictate.audio.errors import SourceError
from dictate.files import locked, sha256_of, write_note
from dictate.listen.eventlog import Began, EventLog, Log, WrittenEvent, read_log
from dictate.listen.left import Left, what_was_left
from dictate.listen.recorder import RecordedSound, Recorder
from dictate.note import Note
from dictate.note import Recording as NoteRecording

RECORDING, LOG, NOTES, LOCK = "recording.wav", "session.jsonl", "notes", ".lock"


class SessionFolder:
    """What a session has on the disk, open. `left`: what was there before, None for a new session; `files`:
    of each note by its id, its JSON and its page (and, after a crash, what else bears that id)."""

    def __init__(self, path: Path, *, is_new: bool, blind: bool = False) -> None:
        """Use `begin` or `go_on`. Raises OSError, SourceError as they do."""
        with ExitStack() as opened:  # what was opened is closed where the rest cannot be
            busy = SourceError(f"{path}: another program has this session open; end that first")
            opened.enter_context(locked(path / LOCK, busy=busy))
            left = None if is_new else what_was_left(_log_of(path / LOG))
            self.path, self.left = path, left
            self.recorder = opened.enter_context(Recorder(path / RECORDING, go_on=not is_new))
            self.from_s = self.recorder.seconds  # so much was recorded before
            self.sound = RecordedSound(path / RECORDING)
            opened.callback(self.sound.close)
            self.log = opened.enter_context(EventLog(path / LOG))
            self._now = datetime.now().astimezone()
            self.files: dict[str, tuple[Path, ...]] = _note_files(path / NOTES, left) if left else {}
            self.began = _when(left) or self._now
            told = left or Left()
            self.identity = told.identity or _identity_in(self.files) or self._new_identity()
            # a note of another session that lies in the folder is no business of this one
            self.files = {n: f for n, f in self.files.items() if n.rpartition("-")[0] == self.identity}
            self.blind = blind or told.blind
            self._opened = opened.pop_all()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Give all of it back. May be called twice. Raises OSError."""
        self._opened.close()

    @property
    def recording(self) -> Path:
        """The file of the recording."""
        return self.path / RECORDING

    def tell_began(self) -> None:
        """Write into the log that the session begins, or goes on, here. Raises OSError."""
        event = Began(
            when=self._now.isoformat(), program=__version__, from_s=self.from_s, identity=self.identity,
            blind=self.blind,
        )  # fmt: skip
        self.log.append(event)

    def write(self, note: Note) -> None:
        """Write a note, and take away what it had under another name. Raises OSError."""
        files = write_note(note, self.path / NOTES, year=self.began.year)
        for old in set(self.files.get(note.id, ())) - set(files):
            old.unlink(missing_ok=True)
        self.files[note.id] = files

    def written(self, note: Note) -> WrittenEvent:
        """Where a note is, for the log."""
        return WrittenEvent(note=note.id, files=tuple(f"{NOTES}/{f.name}" for f in self.files[note.id]))

    def keep_only(self, notes: tuple[Note, ...]) -> None:
        """Take away the files of notes of this session that are not among these. Raises OSError."""
        for gone in set(self.files) - {note.id for note in notes}:
            for file in self.files.pop(gone):
                file.unlink(missing_ok=True)

    def finished(self) -> NoteRecording:
        """Close the recording; what notes tell of it. Raises OSError."""
        self.recorder.close()
        digest = sha256_of(self.recording)
        return NoteRecording(path=str(self.recording), sha256=digest, start_s=0, end_s=self.recorder.seconds)

    def _new_identity(self) -> str:
        return hashlib.sha256(f"{self._now.isoformat()} {self.path.name}".encode()).hexdigest()[:16]


def begin(path: Path, *, blind: bool = False) -> SessionFolder:
    """A new session; its folder is made. Raises OSError (FileExistsError: it is there)."""
    path.mkdir(parents=True, exist_ok=False)
    return SessionFolder(path, is_new=True, blind=blind)


def go_on(path: Path, *, blind: bool = False) -> SessionFolder:
    """A session that was broken off or has ended. Nothing in it is changed, but that a sample half written is
    cut off. Raises SourceError, one line: no session, no recording, another program has it; OSError."""
    if not path.is_dir():
        raise SourceError(f"{path}: no such folder; give the folder of a session, tastings/... say")
    if not (path / RECORDING).exists():
        raise SourceError(f"{path}: is no session, it has no {RECORDING}; give the folder of one")
    return SessionFolder(path, is_new=False, blind=blind)


def _log_of(path: Path) -> Log:
    """The log; an empty one where it is lost: the recording tells all."""
    try:
        return read_log(path)
    except FileNotFoundError:
        return Log(())


def _when(left: Left | None) -> datetime | None:
    try:
        return datetime.fromisoformat(left.when) if left else None
    except ValueError:
        return None


def _note_files(folder: Path, left: Left) -> dict[str, tuple[Path, ...]]:
    """Of each note in a folder by its id all files: the folder is believed before the log, for a crash
    may lie between the two. What was being written aside goes."""
    files: dict[str, tuple[Path, ...]] = {}
    for part in folder.glob(".*.part"):
        part.unlink(missing_ok=True)
    for file in sorted(folder.glob("*.json")):
        try:
            identity = json.loads(file.read_text(encoding="utf-8"))["id"]
        except (OSError, ValueError, KeyError, TypeError):
            continue
        files[str(identity)] = (*files.get(str(identity), ()), file, file.with_suffix(".md"))
    found = {file for each in files.values() for file in each}
    for identity, names in left.files.items():  # a note that is unreadable is replaced too
        told = [folder / Path(name).name for name in names]
        files[identity] = (*files.get(identity, ()), *(f for f in told if f not in found))
    return files


def _identity_in(files: dict[str, tuple[Path, ...]]) -> str:
    """What the notes' ids begin with, "" where there are none."""
    return next((note.rpartition("-")[0] for note in files), "")
