"""Notes with a place in a recording, and transcripts to make notes from."""

from __future__ import annotations

from typing import Any

from dictate.note import MadeWith, Note, Recording, TranscriptPhrase, TranscriptWord

NOW = MadeWith(program="0.2.0", model="whisper-base int8", lexicon="aaa")


def placed(start_s: float | None, end_s: float = 0.0, *, number: int = 1, **more: Any) -> Note:
    """A note of a part of a recording, of none where no start is given."""
    place = (
        None if start_s is None else Recording(path="a.wav", sha256="ab" * 32, start_s=start_s, end_s=end_s)
    )
    return Note(id=f"n-{number}", recording=place, **more)


def worded(*phrases: tuple[str, float], stage: Any = "nose", number: int = 1) -> Note:
    """A note whose phrases begin at those seconds, a word each 0.3 s."""
    made = []
    for text, at in phrases:
        words = [
            TranscriptWord(text=word, at=(at + n * 0.3, at + n * 0.3 + 0.3))
            for n, word in enumerate(text.split())
        ]
        made.append(TranscriptPhrase(text=text, at=(at, words[-1].at[1]), stage=stage, words=words))
    return placed(made[0].at[0], made[-1].at[1], number=number, transcript=made)


def vtt(*cues: tuple[str, float, float]) -> str:
    """A timed transcript."""
    lines = ["WEBVTT"]
    for text, start_s, end_s in cues:
        lines += ["", f"{_time(start_s)} --> {_time(end_s)}", text]
    return "\n".join(lines) + "\n"


def _time(seconds: float) -> str:
    return f"{int(seconds // 3600):02}:{int(seconds // 60) % 60:02}:{seconds % 60:06.3f}"
