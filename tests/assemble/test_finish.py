"""The finish clock: its rules, one by one, and for any order of cues."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.assemble.finish import FLAG_SHARE, read_clock, stated_beside_timed, timed_finish
from dictate.note import Finish
from dictate.values import CueKind, Phrase
from tests import build

LETTERS: dict[str, CueKind] = {
    "a": "away", "h": "holding", "g": "gone", "s": "take_back", "b": "begin", "e": "end",
}  # fmt: skip


def lay_out(text: str) -> tuple[Phrase, ...]:
    """ "a5 h8 g12x": away at 5 s, holding at 8, gone at 12 and taken back; "." is a phrase of words."""
    made = []
    for piece in text.split():
        at = float(piece[1:].rstrip("x"))
        taken = piece.endswith("x")
        if piece[0] == ".":
            made.append(build.phrase("a bit saline", "finish", at=at, taken_back=taken))
        else:
            made.append(build.cue_phrase(LETTERS[piece[0]], at, taken_back=taken))
    return tuple(made)


def told(text: str) -> list[tuple[Any, Any]]:
    return [(c.before, c.after) for c in read_clock(lay_out(text)).changes]


@pytest.mark.parametrize(
    ("cues", "seconds"),
    [
        ("a5 g12", 7.0),
        ("a5 .6 h8 .9 g12.25", 7.25),
        ("a5 a7 g12", 5.0),
        ("a5 g8 a20 g22.5", 2.5),
        ("a5 g8 g12", 3.0),
        ("a5 g8x s9 g12", 7.0),
        ("a5 g8x s9 g12x s13 g20", 15.0),
        ("a5x s6 a10 g14", 4.0),
        ("a5 a7x s8 g12", 7.0),
        ("g2 a5 g12", 7.0),
        ("a5 h6x s7 g12", 7.0),
    ],
)
def test_clocks_that_time(cues: str, seconds: float) -> None:
    found = timed_finish(read_clock(lay_out(cues)))
    assert found["seconds"] == pytest.approx(seconds)
    assert found["seconds"] == found["to_s"] - found["from_s"]
    assert found["how"] == "timed"


@pytest.mark.parametrize(
    "cues",
    [
        "",
        "g5",
        "a5",
        "a5 h9",
        "g2 a5",
        "a5 g8x s9",
        "a5x s6 g8",
        "a5 g8 a12",
        "h3 g5",
        "a5 g5",
        ".1 .2",
        "g1 g2",
    ],
)
def test_clocks_that_give_no_number(cues: str) -> None:
    assert timed_finish(read_clock(lay_out(cues))) == {}


def test_away_twice_is_in_the_history() -> None:
    assert told("a5 a7 g12") == [("clock running", "clock started again")]
    assert told("a5 g8 a20 g22") == [(3.0, "clock started again")]


def test_gone_taken_back_is_in_the_history() -> None:
    assert told("a5 g8x s9 g12") == [(3.0, "clock running")]
    assert told("a5 g8 g12x s13") == [("gone", "taken back")]


def test_away_taken_back_is_in_the_history() -> None:
    assert told("a5x s6 a10 g14") == [("clock started", "taken back")]


def test_a_clock_left_running_says_at_least_and_gives_no_number() -> None:
    assert told("a5 h8 h14.5") == [("clock running", "never stopped: at least 9.50 s")]
    assert told("a5 h8 h14x s15") == [("clock running", "never stopped: at least 3.00 s")]
    assert told("a5") == [("clock running", "never stopped")]
    assert told("a5 h8 g9 a20") == [(4.0, "clock started again"), ("clock running", "never stopped")]


@pytest.mark.parametrize("cues", ["", "a5 g9", "g5", "h5", "a5 h6 g9", "g5 g6"])
def test_an_ordinary_clock_is_not_in_the_history(cues: str) -> None:
    assert told(cues) == []


def test_changes_tell_when_and_the_words() -> None:
    (change,) = read_clock(lay_out("a5 a7.126 g12")).changes
    assert (change.when, change.field) == ("7.13 s into the recording", "finish.seconds")
    assert (change.said, change.by) == ("spitting now", "voice")


def test_the_confidence_is_the_less_sure_onset_s() -> None:
    phrases = (build.cue_phrase("away", 5, confidence=0.9), build.cue_phrase("gone", 9, confidence=0.4))
    assert timed_finish(read_clock(phrases))["confidence"] == 0.4


@pytest.mark.parametrize(
    ("stated", "timed", "flagged"),
    [(12, 10.1, False), (8.1, 10, False), (12.6, 10, True), (5, 10, True), (5, 0, True)],
)
def test_a_stated_length_far_from_the_timed_one_is_flagged(
    stated: float, timed: float, flagged: bool
) -> None:
    change = stated_beside_timed(stated, timed, words=build.words("about so many seconds", at=3))
    assert (change.before, change.said) == (stated, "about so many seconds")
    assert isinstance(change.after, str) == flagged
    assert str(change.after).startswith(f"{timed:.2f} s timed" if flagged else str(round(timed, 2)))
    assert FLAG_SHARE == 0.2


CUES = st.lists(
    st.tuples(st.sampled_from([*LETTERS.values(), None]), st.floats(0, 60, allow_nan=False), st.booleans()),
    max_size=14,
)


@given(CUES)
def test_any_order_of_cues_gives_one_clock_that_is_never_negative(
    cues: list[tuple[CueKind | None, float, bool]],
) -> None:
    at = 0.0
    phrases: list[Phrase] = []
    for kind, gap_s, taken in cues:
        at += gap_s
        if kind is None:
            phrases.append(build.phrase("a bit saline", "finish", at=at, taken_back=taken))
        else:
            phrases.append(build.cue_phrase(kind, at, taken_back=taken))
    clock = read_clock(phrases)
    timed = timed_finish(clock)
    Finish.model_validate(timed)
    standing = [p.cue for p in phrases if p.cue and not p.taken_back and p.cue.kind in ("away", "gone")]
    if timed:
        assert timed["seconds"] > 0
        # the cues that hold: the last away that stands and the first gone behind it
        away, gone = clock.away, clock.gone
        behind = standing[[c is away for c in standing].index(True) :]
        assert away is not None
        assert all(c.kind == "gone" for c in behind[1:])
        assert gone is next(c for c in behind[1:] if c.onset_s > away.onset_s)
    else:
        # no away is followed by a later gone unless another away stands behind both
        last = max((i for i, c in enumerate(standing) if c.kind == "away"), default=len(standing))
        assert not any(c.kind == "gone" and c.onset_s > standing[last].onset_s for c in standing[last + 1 :])
    assert all(float(c.when.split()[0]) >= 0 for c in clock.changes)


@given(st.lists(st.floats(0.1, 30), min_size=2, max_size=12))
def test_clocks_of_several_wines_do_not_overlap(gaps: list[float]) -> None:
    spans, at = [], 0.0
    for number, gap_s in enumerate(gaps):
        wine = (build.cue_phrase("away", at), build.cue_phrase("gone", at + gap_s))
        timed = timed_finish(read_clock(wine))
        spans.append((timed["from_s"], timed["to_s"]))
        at += gap_s + 0.1 * (number + 1)
    assert all(before[1] <= after[0] for before, after in pairwise(spans))
