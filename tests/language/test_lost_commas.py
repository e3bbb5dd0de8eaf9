"""Commas that a recogniser lost: each rule where it acts, and where the words mean something else."""

from __future__ import annotations

import pytest

from dictate.language.lost_commas import with_lost_commas
from dictate.language.tokens import tokenise
from tests.build import words


def written(text: str) -> str:
    """The tokens with their pauses."""
    return " ".join(t.text + t.pause for t in with_lost_commas(tokenise(words(text))))


@pytest.mark.parametrize(
    ("heard", "meant"),
    [
        ("I suppose no fuller than that medium to full", "i suppose, no, fuller than that, medium to full"),
        ("deeper than that medium and big slow legs", "deeper than that, medium, and big slow legs"),
        ("less than that it tastes dry", "less than that, it tastes dry"),
        ("it's like I don't know the inside of a case", "it 's like, i don't know, the inside of a case"),
        ("sugar and do you know old candles?", "sugar and, do you know, old candles."),
        ("not lemon, what's it yuzu?", "not lemon, what 's it, yuzu."),
        ("laces, you know the sweets", "laces, you know, the sweets"),
        ("not quite great keep it a couple of years", "not quite great, keep it a couple of years"),
        ("a lovely bottle drink it young", "a lovely bottle, drink it young"),
        ("95 out of 100 and I like it", "95 out of 100, and i like it"),
        ("it's not in balance the heat sticks out", "it 's not in balance, the heat sticks out"),
    ],
)  # fmt: skip
def test_a_lost_comma_is_put_back(heard: str, meant: str) -> None:
    assert written(heard) == meant


@pytest.mark.parametrize(
    "text",
    [
        "it is no fuller than that",
        "it is deeper than that medium ruby",
        "better than that one",
        "i don't know the grower",
        "do you know the grower?",
        "do you know what it is?",
        "what is it called?",
        "you know the estate",
        "i would not keep it",
        "not in balance yet",
        "a medium ruby and big",
        "lemon and i like it",
    ],
)
def test_other_words_stay_together(text: str) -> None:
    assert written(text) == text


def test_pauses_that_were_written_stay() -> None:
    assert written("very good. not quite great; keep it") == "very good. not quite great; keep it"
