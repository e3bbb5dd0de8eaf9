"""What happened in a session, a line an event, each safe on the disk before the next step. EDGE.

With the recording it is all that a session is rebuilt from. No word that was said off the record stands in
it: such a stretch is `withheld`, and heard anew from the recording where it is needed.
"""

from __future__ import annotations

import os
import threading
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError


class _Event(BaseModel):
    model_config = ConfigDict(extra="ignore", frozen=True)  # a newer program may have written more


class Began(_Event):
    """A session began, or went on (`from_s`: so much was recorded before)."""

    event: Literal["began"] = "began"
    when: str  # ISO 8601, local time with its offset
    program: str
    model: str
    from_s: float = Field(0.0, ge=0)


class LoggedWord(_Event):
    """A word as the recogniser gave it; see `values.Word`."""

    text: str
    start_s: float = Field(ge=0)
    end_s: float = Field(ge=0)
    confidence: float = Field(1.0, ge=0, le=1)
    heard: str | None = None


class LoggedStep(_Event):
    """A step of the second hearing; see `values.Step`. Places count from the stretch's first word."""

    first: int = Field(ge=0)
    last: int = Field(ge=0)
    before: tuple[str, ...]
    after: tuple[str, ...]
    score: float
    reason: str


class HeardEvent(_Event):
    """A breath group was heard, and its words are final. `withheld`: something in it was off the record."""

    event: Literal["heard"] = "heard"
    start_s: float = Field(ge=0)
    end_s: float = Field(ge=0)
    words: tuple[LoggedWord, ...] = ()
    again: tuple[LoggedStep, ...] = ()
    refused: tuple[LoggedStep, ...] = ()
    withheld: bool = False


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


Event = Began | HeardEvent | GapEvent | WrittenEvent | Ended
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
        size = self._file.seek(0, os.SEEK_END)
        if size:
            self._file.seek(size - 1)
            if self._file.read(1) != b"\n":
                self._write(b"\n")

    def __enter__(self) -> EventLog:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def append(self, event: Event) -> None:
        """Write an event. Raises OSError, ValueError where it holds what JSON or UTF-8 cannot."""
        self._write(event.model_dump_json().encode("utf-8") + b"\n")

    def close(self) -> None:
        """Give the file back. May be called twice."""
        self._file.close()

    def _write(self, data: bytes) -> None:
        with self._lock:
            left = memoryview(data)
            while left:
                left = left[self._file.write(left) or 0 :]
            os.fsync(self._file.fileno())
