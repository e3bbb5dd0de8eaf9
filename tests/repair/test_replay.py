"""replay: times shared by letters, and steps that do not fit refused."""

from __future__ import annotations

import pytest

from dictate.repair import replay
from dictate.values import Step, Word

WORDS = [
    Word("a", 0.0, 0.1, 1.0, 0),
    Word("sour", 0.2, 0.5, 0.8, 0),
    Word("turns,", 0.5, 1.0, 0.6, 0),
    Word("yes", 2.0, 2.2, 1.0, 1),
]


def step(first: int, last: int, *after: str) -> Step:
    return Step(first, last, tuple(w.text for w in WORDS[first:last]), after, 1.0, "")


def test_two_words_to_one() -> None:
    assert replay(WORDS, [step(1, 3, "sauternes,")]) == (
        WORDS[0],
        Word("sauternes,", 0.2, 1.0, pytest.approx(0.7), 0, "sour turns,"),
        WORDS[3],
    )


def test_one_word_to_two_shares_its_time_by_letters() -> None:
    _, _, _, late, later = replay(WORDS, [step(3, 4, "abc", "d")])
    assert (late.start_s, later.end_s) == (2.0, 2.2)
    assert late.end_s == later.start_s == pytest.approx(2.15)
    assert (late.heard, later.heard) == ("yes", "")


def test_as_many_words_keep_their_times() -> None:
    done = replay(WORDS, [step(0, 2, "the", "tower")])
    assert [(w.start_s, w.end_s) for w in done[:2]] == [(0.0, 0.1), (0.2, 0.5)]


@pytest.mark.parametrize(
    "steps",
    [
        [Step(0, 1, ("b",), ("c",), 1.0, "")],
        [step(1, 3, "x"), step(2, 4, "y")],
        [Step(9, 10, (), ("c",), 1.0, "")],
        [step(1, 3)],
    ],
    ids=["other words", "overlap", "beyond the end", "nothing after"],
)
def test_steps_that_do_not_fit_are_refused(steps: list[Step]) -> None:
    with pytest.raises(ValueError, match="does not fit"):
        replay(WORDS, steps)
