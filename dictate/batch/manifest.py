"""What a batch has done, a line each in a file that only grows: the same command goes on from it. EDGE.

A line is written when all that it tells of is on the disk. What the last run left half written is no line.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Final, Self

NAME: Final = "batch.jsonl"
_HEAD: Final = {"manifest": "dictate batch", "format": 1}


@dataclass(frozen=True, slots=True)
class Making:
    """All that notes depend on beside the recording. `own`: a hash of the taster's own words and habits;
    `salvage`: of damaged recordings what there was was taken."""

    program: str
    model: str  # "whisper-base+tiny.en int8 1a2b3c4d5e6f" with a hash of the weights, or "transcript"
    lexicon: str
    own: str
    salvage: bool = False

    def serves(self, asked: Making) -> bool:
        """Whether notes made so are what making them as asked would give."""
        mine = (self.program, self.model, self.lexicon, self.own)
        theirs = (asked.program, asked.model, asked.lexicon, asked.own)
        return mine == theirs and (asked.salvage or not self.salvage)


@dataclass(frozen=True, slots=True)
class Doubtful:
    """A value of a note that may be wrong: its path, the chance that it is right (0 to 1), the reason."""

    field: str
    right: float
    reason: str


@dataclass(frozen=True, slots=True)
class NoteMade:
    """A note and its JSON file, a path below the manifest's folder."""

    id: str
    title: str
    file: str
    doubtful: tuple[Doubtful, ...] = ()


@dataclass(frozen=True, slots=True)
class Repaired:
    """What was heard, what was put in its place, and how often."""

    heard: str
    written: str
    times: int


@dataclass(frozen=True, slots=True)
class Line:
    """What came of one recording. `reason`: why there are no notes of it, one line, "" where it was done;
    `library`: the file of the library that has the notes, "" for none; `sha256` is "" where the recording
    could not be read."""

    sha256: str
    source: str
    making: Making
    reason: str = ""
    notes: tuple[NoteMade, ...] = ()
    sound_s: float = 0.0
    took_s: float = 0.0
    repaired: tuple[Repaired, ...] = ()
    library: str = ""


class Manifest:
    """The lines of a folder, the newest of each recording; a context manager. One at a time has it."""

    def __init__(self, folder: Path) -> None:
        """Read what is there, and open it to go on. Raises OSError."""
        path = folder / NAME
        self._lines = {line.sha256: line for line in _read(path) if line.sha256}
        self._file = path.open("ab")
        if self._file.tell() == 0:
            self._write(_HEAD)
        elif not _ends_whole(path):
            self._file.write(b"\n")  # what was torn off stays apart from what comes

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._file.close()

    def of(self, sha256: str) -> Line | None:
        """What came of a recording the last time."""
        return self._lines.get(sha256)

    def add(self, line: Line) -> None:
        """Write a line; when this returns, it is on the disk. Raises OSError."""
        self._write(asdict(line))
        if line.sha256:
            self._lines[line.sha256] = line

    def _write(self, document: dict[str, Any]) -> None:
        self._file.write(json.dumps(document).encode("ascii") + b"\n")
        self._file.flush()
        os.fsync(self._file.fileno())


def _ends_whole(path: Path) -> bool:
    with path.open("rb") as file:
        file.seek(-1, os.SEEK_END)
        return file.read(1) == b"\n"


def _read(path: Path) -> Iterator[Line]:
    """The whole lines of a manifest, in order. Raises OSError."""
    try:
        file = path.open("rb")
    except FileNotFoundError:
        return
    with file:
        for raw in file:
            try:
                document = json.loads(raw)
                if document != _HEAD:
                    yield _line(document)
            except (ValueError, TypeError, KeyError):
                continue  # torn, or of a program to come: that recording is done again


def _line(document: dict[str, Any]) -> Line:
    notes = tuple(
        NoteMade(**{**note, "doubtful": tuple(Doubtful(**d) for d in note["doubtful"])})
        for note in document["notes"]
    )
    repaired = tuple(Repaired(**r) for r in document["repaired"])
    making = Making(**document["making"])
    return Line(**{**document, "making": making, "notes": notes, "repaired": repaired})
