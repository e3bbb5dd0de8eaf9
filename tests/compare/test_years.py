"""The same wine over the years."""

from __future__ import annotations

import random

from hypothesis import given
from hypothesis import strategies as st

from dictate.compare import compare_years
from dictate.compare.years import ALONE, NO_NAME, NO_VINTAGE, NOT_VINTAGE
from dictate.note import Note
from tests.compare.made import note, notes

WINE = {"producer": "Tin Whistle", "name": "Old Quarry"}


def test_vintages_in_order_with_age_where_the_year_of_tasting_is_known() -> None:
    found = compare_years(
        [
            note("a", vintage=2018, levels={"appearance.depth": 3}, hue="lemon", seconds=12.5, **WINE),
            note("b", vintage=2008, producer="tin whistle", name="OLD QUARRY"),  # case does not part them
            note("c", vintage=2018, **WINE),
        ],
        tasted={"a": 2026, "b": 2024},
    )
    (wine,) = found.wines
    assert wine.wine == "Tin Whistle, Old Quarry"
    ages = [(y.told.glass.id, y.vintage, y.tasted, y.age) for y in wine.years]
    assert ages == [("b", 2008, 2024, 16), ("a", 2018, 2026, 8), ("c", 2018, None, None)]
    told = wine.years[1].told
    assert (told.terms["appearance.hue"], told.levels["appearance.depth"].level) == ("lemon", 3)
    assert told.held is not None
    assert told.held.seconds == 12.5


def test_what_is_left_out_says_why() -> None:
    found = compare_years(
        [
            note("a", vintage="NV", **WINE),
            note("b", **WINE),
            note("c", vintage=2018, **WINE),
            note("d", vintage=2018, grape="riesling"),
        ]
    )
    assert found.wines == ()
    assert sorted(one.reason for one in found.left_out) == sorted([NOT_VINTAGE, NO_VINTAGE, ALONE, NO_NAME])


def test_tasted_before_it_grew_has_no_age() -> None:
    found = compare_years(
        [note("a", vintage=2018, **WINE), note("b", vintage=2030, **WINE)], tasted={"b": 2026}
    )
    assert [y.age for y in found.wines[0].years] == [None, None]


def test_a_wine_without_a_name_is_known_by_its_grapes() -> None:
    tin = {"producer": "Tin Whistle"}
    found = compare_years(
        [
            note("a", vintage=2018, grape="riesling", **tin),
            note("b", vintage=2019, grape="riesling", **tin),
            note("c", vintage=2019, grape="syrah", **tin),
        ]
    )
    assert [[y.told.glass.id for y in w.years] for w in found.wines] == [["a", "b"]]


def test_one_wine_takes_all_notes_and_chooses_no_name_among_differing_ones() -> None:
    found = compare_years([note("a", vintage=2018, **WINE), note("b", vintage=2019)], one_wine=True)
    (wine,) = found.wines
    assert len(wine.years) == 2
    assert wine.wine == "One wine, as given"


@given(notes(), st.randoms(use_true_random=False), st.booleans())
def test_each_note_is_in_once_or_left_out_in_any_order(
    some: list[Note], chance: random.Random, one_wine: bool
) -> None:
    found = compare_years(some, one_wine=one_wine)
    assert sum(len(wine.years) for wine in found.wines) + len(found.left_out) == len(some)
    shuffled = list(some)
    chance.shuffle(shuffled)
    assert compare_years(shuffled, one_wine=one_wine) == found
