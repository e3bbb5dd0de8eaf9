"""The finish clock: two spoken cues to seconds, onset to onset, with its rules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from dictate.language.tokens import spoken_text
from dictate.note import Change
from dictate.values import Cue, Phrase


@dataclass(frozen=True, slots=True)
class Clock:
    """What the cues of one wine time: the pair that holds, and what happened to earlier ones."""

    away: Cue | None = None
    gone: Cue | None = None
    changes: tuple[Change, ...] = ()


def _change(cue: Cue, before: Any, after: Any) -> Change:
    return Change(
        when=f"{cue.onset_s:.2f} s into the recording", field="finish.seconds", before=before, after=after,
        said=spoken_text(cue.words),
    )  # fmt: skip


def read_clock(phrases: Sequence[Phrase]) -> Clock:
    """The clock of one wine's phrases.

    A second away cue restarts the clock (history says so); the first gone cue after it stops it;
    a gone cue that was taken back leaves it running; a gone cue without away gives no number.
    """
    away: Cue | None = None
    gone: Cue | None = None
    changes: list[Change] = []
    for phrase in phrases:
        cue = phrase.cue
        if cue is None:
            continue
        if cue.kind == "away" and not phrase.taken_back:
            if away is not None:
                before = round(gone.onset_s - away.onset_s, 2) if gone else "clock running"
                changes.append(_change(cue, before, "clock started again"))
            away, gone = cue, None
        elif cue.kind == "gone" and away is not None:
            if phrase.taken_back:
                changes.append(_change(cue, round(cue.onset_s - away.onset_s, 2), "clock running"))
            elif gone is None and cue.onset_s > away.onset_s:
                gone = cue
    return Clock(away, gone, tuple(changes))


def timed_finish(clock: Clock) -> dict[str, Any]:
    """The note's finish fields of a clock that was started and stopped; else nothing."""
    if clock.away is None or clock.gone is None:
        return {}
    return {
        "seconds": clock.gone.onset_s - clock.away.onset_s,
        "how": "timed",
        "from_s": clock.away.onset_s,
        "to_s": clock.gone.onset_s,
        "confidence": min(clock.away.confidence, clock.gone.confidence),
    }
