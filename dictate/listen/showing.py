"""The board of a session: of what is known, what passes and what is wrong. Pure."""

from __future__ import annotations

from dictate.board import Board, Clock, Mode, board_of
from dictate.listen.passing import Passing
from dictate.listen.saying import Seen
from dictate.listen.story import Story
from dictate.note import UNCLEAR_BELOW, Note


def board_now(
    story: Story, seen: Seen, *, passing: Passing, now_s: float, ended: bool, at_s: float, problem: str,
    level_db: float | None,
) -> Board:  # fmt: skip
    """What is to be seen now. `now_s`: of the clock that `passing` goes by; `at_s`: seconds recorded."""
    return board_of(
        seen.note,
        number=len(story.closed) + seen.wines,
        clock=_clock(story),
        last_heard=" ".join(seen.words),
        stage=seen.stage,
        mode="ended" if ended else _mode(story, seen),
        at_s=at_s,
        problem=problem,
        ask_missing=passing.asks(now_s),
        level_db=level_db,
        changes=passing.changes(now_s),
        notice=passing.notice(now_s),
        to_hear=story.to_hear,
    )


def _mode(story: Story, seen: Seen) -> Mode:
    if story.to_hear:  # whether what is said now is off the record is not known
        return "catching_up"
    return "private" if seen.private else "paused" if seen.paused else "listening"


def _clock(story: Story) -> Clock:
    away, gone = story.now.away, story.now.gone
    if away is None:
        return Clock()
    if gone is None:
        return Clock("running", since_s=away.onset_s)
    sure = story.settled and gone.confidence >= UNCLEAR_BELOW
    return Clock("stopped", seconds=gone.onset_s - away.onset_s, sure=sure)


def board_after(notes: tuple[Note, ...], *, at_s: float, problem: str) -> Board:
    """What is to be seen when all is over."""
    return board_of(
        notes[-1] if notes else None,
        number=len(notes),
        clock=Clock(),
        last_heard="",
        stage=None,
        mode="ended",
        at_s=at_s,
        problem=problem,
    )
