"""What happened in a session, a line an event, each safe on the disk before the next step. EDGE.

With the recording it is all that a session is rebuilt from. No word that was said off the record stands in
it.
"""

from __future__ import annotations

import contextlib
import os
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from dictate.audio.speech import Stretch
from dictate.recognise.recogniser import HeardStretch
from dictate.values import Perhaps, Step, Word


class _Event(BaseModel):
    model_config = ConfigDict(extra="ignore", frozen=True)  # a newer program may have written more


class Began(_Event):
    """A session began, or went on (`from_s`: so much was recorded before; what was said between is lost)."""

    event: Literal["began"] = "began"
    when: str  # ISO 8601, local time with its offset
    program: str
    from_s: float = Field(0.0, ge=0)
    identity: str = ""  # begins the notes' ids
    blind: bool = False  # the list stays shut until the end


class EarEvent(_Event):
    """The careful ear is ready; all that is heard until the next such event is its word."""

    event: Literal["ear"] = "ear"
    model: str


class LoggedWord(_Event):
    """A word as the recogniser gave it; see `values.Word`."""

    text: str
    start_s: float = Field(ge=0)
    end_s: float = Field(ge=0)
    confidence: float = Field(1.0, ge=0, le=1)
    heard: str | None = None


class LoggedDoubt(_Event):
    """Both readings of a breath group that was perhaps a cue; see `values.Perhaps`."""

    cue: tuple[LoggedWord, ...]
    written: tuple[LoggedWord, ...]
    chance: float = Field(ge=0, le=1)

    @classmethod
    def of(cls, doubt: Perhaps) -> LoggedDoubt:
        """Both readings, as the log keeps them."""
        return cls(cue=_words(doubt.cue), written=_words(doubt.written), chance=doubt.chance)

    @property
    def doubt(self) -> Perhaps:
        """Both readings, as an ear gave them."""
        return Perhaps(_said(self.cue), _said(self.written), self.chance)


class LoggedStep(_Event):
    """A step of the second hearing; see `values.Step`. Places count from the stretch's first word."""

    first: int = Field(ge=0)
    last: int = Field(ge=0)
    before: tuple[str, ...]
    after: tuple[str, ...]
    score: float
    reason: str


class HeardEvent(_Event):
    """A breath group was heard, and its words are final. `private`: something in it was off the record, and
    `words` are the others (None: an older log does not tell). `withheld`: its words are not here, since it is
    not known which of them are off the record, or since the ear broke down on it."""

    event: Literal["heard"] = "heard"
    start_s: float = Field(ge=0)
    end_s: float = Field(ge=0)
    words: tuple[LoggedWord, ...] = ()
    again: tuple[LoggedStep, ...] = ()
    refused: tuple[LoggedStep, ...] = ()
    perhaps: LoggedDoubt | None = None
    withheld: bool = False
    private: bool | None = None

    @classmethod
    def of(cls, stretch: Stretch, heard: HeardStretch, *, private: bool = False) -> HeardEvent:
        """What was heard, as the log keeps it."""
        return cls(
            start_s=stretch.start_s,
            end_s=stretch.end_s,
            words=_words(heard.words),
            again=_logged(heard.again),
            refused=_logged(heard.refused),
            perhaps=None if heard.perhaps is None else LoggedDoubt.of(heard.perhaps),
            private=private,
        )

    @property
    def stretch(self) -> Stretch:
        """The breath group."""
        return Stretch(self.start_s, self.end_s)

    @property
    def heard(self) -> HeardStretch:
        """What was heard, as an ear gave it."""
        doubt = None if self.perhaps is None else self.perhaps.doubt
        return HeardStretch(_said(self.words), _steps(self.again), _steps(self.refused), doubt)


def _words(words: Sequence[Word]) -> tuple[LoggedWord, ...]:
    return tuple(LoggedWord(**{name: getattr(w, name) for name in LoggedWord.model_fields}) for w in words)


def _said(logged: Sequence[LoggedWord]) -> tuple[Word, ...]:
    return tuple(Word(w.text, w.start_s, w.end_s, w.confidence, heard=w.heard) for w in logged)


def _logged(steps: Sequence[Step]) -> tuple[LoggedStep, ...]:
    return tuple(LoggedStep(**{name: getattr(s, name) for name in LoggedStep.model_fields}) for s in steps)


def _steps(logged: Sequence[LoggedStep]) -> tuple[Step, ...]:
    return tuple(Step(s.first, s.last, s.before, s.after, s.score, s.reason) for s in logged)


class GapEvent(_Event):
    """Sound was lost at `at_s`; so many seconds of silence stand for it."""

    event: Literal["gap"] = "gap"
    at_s: float = Field(ge=0)
    seconds: float = Field(ge=0)
    reason: str


class WrittenEvent(_Event):
    """A note was written into files (names in the session's folder)."""

    event: Literal["written"] = "written"
    note: str  # its id
    files: tuple[str, ...]


class Ended(_Event):
    """The session ended: "said", "stopped" (Ctrl-C), "closed" (no more sound), "failed" (a full
    disk, say: no more could be recorded)."""

    event: Literal["ended"] = "ended"
    at_s: float = Field(ge=0)
    how: str


Event = Began | EarEvent | HeardEvent | GapEvent | WrittenEvent | Ended
_READER: TypeAdapter[Event] = TypeAdapter(Annotated[Event, Field(discriminator="event")])


@dataclass(frozen=True, slots=True)
class Log:
    """Events in order. `damaged`: numbers of lines (from 1) that could not be read: a power cut tears the
    last, a bad disk any; what they told is heard anew from the recording."""

    events: tuple[Event, ...]
    damaged: tuple[int, ...] = ()


def read_log(path: Path) -> Log:
    """The events of a log, however it was left. Raises OSError."""
    lines = path.read_bytes().split(b"\n")
    events: list[Event] = []
    damaged: list[int] = []
    for number, line in enumerate(lines, 1):
        if not line.strip():
            continue
        try:
            events.append(_READER.validate_json(line))
        except ValidationError:
            damaged.append(number)
    return Log(tuple(events), tuple(damaged))


class EventLog:
    """Appends events, from any thread; each is on the disk when `append` comes back."""

    def __init__(self, path: Path) -> None:
        """Begin a log, or go on behind what is there: a torn last line is ended, not cut away.
        Raises OSError."""
        self._lock = threading.Lock()
        self._file = path.open("a+b", buffering=0)
        try:
            size = self._file.seek(0, os.SEEK_END)
            if size:
                self._file.seek(size - 1)
                if self._file.read(1) != b"\n":
                    self._write(b"\n")
        except BaseException:
            self._file.close()
            raise

    def __enter__(self) -> EventLog:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def append(self, event: Event) -> None:
        """Write an event, whole or not at all. Raises OSError, ValueError where it holds what JSON or UTF-8
        cannot."""
        self._write(event.model_dump_json().encode("utf-8") + b"\n")

    def close(self) -> None:
        """Give the file back. May be called twice."""
        self._file.close()

    def _write(self, data: bytes) -> None:
        with self._lock:
            before = os.fstat(self._file.fileno()).st_size
            left = memoryview(data)
            try:
                while left:
                    left = left[self._file.write(left) or 0 :]
                os.fsync(self._file.fileno())
            except OSError:  # a full disk took half a line: the next must not be glued to it
                with contextlib.suppress(OSError):
                    self._file.truncate(before)
                raise
