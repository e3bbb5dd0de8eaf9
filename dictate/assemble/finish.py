"""The finish clock: two spoken cues to seconds, onset to onset, with its rules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from dictate.language.tokens import spoken_text
from dictate.note import NEVER_STOPPED, STATED_DIFFERS, UNCLEAR_BELOW, Change, finish_seconds
from dictate.values import Cue, Phrase, Word

_RUNNING = "clock running"
FLAG_SHARE = 0.2  # a stated length that is farther than this from the timed one is flagged


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
    """The clock of one wine's phrases; its seconds are those of the cues' onsets.

    A second away cue restarts the clock (history says so); the first gone cue after it stops it; a cue
    that was taken back counts as not said; a gone cue without away gives no number. A clock never
    stopped gives none either: the history says "at least", up to the last holding cue.
    """
    away: Cue | None = None
    gone: Cue | None = None
    held: Cue | None = None
    changes: list[Change] = []
    for phrase in phrases:
        cue = phrase.cue
        if cue is None:
            continue
        if phrase.taken_back:
            changes.extend(_taken_back(cue, away=away, gone=gone))
        elif cue.kind == "away":
            if away is not None:
                before = finish_seconds(gone.onset_s - away.onset_s) if gone else _RUNNING
                changes.append(_change(cue, before, "clock started again"))
            away, gone, held = cue, None, None
        elif cue.kind == "gone" and away is not None and gone is None and cue.onset_s > away.onset_s:
            gone = cue
        elif cue.kind == "holding" and away is not None and gone is None:
            held = cue
    if away is not None and gone is None:
        changes.append(_left_running(away, held, end_s=phrases[-1].words[-1].end_s))
    return Clock(away, gone, tuple(changes))


def _taken_back(cue: Cue, *, away: Cue | None, gone: Cue | None) -> list[Change]:
    if cue.kind == "away":
        return [_change(cue, "clock started", "taken back")]
    if cue.kind != "gone":
        return []
    if away is not None and gone is None:
        return [_change(cue, finish_seconds(cue.onset_s - away.onset_s), _RUNNING)]
    return [_change(cue, "gone", "taken back")]


def _left_running(away: Cue, held: Cue | None, *, end_s: float) -> Change:
    """Known only when the wine's last word is said, so it is that moment's change."""
    after = NEVER_STOPPED + (f": at least {_seconds(away, held)}" if held else "")
    change = _change(held or away, _RUNNING, after)
    return change.model_copy(update={"when": f"{end_s:.2f} s into the recording"})


def _seconds(first: Cue, last: Cue) -> str:
    """From one cue to another in words: "about" and no hundredths where an onset is unclear."""
    spent_s = last.onset_s - first.onset_s
    unclear = min(first.confidence, last.confidence) < UNCLEAR_BELOW
    return f"about {spent_s:.1f} s" if unclear else f"{spent_s:.2f} s"


def stated_beside_timed(stated_s: float, timed_s: float, *, words: Sequence[Word]) -> Change:
    """The history's word of a length (seconds) stated in `words` beside the one timed by the cues.

    The timed one holds; a difference of more than a fifth of it is flagged (a rule of ours, no source).
    """
    share = abs(stated_s - timed_s) / timed_s if timed_s else 1.0
    return Change(
        when=f"{words[0].start_s:.2f} s into the recording", field="finish.seconds", before=stated_s,
        after=finish_seconds(timed_s) if share <= FLAG_SHARE
        else f"{timed_s:.2f} s timed; {STATED_DIFFERS}{share:.0%}",
        said=spoken_text(words),
    )  # fmt: skip


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
