"""Clocks that ran while sound was lost: how long the taste was held is not known to a hundredth. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from dictate.values import Cue

LOST_CONFIDENCE = 0.3  # below `note.UNCLEAR_BELOW`: the note says "about"


def doubt_lost(cues: Sequence[Cue], gaps: Sequence[tuple[float, float]]) -> tuple[Cue, ...]:
    """The cues, those that end or hold a clock unsure where sound was lost since it started.

    `gaps`: spans in seconds of the recording for which there is no sound; where a session was broken off
    and went on, a span of no length, for nobody knows what was said between.
    """
    doubted: list[Cue] = []
    since_s: float | None = None
    for cue in cues:
        if cue.kind == "away":
            since_s = cue.onset_s
        elif cue.kind in ("begin", "end"):
            since_s = None
        elif (
            cue.kind in ("gone", "holding")
            and since_s is not None  # it stays behind a gone cue: "strike that" may let the clock run on
            and any(start < cue.onset_s and end > since_s for start, end in gaps)
        ):
            cue = replace(cue, confidence=min(cue.confidence, LOST_CONFIDENCE))
        doubted.append(cue)
    return tuple(doubted)
