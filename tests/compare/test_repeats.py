"""Repeatability of one taster."""

from __future__ import annotations

import random
from statistics import stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.compare import compare_repeats
from dictate.note import Note
from tests.compare.made import note, notes

WINE = {"producer": "Tin Whistle", "name": "Old Quarry"}
# Bland & Altman 1986, Lancet i: 307-310, table 1: peak flow of 17 people, two readings each by two meters
# (readings from memory; they give the coefficients of repeatability printed there, 43.2 and 56.4 l/min)
LARGE = (
    "494 490 395 397 516 512 434 401 476 470 557 611 413 415 442 431 650 638 433 429 417 420 656 633 267 275 "
    "478 492 178 165 423 372 427 421"
)
MINI = (
    "512 525 430 415 520 508 428 444 500 500 600 625 364 460 380 390 658 642 445 432 432 420 626 605 260 227 "
    "477 467 259 268 350 370 451 443"
)


@pytest.mark.parametrize(("readings", "printed"), [(LARGE, 43.2), (MINI, 56.4)], ids=["large", "mini"])
def test_bland_and_altman(readings: str, printed: float) -> None:
    """Theirs is twice the standard deviation of the differences, about a mean of none: 2 root 2 s."""
    values = [float(r) for r in readings.split()]
    pours = [
        note(f"{n}", producer=f"Person {n // 2}", name="Flow", seconds=value, position=n + 1)
        for n, value in enumerate(values)
    ]
    (field,) = compare_repeats(pours).fields
    assert (field.wines, field.pours, field.freedom) == (17, 34, 17)
    assert 2 * 2**0.5 * field.sd == pytest.approx(printed, abs=0.1)
    assert field.limit == pytest.approx(2.8 * field.sd)


def test_pours_of_one_wine_by_hand() -> None:
    found = compare_repeats(
        [
            note("a", levels={"palate.acidity": 7, "palate.body": 5}, seconds=10.0, position=1, **WINE),
            note("b", levels={"palate.acidity": 8}, seconds=12.0, position=4, **WINE),
            note("c", levels={"palate.acidity": 9}, seconds=11.0, how="stated", position=6, **WINE),
        ]
    )
    (wine,) = found.wines
    assert wine.values["palate.body"] == (5, None, None)  # missing stays missing
    fields = {f.field: f for f in found.fields}
    assert "palate.body" not in fields  # of one pour there is nothing to repeat
    assert fields["palate.acidity"].sd == pytest.approx(1.0)
    assert fields["palate.acidity"].relative is None  # a response scale has no ratios
    finish = fields["finish.seconds"]
    assert finish.pours == 2  # a stated length is none that was timed
    assert finish.sd == pytest.approx(stdev([10, 12]))
    assert finish.relative == pytest.approx(stdev([10, 12]) / 11)


def test_vintages_of_a_wine_are_not_its_pours_and_nameless_glasses_only_with_one_wine() -> None:
    some = [note("a", vintage=2018, **WINE), note("b", vintage=2019, **WINE), note("c"), note("d")]
    assert len(compare_repeats(some).left_out) == 4
    assert [len(w.pours) for w in compare_repeats(some, one_wine=True).wines] == [4]


@given(notes(), st.randoms(use_true_random=False), st.booleans())
def test_laws(some: list[Note], chance: random.Random, one_wine: bool) -> None:
    found = compare_repeats(some, one_wine=one_wine)
    assert sum(len(wine.pours) for wine in found.wines) + len(found.left_out) == len(some)
    for field in found.fields:
        assert 0 <= field.sd <= field.limit
        assert field.freedom == field.pours - field.wines > 0
    shuffled = list(some)
    chance.shuffle(shuffled)
    assert compare_repeats(shuffled, one_wine=one_wine) == found


@given(st.lists(st.floats(0, 10), min_size=2, max_size=8))
def test_of_one_wine_it_is_the_plain_standard_deviation(values: list[float]) -> None:
    pours = [note(f"{n}", levels={"palate.body": v}, **WINE) for n, v in enumerate(values)]
    (field,) = compare_repeats(pours).fields
    said = [p.palate.body.level for p in pours if p.palate.body]
    assert field.sd == pytest.approx(stdev(said), abs=1e-9)
