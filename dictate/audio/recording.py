"""Reads a recording: whatever PyAV decodes becomes 16 kHz mono float32. EDGE: opens files."""

from __future__ import annotations

import hashlib
import math
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import av
import av.error
import numpy as np
from av.audio.frame import AudioFrame
from av.container import InputContainer
from numpy.typing import NDArray

from dictate.audio.errors import NoSoundError, SourceError
from dictate.audio.kept import BLOCK, KeptSamples, Samples
from dictate.audio.promised import index_is_missing, promised_seconds

SAMPLE_RATE = 16000
# A coder's own delay and padding make up to 0.1 s (MP3: 1105 samples, AAC: 2112); 2 % is
# the error of a duration that the container estimates from its bit rate.
_SLACK_S = 0.1
_SLACK_SHARE = 0.02
_SALVAGE = "read what there is with --salvage"
_LOUDEST = 1e5  # float samples beyond are no sound (full scale is 1, 16-bit integers as floats 32768)
# PyAV counts the planes of a frame beyond what is there where a sample of each of 8 channels or more has one
# to itself, and reads what is no memory of its own: such are asked for side by side.
_PLANES = 7


@dataclass(frozen=True, slots=True)
class Recording:
    """A recording that is decoded. `samples`: shape (n,), float32, mono, 16 kHz, without DC offset; of a long
    one they are a file's that has no name, mapped into memory."""

    samples: Samples = field(repr=False, compare=False)
    sample_rate: int
    sha256: str  # of the file's bytes
    duration_s: float
    path: Path


def load_recording(path: Path, *, salvage: bool = False) -> Recording:
    """Decode a sound file of any rate and number of channels (the mean of the channels is kept).

    `salvage` gives what can be decoded of a file that is cut short or damaged; without it such
    a file is refused, since what was said in the missing part would be lost unnoticed.
    Raises SourceError: no such file, a folder, no permission, empty, no sound in it (NoSoundError), cut
    short, damaged, no sample, samples that are no numbers.
    """
    path = Path(path)
    digest = _hash_file(path)
    kept = KeptSamples()
    damage: str | None = None
    try:
        with av.open(str(path), mode="r", metadata_errors="replace") as container:
            if not container.streams.audio:
                raise NoSoundError(f"{path}: has no sound in it; give a recording")
            promised = promised_seconds(path, container)
            for block in _decode(container):
                if len(block) == 0:
                    damage = damage or f"at {kept.count / SAMPLE_RATE:.1f} s"
                _keep(kept, block, path)
    except (av.error.FFmpegError, ValueError, RuntimeError, OSError) as error:
        if isinstance(error, SourceError):
            raise
        if index_is_missing(path):
            raise SourceError(
                f"{path}: is cut short (its index is missing); copy it again from the recorder"
            ) from error
        raise SourceError(
            f"{path}: cannot be decoded as sound ({_reason(error)}); give WAV, FLAC, MP3, M4A, Ogg or WebM"
        ) from error
    samples = kept.whole()
    _check(path, samples, promised=promised, damage=damage, salvage=salvage)
    offset = np.float32(samples.mean(dtype=np.float64))
    for start in range(0, len(samples), BLOCK):
        samples[start : start + BLOCK] -= offset
    return Recording(samples, SAMPLE_RATE, digest, len(samples) / SAMPLE_RATE, path)


def _hash_file(path: Path) -> str:
    """The SHA-256 of the bytes, or the reason why they cannot be read."""
    try:
        if path.is_dir():
            raise SourceError(f"{path}: is a folder; give a sound file")
        if not path.exists():
            raise SourceError(f"{path}: no such file; check the name")
        if not path.is_file():
            raise SourceError(f"{path}: is no ordinary file; give a sound file")
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
            if file.tell() == 0:
                raise SourceError(f"{path}: is empty; record again or give another file")
    except PermissionError as error:
        raise SourceError(f"{path}: may not be read; change its permissions") from error
    except (OSError, ValueError) as error:
        if isinstance(error, SourceError):
            raise
        raise SourceError(f"{path!s}: cannot be read ({_reason(error)}); check the name") from error
    return digest


def _decode(container: InputContainer) -> Iterator[Samples]:
    """Mono blocks at 16 kHz; an empty block stands for a packet that would not decode."""
    stream = container.streams.audio[0]
    channels = stream.codec_context.channels
    resampler = av.AudioResampler(format="fltp" if channels <= _PLANES else "flt", rate=SAMPLE_RATE)
    packets = container.demux(stream)
    decoded = False
    while True:
        try:
            packet = next(packets, None)
        except av.error.FFmpegError:
            if not decoded:
                raise
            yield np.zeros(0, np.float32)
            packet = None
        if packet is None:
            break
        try:
            frames = [f for f in packet.decode() if isinstance(f, AudioFrame)]
        except av.error.FFmpegError:
            yield np.zeros(0, np.float32)
            continue
        for frame in frames:
            decoded = True
            yield from _mono(resampler.resample(frame))
    if decoded:
        yield from _mono(resampler.resample(None))


def _mono(frames: list[AudioFrame]) -> Iterator[Samples]:
    for frame in frames:
        if frame.samples:
            # shape (channels, n), or (1, n * channels) where they are side by side
            planes: NDArray[Any] = frame.to_ndarray()
            if not frame.format.is_planar:
                planes = np.ascontiguousarray(planes.reshape(frame.samples, -1).T)
            yield planes.mean(axis=0, dtype=np.float32)


def _keep(kept: KeptSamples, block: Samples, path: Path) -> None:
    try:
        kept.put(block)
    except OSError as error:
        place = tempfile.gettempdir()
        raise SourceError(
            f"{path}: no room for its sound in {place} ({_reason(error)}); make room, or set TMPDIR"
        ) from error


def _reason(error: Exception) -> str:
    text = getattr(error, "strerror", None) or str(error) or type(error).__name__
    return " ".join(str(text).split())


def _check(
    path: Path, samples: Samples, *, promised: float | None, damage: str | None, salvage: bool
) -> None:
    """Refuse what would lose speech or cannot be worked on."""
    if not len(samples):
        raise SourceError(f"{path}: holds no sound; record again or give another file")
    blocks = (samples[start : start + BLOCK] for start in range(0, len(samples), BLOCK))
    if not all(np.isfinite(block).all() and np.abs(block).max() <= _LOUDEST for block in blocks):
        raise SourceError(f"{path}: holds samples that are no numbers; export it again as 16-bit WAV or FLAC")
    if salvage:
        return
    got = len(samples) / SAMPLE_RATE
    if promised == math.inf:
        raise SourceError(f"{path}: is cut short: breaks off after {got:.1f} s; copy it again, or {_SALVAGE}")
    if promised is not None and promised - got > max(_SLACK_S, _SLACK_SHARE * promised):
        raise SourceError(
            f"{path}: is cut short: {got:.1f} s of {promised:.1f} s; copy it again, or {_SALVAGE}"
        )
    if damage:
        raise SourceError(f"{path}: is damaged {damage} of {got:.1f} s; copy it again, or {_SALVAGE}")
