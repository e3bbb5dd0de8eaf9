"""A timed transcript as words: `.vtt` (W3C WebVTT) and `.srt`. EDGE: opens files."""

from __future__ import annotations

import html
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from dictate.audio.errors import SourceError
from dictate.values import Heard, Word

# WebVTT 4.3: hours are optional and of two digits or more (here six at most), minutes and seconds below 60.
_VTT_TIME = re.compile(r"(?:(\d{2,6}):)?([0-5]\d):([0-5]\d)\.(\d{3})")
_SRT_TIME = re.compile(r"(?:(\d{1,3}):)?([0-5]?\d):([0-5]?\d)[,.](\d{1,3})")
_INLINE_TIME = re.compile(r"<(?:\d{2,}:)?[0-5]\d:[0-5]\d\.\d{3}>")
_TAG = re.compile(r"</?[A-Za-z][^<>]*>|</>|\{\\[^{}]*\}")
_MAX_CUES = 200_000

TRANSCRIPTS = (".vtt", ".srt")  # by the ending alone: a transcript is text


@dataclass(frozen=True, slots=True)
class _Spoken:
    """A cue of the transcript: its times in seconds and its text without tags."""

    start_s: float
    end_s: float
    text: str


def is_transcript(path: Path) -> bool:
    """Whether a file is a transcript, in which nothing can be heard."""
    return path.suffix.lower() in TRANSCRIPTS


def read_transcript(path: Path) -> Heard:
    """Words of a timed transcript; each of its cues is one utterance (breath group).

    A cue's time is shared among its words by their letters. Words are in order of time.
    Raises SourceError with file and line: no such file, not UTF-8, no WEBVTT header, a time that
    cannot be read, an end before its start. A transcript in which nobody speaks is no error: no words.
    """
    path = Path(path)
    lines = _read_lines(path)
    cues = _vtt_cues(path, lines) if path.suffix.lower() == ".vtt" else _srt_cues(path, lines)
    spoken = sorted((c for c in cues if c.text), key=lambda c: c.start_s)
    words = tuple(word for index, cue in enumerate(spoken) for word in _spread(cue, index))
    return Heard(words, max((c.end_s for c in spoken), default=0.0), "transcript")


def _read_lines(path: Path) -> list[str]:
    if not is_transcript(path):
        raise SourceError(f"{path}: is no timed transcript; give a .vtt or .srt file")
    try:
        raw = path.read_bytes()
    except PermissionError as error:
        raise SourceError(f"{path}: may not be read; change its permissions") from error
    except IsADirectoryError as error:
        raise SourceError(f"{path}: is a folder; give a .vtt or .srt file") from error
    except (FileNotFoundError, ValueError) as error:
        raise SourceError(f"{path!s}: no such file; check the name") from error
    except OSError as error:
        raise SourceError(f"{path}: cannot be read ({error.strerror}); check the name") from error
    if not raw.strip():
        raise SourceError(f"{path}: is empty; give a transcript with timed cues")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise SourceError(f"{path}:{line}: is not UTF-8; save the transcript as UTF-8") from error
    return re.split(r"\r\n|\n|\r", text.replace("\0", "�"))


def _vtt_cues(path: Path, lines: Sequence[str]) -> list[_Spoken]:
    """Cues by the blocks of WebVTT, section 4.1; NOTE, STYLE, REGION and ATTRIBUTES blocks say nothing."""
    if not re.fullmatch(r"WEBVTT(?:[ \t].*)?", lines[0]):
        raise SourceError(f"{path}:1: does not begin with WEBVTT; put that line first, or name it .srt")
    cues: list[_Spoken] = []
    place = 1
    while place < len(lines) and lines[place] and "-->" not in lines[place]:
        place += 1  # the rest of the header
    while place < len(lines):
        first = place
        while place < len(lines) and lines[place].strip("\t "):
            if "-->" in lines[place] and place > first + 1:
                break  # a cue's text cannot hold an arrow: a new cue begins (parser, step "collect a block")
            place += 1
        block = lines[first:place]
        timing = next((n for n, line in enumerate(block[:2]) if "-->" in line), None)
        if timing is not None:
            start_s, end_s = _times(path, first + timing + 1, block[timing], _VTT_TIME)
            cues.append(_Spoken(start_s, end_s, _plain(block[timing + 1 :])))
        elif block and not re.match(r"(?:NOTE|STYLE|REGION|ATTRIBUTES)(?:[ \t]|$)", block[0]):
            raise SourceError(f"{path}:{first + 1}: has text without times; put 'start --> end' before it")
        if place == first or not (place < len(lines) and "-->" in lines[place]):
            place += 1
        if len(cues) > _MAX_CUES:
            raise SourceError(f"{path}: has more than {_MAX_CUES} cues; split it")
    return cues


def _srt_cues(path: Path, lines: Sequence[str]) -> list[_Spoken]:
    """Cues of SubRip: a number, 'start --> end', lines of text, a blank line."""
    cues: list[_Spoken] = []
    starts = [n for n, line in enumerate(lines) if "-->" in line]
    before = lines[: starts[0]] if starts else lines
    strange = next((n for n, line in enumerate(before) if line.strip() and not line.strip().isdigit()), None)
    if strange is not None:
        raise SourceError(f"{path}:{strange + 1}: has text without times; put 'start --> end' before it")
    for start, following in pairwise([*starts, len(lines)]):
        start_s, end_s = _times(path, start + 1, lines[start], _SRT_TIME)
        body = list(lines[start + 1 : following])
        while body and not body[-1].strip():
            body.pop()
        if following < len(lines) and body and body[-1].strip().isdigit():
            gap = len(body) == 1 or not body[-2].strip()
            body = body[:-1] if gap else body
        cues.append(_Spoken(start_s, end_s, _plain(body)))
    return cues


def _times(path: Path, number: int, line: str, pattern: re.Pattern[str]) -> tuple[float, float]:
    """Start and end of a timing line, in seconds; settings behind the end are passed over."""
    left, _, right = line.partition("-->")
    first = pattern.fullmatch(left.strip())
    last = pattern.match(right.strip())
    rest = right.strip()[last.end() :] if last else ""
    if not first or not last or (rest and not rest[0].isspace()):
        raise SourceError(
            f"{path}:{number}: has a time that cannot be read; write 00:00:01.000 --> 00:00:02.500"
        )
    start_s, end_s = _seconds(first), _seconds(last)
    if end_s < start_s:
        raise SourceError(f"{path}:{number}: ends before it starts; put the two times right")
    return start_s, end_s


def _seconds(match: re.Match[str]) -> float:
    hours, minutes, seconds, parts = match.groups()
    return int(hours or 0) * 3600 + int(minutes) * 60 + int(seconds) + int(parts) / 10.0 ** len(parts)


def _plain(lines: Sequence[str]) -> str:
    """Text of a cue without tags and inline times, entities resolved, on one line."""
    text = _TAG.sub("", _INLINE_TIME.sub(" ", " ".join(lines)))
    return " ".join(html.unescape(text).split())


def _spread(cue: _Spoken, utterance: int) -> list[Word]:
    """The cue's words, each with a share of its time in proportion to its letters."""
    texts = cue.text.split()
    letters = [max(1, sum(c.isalnum() for c in t)) for t in texts]
    rate = (cue.end_s - cue.start_s) / sum(letters)
    words: list[Word] = []
    done = 0
    for text, count in zip(texts, letters, strict=True):
        start_s = cue.start_s + done * rate
        done += count
        end_s = min(cue.end_s, cue.start_s + done * rate)
        words.append(Word(text, start_s, end_s, utterance=utterance))
    return words
