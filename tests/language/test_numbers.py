"""Numbers in tokens: the cases, and that no text breaks the reader. Outside judges: `tests/outside`."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.language.numbers import FIRST_YEAR, LAST_YEAR, Number, read_numbers
from dictate.language.tokens import tokenise
from dictate.values import Word
from tests import build
from tests.build import load_cases

NUMBER_WORDS = (
    "zero oh nil one nine ten nineteen twenty twentyone ninety hundred thousand and a half point first tenth "
    "18 19 20 34 2018 7.5 1,000 1,5 3rd 80s ፩ ٣ 20-34 20-٣٤ twenty, five. 999999999999999"
).split()


def read(text: str) -> list[list[Any]]:
    words, tokens = build.words(text), build.tokens(text)
    return [
        [build.said(words[tokens[n.first].word : tokens[n.last - 1].word + 1]), n.value, n.kind]
        for n in read_numbers(tokens)
    ]


@pytest.mark.parametrize("case", load_cases("language", "numbers"), ids=lambda c: c["label"])
def test_cases(case: dict[str, Any]) -> None:
    assert read(case["text"]) == case["numbers"]


@pytest.mark.parametrize(
    ("text", "figures"), [("20", True), ("2018", True), ("3rd", True), ("twenty", False), ("third", False)]
)
def test_figures_are_told_from_words(text: str, figures: bool) -> None:
    assert [n.figures for n in read_numbers(build.tokens(text))] == [figures]


def check(numbers: tuple[Number, ...], size: int) -> None:
    end = 0
    for number in numbers:
        assert end <= number.first < number.last <= size
        assert math.isfinite(number.value)
        assert number.value >= 0
        if number.kind == "year":
            assert number.value == int(number.value)
            assert FIRST_YEAR <= number.value <= LAST_YEAR + 49
        end = number.last


@given(st.lists(st.sampled_from(NUMBER_WORDS), max_size=20))
def test_any_number_words_give_finite_numbers_that_do_not_overlap(texts: list[str]) -> None:
    tokens = build.tokens(" ".join(texts))
    check(read_numbers(tokens), len(tokens))


@given(build.any_words())
def test_any_text_does(words: tuple[Word, ...]) -> None:
    tokens = tokenise(words)
    check(read_numbers(tokens), len(tokens))


@pytest.mark.parametrize(
    "text",
    [
        "seven point ፩",
        "two " + "hundred " * 400,
        "two " + "thousand " * 400,
        "9" * 400 + " point five",
        "9" * 400 + " and a half",
        "seven " + "point five " * 50,
        "one " * 200,
        "9" * 5000,
    ],
    ids=["digit of another kind", "hundreds", "thousands", "figures", "and a half", "points", "ones", "5000"],
)
def test_what_once_crashed_or_could(text: str) -> None:
    tokens = build.tokens(text)
    check(read_numbers(tokens), len(tokens))


def test_a_figure_with_a_fraction_is_no_year() -> None:
    """Found by hypothesis: "2018 point 18" was a year of 2018.18."""
    (number,) = read_numbers(build.tokens("2018 point 18"))
    assert (number.value, number.kind) == (2018.18, "cardinal")
