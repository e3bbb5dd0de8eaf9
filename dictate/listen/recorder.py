"""The recording of a session: a WAV file that any program can read at any moment of it. EDGE.

The sound goes to the disk as it comes, and the header follows: first the samples are safe, then the header
tells of them. After a power cut it tells of less than there is, never of more.
"""

from __future__ import annotations

import contextlib
import errno
import os
import struct
from collections.abc import Iterator
from io import FileIO
from pathlib import Path
from types import TracebackType

import numpy as np
from numpy.typing import NDArray

from dictate.audio.errors import SourceError

SAMPLE_RATE = 16000
_HEADER = (
    44  # bytes: RIFF, fmt of 16 bytes, data (Multimedia Programming Interface 1.0, IBM and Microsoft, 1991)
)
_BYTES = 2  # a sample: 16 bits, mono
_MOST = 2**32 - 1 - _HEADER  # bytes of sound whose number a WAV header can hold: 37 hours
_SYNC_S = 0.1  # so often the disk is asked to keep what it got: twice that can be lost with the power


def _header(size: int) -> bytes:
    return struct.pack(
        "<4sI4s4sIHHIIHH4sI",
        b"RIFF", size + _HEADER - 8, b"WAVE", b"fmt ", 16, 1, 1,
        SAMPLE_RATE, SAMPLE_RATE * _BYTES, _BYTES, 8 * _BYTES, b"data", size,
    )  # fmt: skip


def silent(seconds: float) -> Iterator[NDArray[np.int16]]:
    """Silence where sound was lost, so that seconds stay those of the wall clock; a minute at a time."""
    left = round(seconds * SAMPLE_RATE)
    while left > 0:
        count = min(left, 60 * SAMPLE_RATE)
        yield np.zeros(count, np.int16)
        left -= count


class Recorder:
    """Writes mono sound at 16 kHz, 16 bits. One at a time for a file."""

    def __init__(self, path: Path, *, go_on: bool = False) -> None:
        """Begin a recording, or `go_on` behind what a file already holds. Raises OSError (FileExistsError for
        a recording that is there: none is ever overwritten), SourceError for a file that is none of ours."""
        self._file = path.open("r+b" if go_on else "x+b", buffering=0)
        try:
            self._size = _sound_bytes(self._file, path) if go_on else 0
            self._file.truncate(_HEADER + self._size)
            self._told = -1
            self._tell()
        except BaseException:
            self._file.close()
            raise

    def __enter__(self) -> Recorder:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    def seconds(self) -> float:
        """How much sound is in the file."""
        return self._size / _BYTES / SAMPLE_RATE

    def write(self, samples: NDArray[np.int16]) -> None:
        """Append samples, shape (n,). Raises OSError (a full disk, say): what was whole before stays whole,
        with those of these samples that found room."""
        data = memoryview(np.ascontiguousarray(samples, "<i2").tobytes())
        if self._size + len(data) > _MOST:
            raise OSError(errno.EFBIG, "The recording is as long as a WAV file can be; begin another session")
        written = 0
        try:
            self._file.seek(_HEADER + self._size)
            while written < len(data):
                written += self._file.write(data[written:]) or 0
        except OSError:
            self._size += written - written % _BYTES
            with contextlib.suppress(OSError):
                self._tell()
            raise
        self._size += len(data)
        if self._size - self._told >= _SYNC_S * SAMPLE_RATE * _BYTES:
            self._tell()

    def close(self) -> None:
        """All is on the disk, and the header tells of all. May be called twice."""
        if not self._file.closed:
            try:
                self._tell()
                os.fsync(self._file.fileno())
            finally:
                self._file.close()

    def _tell(self) -> None:
        """Make the sound safe, then let the header tell of it."""
        if self._told != self._size:
            os.fsync(self._file.fileno())
            self._file.seek(0)
            self._file.write(_header(self._size))
            self._told = self._size


class RecordedSound:
    """The samples of a recording that may still grow, read from the disk where they are asked for: a session
    of hours needs no memory. Slices give float32, -1 to 1, shape (n,)."""

    def __init__(self, path: Path) -> None:
        """Raises OSError, SourceError for a file that is no recording of a session."""
        self._file = path.open("rb", buffering=0)
        try:
            _sound_bytes(self._file, path)
        except BaseException:
            self.close()
            raise

    def close(self) -> None:
        """Give the file back. May be called twice."""
        self._file.close()

    def __len__(self) -> int:
        return max(0, os.fstat(self._file.fileno()).st_size - _HEADER) // _BYTES

    def __getitem__(self, part: slice) -> NDArray[np.float32]:
        first, last, step = part.indices(len(self))
        if step != 1:
            raise ValueError("samples are read one after the other")
        data = bytearray()
        wanted = max(0, last - first) * _BYTES
        self._file.seek(_HEADER + first * _BYTES)
        while len(data) < wanted and (more := self._file.read(wanted - len(data))):
            data.extend(more)
        samples = np.frombuffer(data, "<i2", count=len(data) // _BYTES)
        return samples.astype(np.float32) / np.float32(32768)


def _sound_bytes(file: FileIO, path: Path) -> int:
    """Bytes of sound in a file, whole samples only: what there is, not what its header tells."""
    file.seek(0)
    head = file.read(_HEADER) or b""
    ours = _header(0)
    # all but the two sizes
    if len(head) < _HEADER or (head[:4], head[8:40]) != (ours[:4], ours[8:40]):
        raise SourceError(f"{path}: is no recording of a session (16 kHz, 16 bit, mono WAV); give its folder")
    size = os.fstat(file.fileno()).st_size - _HEADER
    return size - size % _BYTES
