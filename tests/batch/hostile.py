"""A folder of 200 files that nobody would want to meet, and what should come of each.

"done": decoded (nobody speaks in them, so there is no note); "failed": told with a reason; "none": no sound
at all; "twin": the same bytes as another.
"""

from __future__ import annotations

import os
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import numpy as np
import soundfile
from numpy.typing import NDArray

Fate = Literal["done", "failed", "none", "twin"]
COUNT = 200
_RATES = (8000, 11025, 12000, 16000, 22050, 24000, 32000, 44100, 48000, 88200, 96000, 176400, 192000)


def make(folder: Path) -> dict[str, Fate]:
    """Make them; by the name below the folder what should come of each."""
    fates: dict[str, Fate] = {}
    for name, data, fate in _files():
        path = folder / os.fsdecode(name)
        path.parent.mkdir(parents=True, exist_ok=True)
        if isinstance(data, Path):
            path.symlink_to(folder / data)
        else:
            path.write_bytes(data)
        fates[os.fsdecode(name)] = fate
    assert len(fates) == COUNT
    return fates


def wav(samples: NDArray[np.float32], rate: int = 16000, subtype: str = "PCM_16") -> bytes:
    """A WAV of samples, shape (n,) or (n, channels)."""
    return _written(samples, rate, "WAV", subtype)


def _written(samples: NDArray[np.float32], rate: int, container: str, subtype: str | None = None) -> bytes:
    from io import BytesIO

    file = BytesIO()
    soundfile.write(file, samples, rate, format=container, subtype=subtype)
    return file.getvalue()


def _noise(seed: int, rate: int = 16000, *, channels: int = 1, seconds: float = 0.4) -> NDArray[np.float32]:
    """Noise that differs by its seed."""
    chance = np.random.default_rng(seed)
    noise = chance.normal(0, 0.01, (round(rate * seconds), channels)).astype(np.float32)
    return noise[:, 0] if channels == 1 else noise


def _files() -> Iterator[tuple[bytes, bytes | Path, Fate]]:
    yield from _sound()
    yield from _damaged()
    yield from _no_sound()
    yield from _odd_names()
    yield b"loop/again", Path(), "none"  # leads back to the folder itself: entered once
    yield b"loop/self.wav", Path("loop/self.wav"), "failed"
    yield b"loop/nowhere", Path("gone"), "none"
    yield b"loop/nowhere.flac", Path("gone.flac"), "failed"
    yield b"rate/link.wav", Path("rate/8000.wav"), "none"  # the same file: found once


def _sound() -> Iterator[tuple[bytes, bytes, Fate]]:
    """Such as can be decoded."""
    for seed, rate in enumerate(_RATES):
        yield b"rate/%d.wav" % rate, wav(_noise(seed, rate), rate), "done"
    for channels in range(2, 9):
        yield (
            b"channels/%d.flac" % channels,
            _written(_noise(channels, channels=channels), 16000, "FLAC"),
            "done",
        )
    yield b"channels/most.wav", wav(_noise(90, 192000, channels=8), 192000), "done"
    for n, offset in enumerate((-0.9, -0.5, 0.5, 0.9, 1.0)):
        yield b"offset/%d.wav" % n, wav(_noise(20 + n) * 0.1 + np.float32(offset)), "done"
    for n, gain in enumerate((10, 100, 1000, 1e5)):
        yield b"clipped/%d.wav" % n, wav(np.clip(_noise(30 + n) * gain, -1, 1).astype(np.float32)), "done"
    for n, seconds in enumerate((0.001, 1.0, 60.0)):
        yield (
            b"silence/%d.flac" % n,
            _written(np.zeros(round(16000 * seconds), np.float32), 16000, "FLAC"),
            "done",
        )
    for n, subtype in enumerate(
        ("PCM_U8", "PCM_24", "PCM_32", "FLOAT", "DOUBLE", "ULAW", "ALAW", "IMA_ADPCM")
    ):
        yield b"kind/%d.wav" % n, wav(_noise(40 + n), subtype=subtype), "done"
    for n, container in enumerate(("MP3", "OGG", "AIFF", "AU", "CAF", "W64", "RF64")):
        yield b"container/%d" % n, _written(_noise(60 + n), 16000, container), "done"
    for n, ending in enumerate((b"mp3", b"m4a", b"txt", b"jpg")):
        yield b"wrong/%d.%s" % (n, ending), wav(_noise(50 + n)), "done"


