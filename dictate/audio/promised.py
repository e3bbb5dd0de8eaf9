"""How long a file says it is, to tell a recording that was cut short from a short one. EDGE."""

from __future__ import annotations

import math
from pathlib import Path

from av.container import InputContainer

_STREAMED = (0, 0xFFFFFFFF)  # what a WAV writer leaves in the size that it could not go back to
_OGG_END = 4  # bit of a page's header type: last page of the stream (RFC 3533, section 6)


def promised_seconds(path: Path, container: InputContainer) -> float | None:
    """The duration that the header states; None when it states none; inf when only the end is missing.

    WAV: the size of the data chunk. FLAC, MP4, WebM, Ogg and MP3 with a Xing or Info frame: what
    the demuxer reports. MP3 without: None (the demuxer guesses it from the size of the file), inf
    when its last frame is not whole. Ogg: inf when its last page is not the stream's last.
    """
    with path.open("rb") as file:
        head = file.read(1 << 16)
    if head[:4] in (b"RIFF", b"RF64") and head[8:12] == b"WAVE":
        return _wav_seconds(head)
    if head[:4] == b"OggS" and not _ogg_ends(path):
        return math.inf
    if container.format.name == "mp3" and not any(tag in head for tag in (b"Xing", b"Info", b"VBRI")):
        return None if _mp3_ends(path) else math.inf
    stream = container.streams.audio[0]
    if stream.duration is not None and stream.time_base is not None:
        return float(stream.duration * stream.time_base)
    return None if container.duration is None else container.duration / 1_000_000


def index_is_missing(path: Path) -> bool:
    """Whether this is an MP4 or M4A file without its `moov` box: the recorder never closed it."""
    size = path.stat().st_size
    with path.open("rb") as file:
        if file.read(8)[4:] != b"ftyp":
            return False
        place = 0
        while place + 8 <= size:
            file.seek(place)
            head = file.read(16)
            length = int.from_bytes(head[:4], "big")
            if head[4:8] == b"moov":
                return place + length > size
            length = int.from_bytes(head[8:16], "big") if length == 1 else length
            if length < 8:
                break
            place += length
    return True


def _wav_seconds(head: bytes) -> float | None:
    """Data bytes / bytes a second, from the `fmt ` and `data` chunks (RIFF 1991)."""
    place, rate = 12, 0
    while place + 8 <= len(head):
        name, size = head[place : place + 4], int.from_bytes(head[place + 4 : place + 8], "little")
        if name == b"fmt ":
            rate = int.from_bytes(head[place + 16 : place + 20], "little")
        if name == b"data":
            return None if size in _STREAMED or not rate else size / rate
        place += 8 + size + size % 2
    return None


def _ogg_ends(path: Path) -> bool:
    """Whether the last whole page of the file carries the end-of-stream bit."""
    size = path.stat().st_size
    with path.open("rb") as file:
        file.seek(max(0, size - (1 << 17)))  # a page has at most 65,307 bytes
        tail = file.read()
    last = tail.rfind(b"OggS")
    if last < 0 or len(tail) < last + 27:
        return False
    segments = tail[last + 26]
    body = sum(tail[last + 27 : last + 27 + segments])
    return bool(tail[last + 5] & _OGG_END) and len(tail) >= last + 27 + segments + body


_MP3_KBITS = {  # ISO/IEC 11172-3 and 13818-3, layer III: MPEG 1, MPEG 2 and 2.5
    True: (0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320, 0),
    False: (0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160, 0),
}
_MP3_RATES = {3: (44100, 48000, 32000), 2: (22050, 24000, 16000), 0: (11025, 12000, 8000)}


def _mp3_frame(head: bytes) -> int:
    """Bytes of the layer III frame that begins with this header; 0 when it is none."""
    if len(head) < 4 or head[0] != 0xFF or head[1] & 0xE6 != 0xE2:
        return 0
    version, rate_index = head[1] >> 3 & 3, head[2] >> 2 & 3
    kbits = _MP3_KBITS[version == 3][head[2] >> 4]
    if version not in _MP3_RATES or rate_index == 3 or not kbits:
        return 0
    return (144 if version == 3 else 72) * kbits * 1000 // _MP3_RATES[version][rate_index] + (
        head[2] >> 1 & 1
    )


def _mp3_ends(path: Path) -> bool:
    """Whether the frames run up to the end of the file (or to a tag behind them) without a rest."""
    size = path.stat().st_size
    with path.open("rb") as file:
        file.seek(max(0, size - 16384))
        tail = file.read()
    for start in range(len(tail) - 4):
        place, frames = start, 0
        while (length := _mp3_frame(tail[place : place + 4])) > 0:
            place, frames = place + length, frames + 1
        if frames >= 3:  # a chance sync word does not lead on to two others
            return place <= len(tail)
    return True
