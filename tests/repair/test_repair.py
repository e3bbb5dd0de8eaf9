"""repair_words: the cases, and its laws on every case and on made words."""

from __future__ import annotations

import sys
from types import FrameType
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictate.repair import Repaired, replay
from dictate.values import Word
from tests.repair.said import lines_of, load_cases, mended, repaired, spoken

HITS, NEGATIVES, KNOWN = (load_cases(name) for name in ("hits", "negatives", "known_failures"))
TEXTS = sorted({text for case in HITS + NEGATIVES[::4] for line in case["lines"] for text in line.split()})


def check_laws(words: list[Word], done: Repaired) -> None:
    """Replaying gives the result; outside the steps nothing changes; inside, times and utterance stay."""
    assert replay(words, done.steps) == done.words
    place, read = 0, 0
    for step in done.steps:
        untouched = step.first - read
        assert done.words[place : place + untouched] == tuple(words[read : step.first])
        place += untouched
        window = words[step.first : step.last]
        new = done.words[place : place + len(step.after)]
        assert step.before == tuple(w.text for w in window)
        assert step.after == tuple(w.text for w in new) != step.before
        assert 0.0 <= step.score <= 1.0
        assert (new[0].start_s, new[-1].end_s) == (window[0].start_s, window[-1].end_s)
        assert {w.utterance for w in new} == {w.utterance for w in window}
        assert " ".join(w.heard for w in new if w.heard) == " ".join(step.before)
        assert all(w.heard is not None and w.start_s <= w.end_s for w in new)
        assert all(a.end_s <= b.start_s for a, b in zip(new, new[1:], strict=False))
        place, read = place + len(new), step.last
    assert done.words[place:] == tuple(words[read:])


@pytest.mark.parametrize("case", HITS, ids=lambda c: c["label"])
def test_hits(case: dict[str, Any]) -> None:
    confidence = case.get("confidence", 0.9)
    words = spoken(*case["lines"], confidence=confidence)
    done = repaired(*case["lines"], confidence=confidence)
    assert lines_of(done.words) == case["repaired"]
    check_laws(words, done)


@pytest.mark.parametrize("case", NEGATIVES, ids=lambda c: c["lines"][0][:60])
@pytest.mark.parametrize("confidence", [0.9, 0.3])
def test_negatives(case: dict[str, Any], confidence: float) -> None:
    words = spoken(*case["lines"], confidence=confidence)
    done = repaired(*case["lines"], confidence=confidence)
    assert (done.words, done.steps) == (tuple(words), ())


@pytest.mark.parametrize("case", KNOWN, ids=lambda c: c["label"])
def test_known_failures(case: dict[str, Any], request: pytest.FixtureRequest) -> None:
    request.applymarker(pytest.mark.xfail(strict=True, reason=case["comment"]))
    assert lines_of(repaired(*case["lines"]).words) == case["repaired"]


def test_everyday_sentences_inside_a_tasting_stay() -> None:
    """The neighbours of trade talk make a repair more likely: still nothing everyday may change."""
    around = ("next wine, number three, Syrah, 2019", "nose of plum, with firm tannins, a long finish")
    changed = [
        (case["lines"], done.steps)
        for case in NEGATIVES
        if (done := repaired(around[0], *case["lines"], around[1])).steps
    ]
    assert changed == []


@st.composite
def utterances(draw: st.DrawFn) -> list[Word]:
    """Words of the cases in any order, with any gaps, breath groups and confidence."""
    words: list[Word] = []
    at, utterance = 0.0, 0
    for _ in range(draw(st.integers(0, 25))):
        text = draw(st.sampled_from(TEXTS) | st.text("abehinorst ,.'é", min_size=0, max_size=9))
        utterance += draw(st.booleans())
        at += draw(st.floats(0, 1))
        end_s = at + draw(st.floats(0, 1))
        words.append(Word(text.strip(), at, end_s, draw(st.floats(0, 1)), utterance))
        at = end_s
    return words


@settings(max_examples=200, deadline=None)
@given(utterances())
def test_laws_hold_for_any_words(words: list[Word]) -> None:
    check_laws(words, mended(words))


def test_repair_is_done_once_over() -> None:
    for case in HITS:
        done = repaired(*case["lines"])
        assert mended(done.words).words == done.words


def test_words_put_right_before_are_left() -> None:
    words = [Word("Shabley", 1.0, 1.5, 0.9, 0, heard="shall be"), Word("tendons", 2, 2.5, 0.9, 1, heard="")]
    assert mended(words).steps == ()


def test_doubt_makes_it_more_willing() -> None:
    line = "it is from the region of Vooray"
    assert lines_of(repaired(line, confidence=0.3).words) != [line]
    assert lines_of(repaired(line, confidence=0.9).words) == [line]


def calls(words: list[Word]) -> int:
    """How many functions, Python's own too, repair calls for these words: its look-ups, and all else."""
    count = 0

    def tally(frame: FrameType, event: str, arg: object) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(tally)
    try:
        mended(words)
    finally:
        sys.setprofile(before)
    return count


def test_repair_is_linear_in_the_words() -> None:
    """Four times the words need no more than about four times the look-ups."""
    lines = [case["lines"][0] for case in (HITS + NEGATIVES)[::8]]
    mended(spoken(*lines))  # what is looked up once and kept
    once = calls(spoken(*lines))
    assert once > len(lines)
    assert calls(spoken(*(lines * 4))) < 4.2 * once


def test_a_pair_at_the_head_of_a_breath_acts_in_the_midst_of_a_recording() -> None:
    """The table's "^" is the beginning of a breath group, not of all that was said."""
    done = repaired("next wine, number two", "tail lemon, clear", "the tail of the lemon tree")
    assert lines_of(done.words) == [
        "next wine, number two",
        "pale lemon, clear",
        "the tail of the lemon tree",
    ]
