"""Numbers and years as spoken, against num2words (LGPL, 0.5.14), which makes them, and against the
English normaliser of the Whisper paper (Radford et al. 2022, appendix C; whisper_normalizer 0.1.15)."""

from __future__ import annotations

import re
import warnings

import pytest
from num2words import num2words

from dictate.language.numbers import Number, read_numbers
from dictate.language.tokens import tokenise
from dictate.values import Word

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from whisper_normalizer.english import EnglishTextNormalizer

YEARS = range(1900, 2100)
DECIMALS = [tenths / 10 for tenths in range(1, 201)] + [13.42, 99.05, 0.25]


def read(text: str) -> tuple[Number, ...]:
    """Numbers of a text, spoken as words of half a second each."""
    return read_numbers(tokenise([Word(w, i / 2, i / 2 + 0.5) for i, w in enumerate(text.split())]))


def only(text: str) -> Number:
    found = read(text)
    assert len(found) == 1, (text, found)
    return found[0]


def test_every_year_said_in_pairs_is_that_year() -> None:
    wrong = {y: n for y in YEARS if ((n := only(num2words(y, to="year"))).value, n.kind) != (y, "year")}
    assert wrong == {}


def test_every_year_said_as_a_number_is_that_year() -> None:
    wrong = {y: n for y in YEARS if ((n := only(num2words(y).replace(",", ""))).value, n.kind) != (y, "year")}
    assert wrong == {}


def test_every_year_in_figures_is_that_year() -> None:
    assert [only(str(y)).value for y in YEARS] == list(YEARS)


@pytest.mark.parametrize("limit", [101, 1000])
def test_every_cardinal_is_that_number(limit: int) -> None:
    wrong = {i: n for i in range(limit) if ((n := only(num2words(i))).value, n.kind) != (i, "cardinal")}
    assert wrong == {}


def test_decimals() -> None:
    wrong = {d: n for d in DECIMALS if abs((n := only(num2words(d))).value - d) > 1e-9}
    assert wrong == {}


def test_ordinals_to_ten() -> None:
    said = {num2words(i, to="ordinal"): i for i in range(1, 11)}
    assert {text: (only(text).value, only(text).kind) for text in said} == {
        text: (i, "ordinal") for text, i in said.items()
    }


@pytest.mark.parametrize(
    "text",
    [
        "twenty eighteen",
        "nineteen ninety six",
        "two thousand and nine",
        "twenty oh nine",
        "nineteen hundred",
        "thirteen and a half",
        "twelve point five",
        "number four",
        "about twelve seconds",
        "ninety six points",
        "one hundred and five",
        "from twenty twenty eight to twenty forty",
        *(num2words(y, to="year") for y in range(1950, 2050, 7)),
        *(num2words(i) for i in range(0, 100, 9)),
    ],
)
def test_the_whisper_paper_s_normaliser_reads_the_same(text: str) -> None:
    theirs = [float(n) for n in re.findall(r"\d+(?:\.\d+)?", EnglishTextNormalizer()(text))]
    assert [n.value for n in read(text)] == theirs


def test_a_comma_ends_a_number() -> None:
    assert [n.value for n in read("number one, twenty eighteen, ninety")] == [1, 2018, 90]


@pytest.mark.parametrize("text", ["once more", "a lone wolf", "weighty", "the tension", "someone ate it"])
def test_words_that_hold_a_number_are_none(text: str) -> None:
    assert read(text) == ()
