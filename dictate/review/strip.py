"""The strip: where a note's stages, phrases and cues stand along its part of the recording. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from dictate.note import Note, TranscriptPhrase
from dictate.values import Stage

HEADINGS: Final[dict[Stage, str]] = {
    "identity": "Wine", "appearance": "Appearance", "nose": "Nose", "palate": "Palate", "finish": "Finish",
    "verdict": "Verdict", "aside": "Aside", "cue": "Cue",
}  # fmt: skip
_LEAST: Final = 0.15  # percent: what is narrower could not be seen
_LETTER_PX: Final = 8.0  # of a stage's name, about
_ROOM: Final = {"narrow": 300, "middle": 600, "broad": 1100}
_USUAL_S: Final = 5.0  # of a finish, to begin with
_JOIN_S: Final = 6.0  # a pause within a stage that does not part its band


@dataclass(frozen=True, slots=True)
class Band:
    """A stretch of the strip, in percent of its width, and the seconds of the recording it stands for."""

    text: str
    left: float
    width: float
    at: tuple[float, float]
    stage: Stage

    @property
    def room(self) -> str:
        """From how wide a strip on its text has room: "narrow" (300 px), "middle" (600), "broad" (1100), else
        ""."""
        needed = (len(self.text) * _LETTER_PX + _LETTER_PX) / self.width * 100
        return next((name for name, most in _ROOM.items() if needed <= most), "")


@dataclass(frozen=True, slots=True)
class Strip:
    """All that stands on it; the clock's onsets are seconds of the recording, None where there is none."""

    start_s: float
    end_s: float
    stages: tuple[Band, ...]
    phrases: tuple[Band, ...]
    cues: tuple[Band, ...]
    clock: Band | None

    @property
    def perhaps(self) -> tuple[float, float] | None:
        """Where a clock that was not timed may have started and stopped, seconds, for a hand to begin with:
        at the last two cues, or at the only one and a little later."""
        starts = [band.at[0] for band in self.cues]
        if not starts:
            return None
        first = starts[-2] if len(starts) > 1 else starts[-1]
        return first, starts[-1] if len(starts) > 1 else min(first + _USUAL_S, self.end_s)


def strip_of(note: Note) -> Strip:
    """The strip of a note's part of the recording; without one, of the time its phrases take."""
    start_s, end_s = _reach(note)
    spoken = [phrase for phrase in note.transcript if phrase.stage != "cue"]
    finish = note.finish
    clock = None
    if finish.from_s is not None and finish.to_s is not None:
        clock = _band("", (finish.from_s, finish.to_s), "finish", reach=(start_s, end_s))
    return Strip(
        start_s,
        end_s,
        tuple(_band(HEADINGS[s], at, s, reach=(start_s, end_s)) for s, at in _joined(spoken)),
        tuple(_band(p.text, p.at, p.stage, reach=(start_s, end_s)) for p in spoken),
        tuple(
            _band(p.text, p.at, "cue", reach=(start_s, end_s)) for p in note.transcript if p.stage == "cue"
        ),
        clock,
    )


def _reach(note: Note) -> tuple[float, float]:
    if note.recording is not None and note.recording.end_s > note.recording.start_s:
        return note.recording.start_s, note.recording.end_s
    starts = [p.at[0] for p in note.transcript] or [0.0]
    ends = [p.at[1] for p in note.transcript] or [0.0]
    return min(starts), max(max(ends), min(starts) + 1.0)


def _joined(phrases: list[TranscriptPhrase]) -> Iterator[tuple[Stage, tuple[float, float]]]:
    """Phrases of one stage behind each other as one stretch."""
    open_: tuple[Stage, float, float] | None = None
    for phrase in phrases:
        start_s, end_s = phrase.at
        if open_ is not None and open_[0] == phrase.stage and start_s - open_[2] <= _JOIN_S:
            open_ = (open_[0], open_[1], max(open_[2], end_s))
            continue
        if open_ is not None:
            yield open_[0], open_[1:]
        open_ = (phrase.stage, start_s, end_s)
    if open_ is not None:
        yield open_[0], open_[1:]


def _band(text: str, at: tuple[float, float], stage: Stage, *, reach: tuple[float, float]) -> Band:
    whole = reach[1] - reach[0]
    left = min(max(0.0, (at[0] - reach[0]) / whole * 100), 100 - _LEAST)
    width = min(max((at[1] - at[0]) / whole * 100, _LEAST), 100 - left)
    return Band(text, round(left, 3), round(width, 3), at, stage)
