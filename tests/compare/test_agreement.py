"""Kendall's W and the intraclass correlations, against published examples, another library, and laws."""

from __future__ import annotations

import csv
import json
import math
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from statistics import fmean
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import friedmanchisquare, rankdata

from dictate.compare.agreement import intraclass, kendall_w

HERE = Path(__file__).parent
REFERENCE: dict[str, Any] = json.loads((HERE / "reference.json").read_text())
# Shrout & Fleiss 1979, Psychol. Bull. 86: 420-428, table 2: six targets by four judges
SHROUT_FLEISS = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]
VALUES = st.integers(0, 20).map(lambda half: half / 2)


@st.composite
def tables(draw: st.DrawFn, *, values: st.SearchStrategy[float] = VALUES) -> list[list[float]]:
    tasters = draw(st.integers(2, 6))
    row = st.lists(values, min_size=tasters, max_size=tasters)
    return draw(st.lists(row, min_size=3, max_size=8))


@st.composite
def orders(draw: st.DrawFn) -> list[list[float]]:
    """Wines by tasters, each taster without ties."""
    wines, tasters = draw(st.integers(3, 8)), draw(st.integers(2, 6))
    columns = [draw(st.permutations([float(n) for n in range(wines)])) for _ in range(tasters)]
    return [list(row) for row in zip(*columns, strict=True)]


def test_shrout_and_fleiss() -> None:
    """Their table 4: ICC(2,1) = .29, ICC(2,4) = .62; their interval of ICC(2,1) is .02 to .76 (as
    pingouin's)."""
    found = intraclass(SHROUT_FLEISS)
    assert found is not None
    assert round(found.single, 2) == 0.29
    assert round(found.average, 2) == 0.62
    assert found.single_interval == pytest.approx((0.02, 0.76), abs=0.005)
    assert found.average_interval == pytest.approx((0.07, 0.93), abs=0.005)


@pytest.mark.parametrize("case", [*REFERENCE["by chance"], REFERENCE["bitterness"]])
def test_as_pingouin(case: dict[str, Any]) -> None:
    """pingouin 0.7.0, by make_reference.py; it rounds its intervals to two decimals."""
    table = case["table"]
    assert kendall_w(table) == pytest.approx(case["w"], abs=1e-9)
    found = intraclass(table)
    assert found is not None
    assert found.single == pytest.approx(case["icc_2_1"], abs=1e-9)
    assert found.average == pytest.approx(case["icc_2_k"], abs=1e-9)
    assert found.single_interval == pytest.approx(case["interval_2_1"], abs=0.00501)
    if (
        found.average_interval is not None and found.average_interval[0] > -1
    ):  # nearer its pole pingouin has noise
        assert found.average_interval == pytest.approx(case["interval_2_k"], abs=0.00501)


def bitterness() -> list[dict[str, str]]:
    return list(csv.DictReader((HERE / "bitterness.csv").read_text().splitlines()))


@pytest.mark.parametrize(
    ("column", "value", "mean"),
    [("temp", "cold", 35.8), ("temp", "warm", 58.6), ("contact", "no", 40.5), ("contact", "yes", 53.9)],
)
def test_bitterness_means(column: str, value: str, mean: float) -> None:
    """Randall 1989 (Biom. J. 31: 781-793, from memory), as in the R package `ordinal`: 72 ratings by 9
    judges."""
    rows = bitterness()
    assert len(rows) == 72
    assert round(fmean(float(r["response"]) for r in rows if r[column] == value), 1) == mean


def test_the_reference_s_table_is_the_judges_data() -> None:
    by = {(int(r["bottle"]), int(r["judge"])): float(r["response"]) for r in bitterness()}
    assert REFERENCE["bitterness"]["table"] == [[by[b, j] for j in range(1, 10)] for b in range(1, 9)]


def by_formula(table: Sequence[Sequence[float]]) -> float:
    """W = 12 S / (m^2 (n^3 - n) - m T), T the sum of t^3 - t over ties: Siegel 1956, Nonparametric
    Statistics, ch. 9 (from memory)."""
    ranks = [rankdata(column) for column in zip(*table, strict=True)]
    m, n = len(ranks), len(table)
    sums = [sum(r[i] for r in ranks) for i in range(n)]
    s = sum((x - m * (n + 1) / 2) ** 2 for x in sums)
    ties = sum(t**3 - t for r in ranks for t in Counter(r).values())
    return float(12 * s / (m**2 * (n**3 - n) - m * ties))


@given(tables())
def test_w_is_the_textbook_s_and_friedman_s(table: list[list[float]]) -> None:
    assume(any(len(set(column)) > 1 for column in zip(*table, strict=True)))
    w = kendall_w(table)
    assert w is not None
    assert 0 <= w <= 1
    assert w == pytest.approx(by_formula(table), abs=1e-9)
    chi2 = friedmanchisquare(*table).statistic
    assert w == pytest.approx(chi2 / (len(table[0]) * (len(table) - 1)), abs=1e-9)


@given(orders())
def test_a_taster_who_agrees_wholly_does_not_lower_w(table: list[list[float]]) -> None:
    """Without ties, one who puts the wines in the order of their rank sums: by the rearrangement
    inequality."""
    sums = [sum(row) for row in table]
    agreeing = sorted(range(len(table)), key=lambda i: (sums[i], i))
    more = [[*row, float(agreeing.index(i))] for i, row in enumerate(table)]
    before, after = kendall_w(table), kendall_w(more)
    assert before is not None
    assert after is not None
    assert after >= before - 1e-9


@given(tables(), st.randoms(use_true_random=False))
def test_the_order_of_wines_and_tasters_does_not_matter(table: list[list[float]], chance: Any) -> None:
    columns = list(zip(*table, strict=True))
    chance.shuffle(columns)
    other = [list(row) for row in zip(*columns, strict=True)]
    chance.shuffle(other)
    assert kendall_w(other) == pytest.approx(kendall_w(table))
    one, two = intraclass(table), intraclass(other)
    assert (one is None) == (two is None)
    if one and two:
        assert two.single == pytest.approx(one.single, abs=1e-9)


@given(st.lists(VALUES, min_size=3, max_size=8, unique=True), st.integers(2, 6))
def test_who_all_say_the_same_agree_wholly(values: list[float], tasters: int) -> None:
    table = [[value] * tasters for value in values]
    found = intraclass(table)
    assert kendall_w(table) == pytest.approx(1.0)
    assert found is not None
    assert (found.single, found.average) == (pytest.approx(1.0), pytest.approx(1.0))
    assert found.single_interval is None  # no error to reckon with


@pytest.mark.parametrize("table", [[], [[1, 2]], [[3, 3, 3], [3, 3, 3], [3, 3, 3]], [[1], [2], [3]]], ids=str)
def test_nothing_to_agree_on_gives_no_figure(table: list[list[float]]) -> None:
    assert kendall_w(table) is None
    assert intraclass(table) is None


@given(tables(values=st.floats(0, 10)))
def test_figures_are_finite_on_any_table(table: list[list[float]]) -> None:
    found = intraclass(table)
    if found:
        several = () if found.average is None else (found.average, *(found.average_interval or ()))
        assert all(map(math.isfinite, [found.single, *(found.single_interval or ()), *several]))
        assert found.single <= 1 + 1e-9
        assert found.average is None or found.average_interval is None or found.single_interval is not None


def test_two_tasters_who_contradict_each_other_wholly_have_no_correlation() -> None:
    assert intraclass([[1.0, 2.0], [2.0, 1.0]]) is None
    assert intraclass([[1.0, 2.0], [2.0, 1.5]]) is not None
