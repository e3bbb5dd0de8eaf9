"""When the notes are paused: one place for all who ask."""

from __future__ import annotations

from dictate.values import CueKind

_ENDS = ("pause_off", "begin", "end")  # the next wine ends a pause that was left on


def paused_behind(kind: CueKind, paused: bool) -> bool:
    """Whether the notes are paused behind a cue; `paused`: whether they were in front of it."""
    return kind == "pause_on" or (paused and kind not in _ENDS)
