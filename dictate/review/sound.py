"""The sound of a note: its recording decoded once, played in parts, drawn from peaks. EDGE.

Only peaks are kept on the disk, by the recording's SHA-256; the sound itself never is, since what was said
off the record may be in no file but the recording.
"""

from __future__ import annotations

import asyncio
import struct
from collections import OrderedDict
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
import platformdirs
from numpy.typing import NDArray

from dictate.audio.errors import SourceError
from dictate.files import write_together

RATE: Final = 16000
PEAKS_A_SECOND: Final = 200  # a peak each 5 ms: the hop at which onsets are looked for
_KEPT: Final = 2  # decoded recordings; an hour takes 115 MB
_MARK: Final = b"dictate peaks 1\n"
_HEAD: Final = 44


@dataclass(frozen=True, slots=True)
class Decoded:
    """A recording in memory: mono, 16 kHz, 16 bit, and its peaks."""

    samples: NDArray[np.int16]
    peaks: bytes


@dataclass(frozen=True, slots=True)
class Wave:
    """A part of a recording as a WAV file that is nowhere whole: `tag` is its entity tag."""

    samples: NDArray[np.int16]
    tag: str

    @property
    def size(self) -> int:
        """Bytes."""
        return _HEAD + 2 * len(self.samples)

    def part(self, first: int, last: int) -> bytes:
        """Bytes [first, last)."""
        head = wav_head(len(self.samples))[first:last]
        low, high = max(0, first - _HEAD), max(0, last - _HEAD)
        body = self.samples[low // 2 : (high + 1) // 2].astype("<i2").tobytes()
        return head + body[low % 2 : low % 2 + high - low]


class Sounds:
    """The recordings of a library; each is decoded once, in a thread of its own, whoever asks."""

    def __init__(self, cache: Path | None = None) -> None:
        self._cache = cache or Path(platformdirs.user_cache_dir("dictate", appauthor=False)) / "peaks"
        self._kept: OrderedDict[str, asyncio.Future[Decoded]] = OrderedDict()

    async def wave(self, path: Path, sha256: str, *, part: tuple[float, float]) -> Wave:
        """The sound of a part (seconds). Raises SourceError where the recording is not what it was."""
        decoded = await self._decoded(path, sha256)
        first, last = (round(s * RATE) for s in part)
        return Wave(decoded.samples[first:last], f'"{sha256[:32]}-{first}-{last}"')

    async def peaks(self, path: Path, sha256: str, *, part: tuple[float, float]) -> bytes:
        """The loudest of each 5 ms of a part, 0 to 255 of full scale, a byte each. Raises as `wave`."""
        found = await asyncio.to_thread(_read, self._cache / f"{sha256}.peaks")
        if found is None:
            found = (await self._decoded(path, sha256)).peaks
        first, last = (round(s * PEAKS_A_SECOND) for s in part)
        return found[first:last]

    async def samples(self, path: Path, sha256: str) -> NDArray[np.int16]:
        """The whole recording. Raises as `wave`."""
        return (await self._decoded(path, sha256)).samples

    async def _decoded(self, path: Path, sha256: str) -> Decoded:
        if sha256 not in self._kept:
            target = self._cache / f"{sha256}.peaks"
            self._kept[sha256] = asyncio.ensure_future(asyncio.to_thread(_decode, path, sha256, target))
            while len(self._kept) > _KEPT:
                self._kept.popitem(last=False)
        self._kept.move_to_end(sha256)
        asked = self._kept[sha256]
        try:
            return await asyncio.shield(asked)
        except SourceError:
            if self._kept.get(sha256) is asked:  # it may be there again later
                del self._kept[sha256]
            raise


def _decode(path: Path, sha256: str, target: Path) -> Decoded:
    from dictate.audio.recording import load_recording  # PyAV takes its time to import

    sound = load_recording(path, salvage=True)
    if sound.sha256 != sha256:
        raise SourceError(
            f"{path}: is another recording than the note was made from; put the right one there"
        )
    loudest = np.float32(32767)
    samples = np.clip(sound.samples * loudest, -loudest, loudest).astype(np.int16)
    peaks = peaks_of(samples)
    _write(target, peaks)
    return Decoded(samples, peaks)


def peaks_of(samples: NDArray[np.int16]) -> bytes:
    """The loudest of each 5 ms of mono sound, shape (n,) at 16 kHz, 0 to 255 of full scale, a byte each."""
    hop = RATE // PEAKS_A_SECOND
    whole = np.pad(samples, (0, -len(samples) % hop)).reshape(-1, hop)
    loudest = np.maximum(
        whole.max(axis=1, initial=0).astype(np.int32), -whole.min(axis=1, initial=0).astype(np.int32)
    )
    made: bytes = np.minimum((loudest * 255 + 16383) // 32767, 255).astype(np.uint8).tobytes()
    return made


def wav_head(count: int) -> bytes:
    """The header of a WAV file of so many samples, mono, 16 kHz, 16 bit (RIFF, format 1)."""
    size = 2 * count
    return struct.pack(
        "<4sI4s4sIHHIIHH4sI",
        b"RIFF", min(36 + size, 2**32 - 1), b"WAVE", b"fmt ", 16, 1, 1, RATE, 2 * RATE, 2, 16, b"data",
        min(size, 2**32 - 1),
    )  # fmt: skip


def _read(path: Path) -> bytes | None:
    """Peaks from the disk, None where there are none."""
    try:
        found = path.read_bytes()
    except OSError:
        return None
    return found[len(_MARK) :] if found.startswith(_MARK) else None


def _write(path: Path, peaks: bytes) -> None:
    """Where it cannot be kept, it is made anew next time."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_together({path: _MARK + peaks}, path.parent)
    except OSError:
        return
