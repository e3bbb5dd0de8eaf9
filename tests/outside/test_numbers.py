"""Numbers and years as spoken, against num2words (LGPL, 0.5.14), which makes them, and against the
English normaliser of the Whisper paper (Radford et al. 2022, appendix C; whisper_normalizer 0.1.15).

Money against ISO 4217: `iso4217.csv` is its codes and names as in Debian's iso-codes 4.15.0."""

from __future__ import annotations

import csv
import re
import warnings
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from dictate.language.amounts import Quantity
from dictate.language.numbers import Number, read_numbers
from dictate.language.quantities import read_quantities
from dictate.language.tokens import tokenise
from dictate.language.units import CURRENCY
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


def spoken(value: float, kind: str = "cardinal") -> str:
    """num2words without the comma behind thousands, which a voice does not say."""
    return str(num2words(value, to=kind)).replace(",", "")


@given(st.integers(0, 999_999_999))
def test_any_whole_number_comes_back(value: int) -> None:
    assert only(spoken(value)).value == value


@given(st.integers(0, 9999), st.integers(0, 999))
def test_any_decimal_comes_back(whole: int, thousandths: int) -> None:
    value = float(f"{whole}.{thousandths:03d}")
    assert only(spoken(value)).value == value


def test_every_cardinal_to_9999() -> None:
    assert {i: n for i in range(1, 10_000) if (n := only(spoken(i))).value != i} == {}


def test_every_ordinal_to_9999() -> None:
    read_as = {i: only(spoken(i, "ordinal")) for i in range(1, 10_000)}
    assert {i: n for i, n in read_as.items() if (n.value, n.kind) != (i, "ordinal")} == {}


def test_every_ordinal_in_figures() -> None:
    assert [only(num2words(i, to="ordinal_num")).value for i in range(1, 200)] == list(range(1, 200))


def test_every_year_from_1800_said_as_a_year() -> None:
    wrong = {y: n for y in range(1800, 2100) if ((n := only(spoken(y, "year"))).value, n.kind) != (y, "year")}
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
        "one oh four",
        "fifteen hundred and six",
        "two thousand three hundred and five",
        "one million two hundred thousand",
        "thirteen per cent",
        "thirteen and a half percent",
        "twenty five dollars",
        "twenty first",
        "ten to fifteen seconds",
        *(num2words(y, to="year") for y in range(1950, 2050, 7)),
        *(num2words(i).replace(",", "") for i in range(1003, 10_000, 997)),
        *(num2words(i, to="ordinal") for i in (11, 12, 21, 35, 43, 67, 80)),
        *(num2words(i) for i in range(0, 100, 9)),
    ],
)
def test_the_whisper_paper_s_normaliser_reads_the_same(text: str) -> None:
    theirs = [float(n) for n in re.findall(r"\d+(?:\.\d+)?", EnglishTextNormalizer()(text))]
    assert [n.value for n in read(text)] == theirs


def priced(text: str) -> tuple[float, str]:
    (quantity,) = measured(text)
    assert quantity.use == "price", (text, quantity)
    return quantity.value, quantity.unit


def measured(text: str) -> tuple[Quantity, ...]:
    return read_quantities(tokenise([Word(w, i / 2, i / 2 + 0.5) for i, w in enumerate(text.split())]))


@pytest.mark.parametrize("code", ["GBP", "EUR", "USD", "AUD"])
def test_every_price_to_100_as_num2words_says_it(code: str) -> None:
    """It says "twelve pounds sterling, fifty pence"; of Australian dollars not whose, so that is put in."""
    wrong = {}
    for hundredths in range(100, 10_000, 37):
        text = num2words(hundredths / 100, to="currency", currency=code, separator=" and")
        text = text.replace("dollar", "Australian dollar") if code == "AUD" else text
        text = text.removesuffix(" and zero cents").removesuffix(" and zero pence")
        if priced(text) != (hundredths / 100, code):
            wrong[hundredths] = text
    assert wrong == {}


def currencies() -> dict[str, str]:
    path = Path(__file__).parent / "iso4217.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return {row["code"]: row["name"] for row in csv.DictReader(file)}


def test_every_currency_has_its_iso_4217_code() -> None:
    assert set(currencies()) >= CURRENCY
    assert len(CURRENCY) > 20


@pytest.mark.parametrize("code", sorted(CURRENCY))
def test_a_currency_is_read_by_its_name_and_its_code(code: str) -> None:
    assert priced(f"twelve {currencies()[code]}") == (12, code)
    assert priced(f"12 {code}") == (12, code)
    assert priced(f"{code} 12.50") == (12.5, code)


def test_no_other_currency_is_taken_for_one_of_these() -> None:
    """ "Twelve Jamaican dollars" are no US dollars: their land was said, and it is unknown here.
    USN is the US dollar of the next day."""
    others = {code: name for code, name in currencies().items() if code not in CURRENCY | {"USN"}}
    assert len(others) > 100
    guessed = {
        name: q.unit
        for name in others.values()
        for plural in (name, name + "s")
        for q in measured(f"twelve {plural}")
        if q.unit
    }
    assert guessed == {}


@pytest.mark.parametrize(
    ("text", "sign"),
    [
        ("twenty five dollars", "$25"),
        ("twenty five pounds", "£25"),
        ("twenty euros and fifty cents", "€20.50"),
        ("thirteen and a half percent", "13.5%"),
    ],
)
def test_the_normaliser_s_signs_are_read_as_the_words(text: str, sign: str) -> None:
    assert EnglishTextNormalizer()(text) == sign
    said, written = measured(text), measured(sign)
    assert [(q.value, q.use, q.unit) for q in said] == [(q.value, q.use, q.unit) for q in written]


def test_a_comma_ends_a_number() -> None:
    assert [n.value for n in read("number one, twenty eighteen, ninety")] == [1, 2018, 90]


@pytest.mark.parametrize("text", ["once more", "a lone wolf", "weighty", "the tension", "someone ate it"])
def test_words_that_hold_a_number_are_none(text: str) -> None:
    assert read(text) == ()
