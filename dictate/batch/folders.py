"""What lies below folders: recordings by how they begin, timed transcripts by their ending. EDGE."""

from __future__ import annotations

import hashlib
import os
import re
import stat
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from dictate.recognise.typed import is_transcript

# A film may have no sound track; a guess is a frame's sync word alone, which chance makes too: where such
# a file cannot be decoded, it is taken for no sound. All else that cannot be decoded is a failure.
Kind = Literal["sound", "film", "guess", "transcript"]

_HEAD = 4096  # bytes that are looked at
_SOUND_ENDINGS = frozenset(
    ".aac .ac3 .aif .aifc .aiff .amr .ape .au .caf .dsf .flac .m4a .m4b .mka .mp2 .mp3 .oga .ogg .opus .ra"
    " .snd .tta .voc .w64 .wav .wave .wma .wv".split()
)
# where a file's first bytes stand in its format's specification or, of the older ones, in libmagic's tables
_SOUND = re.compile(
    rb"RIFF....WAVE|RF64....WAVE|BW64....WAVE|riff\x2e\x91\xcf\x11|fLaC|OggS|ID3|FORM....AIF[FC]|caff\0\x01"
    rb"|\.snd\0|#!AMR|wvpk|MAC |TTA[12]|DSD |Creative Voice File|....ftypM4[AB] |\.ra\xfd",
    re.DOTALL,
)
_FILM = re.compile(
    rb"....ftyp|....(?:moov|mdat|wide|free)|\x1a\x45\xdf\xa3|RIFF....AVI |FLV\x01|\0\0\x01\xba|\.RMF"
    rb"|\x30\x26\xb2\x75\x8e\x66\xcf\x11|(?:\x47.{187}){3}\x47",
    re.DOTALL,
)
_GUESS = re.compile(
    rb"\xff[\xe2\xe3\xf2-\xf5\xfa-\xfd][^\xf0-\xff]|\xff[\xf0\xf1\xf8\xf9]|\x0b\x77", re.DOTALL
)
_BESIDE = b"\0\x05\x16\x07"  # AppleDouble: what a Mac keeps beside a file on a foreign disk
_JOINER = "\u200d"  # of emoji
_LONGEST = 200  # bytes of a folder's name that had to be changed


@dataclass(frozen=True, slots=True)
class Source:
    """A file to make notes of. `path` is absolute; `place`: the folder below --to that its notes go into."""

    path: Path
    place: Path
    size: int  # bytes
    kind: Kind


@dataclass(frozen=True, slots=True)
class Unusable:
    """What was found and cannot be used, with the reason in one line."""

    path: Path
    reason: str


@dataclass(frozen=True, slots=True)
class Searched:
    """What lies below folders, in the order of their names; `others` are files that are no sound."""

    sources: tuple[Source, ...]
    unusable: tuple[Unusable, ...]
    others: int


def search(folders: Sequence[Path], *, without: Path | None = None) -> Searched:
    """Every recording and transcript below the folders (or that is named itself), each once.

    Links are followed, each folder is entered once: a loop ends. `without`: a folder that is left out.
    Pipes and devices are never opened. Raises OSError where one of the folders is not there.
    """
    looked = _Looked(_identity(without) if without is not None else None)
    for folder, name in zip(folders, _names(folders), strict=True):
        looked.below(Path(os.path.abspath(folder)), Path(name))  # noqa: PTH100  # a link stays a link
    return Searched(tuple(looked.sources), tuple(looked.unusable), looked.others)


class _Looked:
    """What has been found so far."""

    def __init__(self, without: tuple[int, int] | None) -> None:
        self.sources: list[Source] = []
        self.unusable: list[Unusable] = []
        self.others = 0
        self._seen = set() if without is None else {without}
        self._files: set[str] = set()  # by where they really lie

    def below(self, path: Path, place: Path) -> None:
        """Look at one file, or at all that is in a folder. Raises OSError where it is not there."""
        state = path.stat()
        if not stat.S_ISDIR(state.st_mode):
            return self._file(path, place, state)
        self._seen.discard((state.st_dev, state.st_ino))  # named itself, it is not left out
        left = [(path, place)]
        while left:
            folder, place = left.pop()
            inner = list(self._inside(folder, place))
            left.extend(reversed(inner))
        return None

    def _inside(self, folder: Path, place: Path) -> Iterator[tuple[Path, Path]]:
        """The folders in a folder; its files are looked at."""
        try:
            state = folder.stat()
            if (state.st_dev, state.st_ino) in self._seen:
                return
            self._seen.add((state.st_dev, state.st_ino))
            paths = sorted(folder.iterdir(), key=os.fsencode)
        except OSError as error:
            self._cannot(folder, error)
            return
        for path in paths:
            inner = place / _safe(path.name)
            try:
                state = path.stat()
            except OSError as error:
                if path.suffix.lower() in _SOUND_ENDINGS or is_transcript(path):
                    self._cannot(path, error)
                else:
                    self.others += 1  # a link that leads nowhere
                continue
            if stat.S_ISDIR(state.st_mode):
                yield path, inner
            else:
                self._file(path, inner, state)

    def _file(self, path: Path, place: Path, state: os.stat_result) -> None:
        real = os.path.realpath(path)
        if real in self._files:
            return
        self._files.add(real)
        if not stat.S_ISREG(state.st_mode):
            self.others += 1
            return
        try:
            with path.open("rb") as file:
                kind = _kind(path, file.read(_HEAD))
        except OSError as error:
            self._cannot(path, error)
            return
        if kind is None:
            self.others += 1
        elif state.st_size == 0:
            self.unusable.append(Unusable(path, "is empty; record again or give another file"))
        else:
            self.sources.append(Source(path, place, state.st_size, kind))

    def _cannot(self, path: Path, error: OSError) -> None:
        if isinstance(error, PermissionError):
            reason = "may not be read; change its permissions"
        else:
            reason = f"cannot be read ({error.strerror or type(error).__name__}); check where it leads"
        self.unusable.append(Unusable(path, reason))


def _kind(path: Path, head: bytes) -> Kind | None:
    """What a file is by its first bytes; a name counts where these are not known."""
    if head.startswith(_BESIDE):
        return None
    if is_transcript(path):
        return "transcript"
    if path.suffix.lower() in _SOUND_ENDINGS or _SOUND.match(head):
        return "sound"
    if _FILM.match(head):
        return "film"
    return "guess" if _GUESS.match(head) else None


def _identity(path: Path) -> tuple[int, int] | None:
    try:
        state = path.stat()
    except OSError:
        return None
    return state.st_dev, state.st_ino


def _names(folders: Sequence[Path]) -> list[str]:
    """The folder below --to for each folder that is named: its own name, with a number where two share it."""
    names: list[str] = []
    for folder in folders:
        name = base = _safe(Path(os.path.abspath(folder)).name)  # noqa: PTH100
        number = 1
        while name in names:
            number += 1
            name = f"{base}-{number}"
        names.append(name)
    return names


def _safe(name: str) -> str:
    """A name that shows as it is: control characters and bytes that are no text become "_", and what tells
    it from others that look alike then stands behind it."""
    kept = "".join(c if c == _JOINER or unicodedata.category(c) not in _ODD else "_" for c in name)
    if kept == name:
        return name
    while len(kept.encode()) > _LONGEST:
        kept = kept[:-1]
    return f"{kept}-{hashlib.sha256(os.fsencode(name)).hexdigest()[:6]}"


_ODD = ("Cc", "Cf", "Cs", "Zl", "Zp")