def _damaged() -> Iterator[tuple[bytes, bytes, Fate]]:
    """Such as cannot."""
    for n in range(20):
        yield b"cut/%02d.wav" % n, wav(_noise(100 + n, seconds=2.0))[: 60 + 2000 * n], "failed"
    flac = _written(_noise(130, seconds=5.0), 16000, "FLAC")
    for n in range(10):
        yield b"cut/%02d.flac" % n, flac[: 100 + len(flac) * n // 12], "failed"
    ogg = _written(_noise(131, seconds=5.0), 16000, "OGG")
    for n in range(10):
        yield b"cut/%02d.ogg" % n, ogg[: 100 + len(ogg) * n // 12], "failed"
    for n, ending in enumerate(
        (b"wav", b"flac", b"mp3", b"m4a", b"ogg", b"opus", b"aac", b"wma", b"amr", b"aiff")
    ):
        yield b"empty/%d.%s" % (n, ending), b"", "failed"
        yield b"text/%d.%s" % (n, ending), b"no sound, number %d\n" % n * 40, "failed"
    for n in range(8):
        chance = np.random.default_rng(200 + n).integers(0, 256, 5000, dtype=np.uint8).tobytes()
        yield b"chance/%d.wav" % n, chance, "failed"
    for n, head in enumerate((b"RIFF\xff\xff\xff\xffWAVEfmt ", b"fLaC", b"OggS", b"FORM\0\0\0\x20AIFF")):
        yield b"head/%d" % n, head + bytes(300 + n), "failed"
    numbers = np.full(4000, np.nan, np.float32)
    yield b"numbers/nan.wav", wav(numbers, subtype="FLOAT"), "failed"
    numbers = np.full(4000, 1e30, np.float32)
    yield b"numbers/huge.wav", wav(numbers, subtype="FLOAT"), "failed"
    lying = bytearray(wav(_noise(140)))
    lying[40:44] = struct.pack("<I", 2_000_000_000)
    yield b"numbers/lying.wav", bytes(lying), "failed"
    lying = bytearray(wav(_noise(141)))
    lying[22:24] = struct.pack("<H", 0)
    yield b"numbers/no channel.wav", bytes(lying), "failed"


def _no_sound() -> Iterator[tuple[bytes, bytes, Fate]]:
    """Files that belong to somebody else."""
    heads = (
        b"", b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff\xe0", b"GIF89a", b"PK\x03\x04", b"%PDF-1.7\n", b"<html>",
        b"{}", b"\x7fELF", b"MZ", b"\xca\xfe\xba\xbe", b"SQLite format 3\0", b"\x1f\x8b\x08", b"BM",
        b"RIFF\0\0\0\0WEBP",
    )  # fmt: skip
    for n, head in enumerate(heads):
        yield b"other/%02d" % n, head + b" %d" % n * bool(n), "none"
    for n in range(10):
        yield b"other/._%d.wav" % n, b"\0\x05\x16\x07\0\x02\0\0Mac OS X  " + bytes(n), "none"
    for n in range(10):
        chance = np.random.default_rng(300 + n).integers(0, 256, 3000, dtype=np.uint8)
        chance[:4] = (0xFF, 0xFB, 0x90, n)  # as a frame of MP3 begins, by chance
        yield b"other/chance %d" % n, chance.tobytes(), "none"
    yield (
        b"other/films/no sound.mp4",
        b"\0\0\0\x14ftypisom\0\0\0\0mp41",
        "failed",
    )  # nobody knows what it held


def _odd_names() -> Iterator[tuple[bytes, bytes, Fate]]:
    """Sound, under names that somebody will give it."""
    names = (
        b"two\nlines.wav", b"tab\there.wav", "🍷.wav".encode(), "👩\u200d🌾 🍇.wav".encode(), b"caf\xe9.wav",
        b"caf\xe8.wav", b"\xff\xfe\xfd.wav", b" .wav", b"..wav", b"...wav", b"-rf.wav", b"--to.wav",
        b"a'b.wav", b'a"b.wav', b"a\\b.wav", b"$(true).wav", b"`true`.wav", b"[red]bold[/red].wav",
        b"<script>alert(1)<.wav", b"&amp;.wav", b"%s%n.wav",
        b"CON.wav", b"NUL", "\u202egnp.wav".encode(), b"\x1b[31mred.wav", b"\x7f.wav", b"x" * 251 + b".wav",
        b"\n" * 200 + b".wav", "é".encode() * 120 + b".wav",
    )  # fmt: skip
    for n, name in enumerate(names):
        yield b"names/" + name, wav(_noise(400 + n)), "done"
    yield b"names/zz twin.wav", wav(_noise(400)), "twin"
    yield b"names/deep/" + b"d/" * 60 + b"a.wav", wav(_noise(450)), "done"
