"""What numbers count: the cases, ranges and hedges, and laws on any text. Outside judges: `tests/outside`."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, SupportsIndex, overload

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from dictate.language.amounts import Quantity
from dictate.language.hedges import hedge_before, hedge_behind
from dictate.language.numbers import Number, read_numbers
from dictate.language.numerals import PIVOT, expand_year
from dictate.language.patterns import Line
from dictate.language.places import non_vintage_spans
from dictate.language.quantities import read_quantities
from dictate.language.tokens import Token, tokenise
from dictate.values import Word
from tests import build
from tests.build import load_cases

PIECES = (
    "a an half quarter three twelve twenty nineteen ninety oh nine fifty one second third first hundred "
    "thousand point and to or between about just under plus odd so ish dozen couple of out number wine code "
    "pounds euros cents quid dollars tenner per cent percent % alcohol ph ta total acidity grams g l litre "
    "sugar residual seconds minute minutes years decade old points stars bottle bottles retails the this "
    "nineties sixes 12 12.5 12,50 2018 '09 $12 12€ € £ 20/20 17.5/20 10:30 5/10/2019 20-25 95+ 4½ A-7 90's "
    "12s 1st No. NV six, seven. – ፩ 99999999999999999999"
).split()


def described(text: str) -> list[dict[str, Any]]:
    words, tokens = build.words(text), build.tokens(text)
    found = []
    for q in read_quantities(tokens):
        said = " ".join(w.text for w in words[tokens[q.first].word : tokens[q.last - 1].word + 1])
        one: dict[str, Any] = {"said": said, "use": q.use, "value": q.value}
        more = {"unit": q.unit, "high": q.high, "out_of": q.out_of, "hedge": q.hedge, "short": q.short}
        found.append(one | {name: value for name, value in more.items() if value not in ("", None, False)})
    return found


def only(text: str) -> Quantity:
    found = read_quantities(build.tokens(text))
    assert len(found) == 1, (text, found)
    return found[0]


@pytest.mark.parametrize(
    "case", load_cases("language", "quantities"), ids=lambda c: f"{c['label']}: {c['text']}"
)
def test_cases(case: dict[str, Any]) -> None:
    assert described(case["text"]) == case["quantities"]


def test_the_middle_of_a_range_and_of_none() -> None:
    assert only("ninety-two to ninety-four points").middle == 93
    assert only("ninety-two points").middle == 92


def test_what_a_minute_is_multiplied_by() -> None:
    assert [only(t).factor for t in ("two minutes", "two seconds", "two decades")] == [60, 1, 10]


@pytest.mark.parametrize(
    ("text", "uses"),
    [
        ("twelve pounds fifty, ninety points", ["price", "price", "score"]),
        ("fifteen to twenty seconds", ["duration", "duration"]),
        ("seventeen out of twenty", ["score", "score"]),
        ("number four, twenty eighteen", ["position", "year"]),
        ("a twelve second finish", ["duration"]),
        ("one of the best", [""]),
        ("twelve", ["count"]),
    ],
)
def test_each_number_knows_what_it_is_part_of(text: str, uses: list[str]) -> None:
    assert [n.use for n in read_numbers(build.tokens(text))] == uses


@pytest.mark.parametrize(
    "text",
    [
        "eighteen ninety nine a bottle",
        "2000 bottles",
        "1950 euros",
        "it costs 1899",
        "nineteen hundred vines",
    ],
)
def test_what_is_counted_is_no_year(text: str) -> None:
    assert [n.kind for n in read_numbers(build.tokens(text))] == ["cardinal"]


def test_money_in_halves_has_its_value_among_the_numbers() -> None:
    (number,) = read_numbers(build.tokens("eighteen ninety nine a bottle"))
    assert (number.value, number.unit) == (18.99, "")


def test_the_century_of_a_short_year() -> None:
    assert [expand_year(y) for y in (0, 9, PIVOT - 1, PIVOT, 96, 99)] == [2000, 2009, 2034, 1935, 1996, 1999]


@pytest.mark.parametrize(
    ("text", "hedge"),
    [("just under", "under"), ("under", "under"), ("about", "about"), ("a good", "over"), ("about,", ""),
     ("", ""), ("the", "")],
)  # fmt: skip
def test_hedges_in_front(text: str, hedge: str) -> None:
    tokens = build.tokens(text + " twelve")
    assert hedge_before(tokens, len(tokens) - 1) == hedge


@pytest.mark.parametrize(
    ("text", "hedge"), [("or so", ("about", 2)), ("plus", ("over", 1)), ("or, so", ("", 0)), ("the", ("", 0))]
)
def test_hedges_behind(text: str, hedge: tuple[str, int]) -> None:
    assert hedge_behind(build.tokens(text), 0) == hedge


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("NV", True), ("N.V.", True), ("n v", True), ("en vee", True), ("non-vintage", True),
        ("a non vintage", True), ("nonvintage", True), ("no vintage", True), ("without a vintage", True),
        ("multi-vintage", True), ("MV", True), ("not vintage-dated", True), ("vintage isn't given", False),
        ("it's not an NV", False), ("not non-vintage", False), ("a vintage wine", False), ("vintage", False),
        ("envy", False),
    ],
)  # fmt: skip
def test_no_vintage(text: str, says: bool) -> None:
    assert bool(non_vintage_spans(Line(build.tokens(text)))) == says


def check(tokens: Sequence[Token]) -> None:
    """Spans in order, within the tokens, apart; finite values; a range goes up; a unit is of its use."""
    end = 0
    for q in read_quantities(tokens):
        assert end <= q.first < q.last <= len(tokens)
        assert math.isfinite(q.value)
        assert q.value >= 0
        assert q.high is None or q.value < q.high
        assert q.out_of is None or (q.use == "score" and q.value <= q.out_of)
        assert (q.unit == "s") <= (q.use == "duration")
        end = q.last
    numbers: tuple[Number, ...] = read_numbers(tokens)
    end = 0
    for number in numbers:
        assert end <= number.first < number.last <= len(tokens)
        assert math.isfinite(number.value)
        end = number.last


@given(st.lists(st.sampled_from(PIECES), max_size=20))
@settings(max_examples=500, deadline=None)
def test_any_words_of_number_are_read_lawfully(texts: list[str]) -> None:
    check(build.tokens(" ".join(texts)))


@given(build.any_words())
def test_any_text_is(words: tuple[Word, ...]) -> None:
    check(tokenise(words))


@given(st.lists(st.sampled_from(PIECES), max_size=8), st.lists(st.sampled_from(PIECES), max_size=8))
@example([], ["one"])
def test_a_full_stop_parts_what_is_read(left: list[str], right: list[str]) -> None:
    """Behind a full stop speech begins anew: only grams look farther, for sugar or acid, and "No. 4"."""
    first = " ".join([*left, "wine."])
    grams = any(w in ("grams", "g") for w in (*left, *right))
    if grams:
        return
    whole = described(f"{first} {' '.join(right)}")
    assert whole == [*described(first), *described(" ".join(right))]


class Counting(Sequence[Token]):
    """Tokens that count how often they are looked at."""

    def __init__(self, tokens: Sequence[Token]) -> None:
        self.tokens, self.looks = tokens, 0

    @overload
    def __getitem__(self, at: SupportsIndex) -> Token: ...
    @overload
    def __getitem__(self, at: slice) -> Sequence[Token]: ...
    def __getitem__(self, at: SupportsIndex | slice) -> Token | Sequence[Token]:
        found = self.tokens[at]
        self.looks += len(found) if isinstance(found, Sequence) else 1
        return found

    def __len__(self) -> int:
        return len(self.tokens)


@pytest.mark.parametrize(
    "piece",
    ["one", "hundred", "two thousand", "twenty oh", "a", "point five", "seven point five", "and a half",
     "about", "12", "to twelve", "pounds fifty", "between one and", "1/2/3", "grams", "second", "one oh one"],
)  # fmt: skip
def test_reading_is_linear_in_the_tokens(piece: str) -> None:
    looks = []
    for times in (200, 400):
        tokens = Counting(build.tokens(f"{piece} " * times))
        read_quantities(tokens)
        looks.append(tokens.looks)
    assert looks[1] <= 2.1 * looks[0] + 200
