"""What goes to workers and comes back: frozen, and such that it can be pickled.

A recording is opened (decoded, cut into breath groups); a short one is heard and its notes are made at once,
a long one is shared out in spans of breath groups that many workers hear, and closed: what was heard in all
spans is judged in order and becomes notes.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from dictate.batch.folders import Kind
from dictate.note import Note


@dataclass(frozen=True, slots=True)
class Job:
    """A recording or transcript to make notes of. `path` is absolute, and stands in the notes; `sha256` is
    that of its bytes when it was given."""

    number: int
    path: Path
    kind: Kind
    sha256: str


@dataclass(frozen=True, slots=True)
class Open:
    """Make the notes, or say how a long recording can be shared, where `may_share`."""

    job: Job
    may_share: bool


@dataclass(frozen=True, slots=True)
class Hear:
    """Hear one span: breath groups as (start, end), seconds in the recording. `sha256` is that of what was
    opened."""

    job: Job
    sha256: str
    span: int
    stretches: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Close:
    """Make notes of what was heard in all spans, in order; `took_s`: what that took, seconds of work."""

    job: Job
    sha256: str
    parts: tuple[bytes, ...] = field(repr=False)  # `Part.heard`
    took_s: float


Task = Open | Hear | Close


@dataclass(frozen=True, slots=True)
class Shared:
    """A long recording in spans."""

    number: int
    sha256: str
    spans: tuple[tuple[tuple[float, float], ...], ...]
    took_s: float


@dataclass(frozen=True, slots=True)
class Part:
    """What was heard in a span, as only a worker understands it: it may hold words said off the record."""

    number: int
    span: int
    heard: bytes = field(repr=False)
    took_s: float


@dataclass(frozen=True, slots=True)
class Made:
    """The notes of a recording, none where nobody spoke. `sha256`: of the bytes that were heard; `year` of
    the tasting, where it is known; `sound_s`: seconds of sound; `took_s`: seconds of work."""

    number: int
    sha256: str
    notes: tuple[Note, ...]
    year: int | None
    sound_s: float
    took_s: float


@dataclass(frozen=True, slots=True)
class Failed:
    """Why there are no notes, one line; `is_none`: it is no sound at all."""

    number: int
    reason: str
    is_none: bool = False


@dataclass(frozen=True, slots=True)
class Share:
    """How much of a recording, or of one of its spans, is heard, 0 to 1."""

    number: int
    share: float
    span: int | None = None


Answer = Made | Failed
Reply = Shared | Part | Answer  # to a task
Message = Share | Answer
