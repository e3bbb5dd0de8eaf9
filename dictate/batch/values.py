"""What goes to workers and comes back: frozen, and such that it can be pickled."""

from __future__ import annotations

from dataclasses import dataclass
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
    """How much of a recording is heard, 0 to 1."""

    number: int
    share: float


Answer = Made | Failed
