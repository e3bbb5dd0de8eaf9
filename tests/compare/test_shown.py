"""A comparison as tables, as CSV and as the content of a picture."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.compare import (
    Comparison,
    as_rows,
    as_sheet,
    as_tables,
    compare_notes,
    compare_repeats,
    compare_tasters,
    compare_years,
)
from dictate.compare.sheet import Mark
from dictate.compare.tables import MISSING, OIV_LINE, number
from dictate.note import Note
from tests.compare.made import flight, never_stopped, note, notes


def every_kind(some: list[Note], others: list[Note]) -> list[Comparison]:
    return [
        compare_notes(some),
        compare_years(some, tasted={n.id: 2026 for n in some}, one_wine=True),
        compare_repeats(some, one_wine=True),
        compare_tasters({"Ann": some, "Bo": others}),
    ]


def cells(comparison: Comparison, title: str = "") -> dict[str, tuple[str, ...]]:
    return {row[0]: row[1:] for t in as_tables(comparison) if t.title == title for row in t.rows}


def test_cells_tell_missing_and_how_a_finish_is_known() -> None:
    rows = cells(
        compare_notes(
            [
                note("a", position=1, levels={"palate.acidity": 0}, seconds=13.4),
                note("b", position=2, history=never_stopped("never stopped: at least 5.40 s")),
                note("c", position=3, seconds=12, how="stated", points=90),
            ]
        )
    )
    assert rows["acidity"] == ("0 none", MISSING, MISSING)
    assert rows["finish, seconds"] == ("13.40", "at least 5.40", "about 12")
    assert rows["finish is"] == ("timed", "open", "stated")
    assert rows["score"] == (MISSING, MISSING, "90 of 100")


def test_a_wine_is_known_by_its_number_here_and_its_place_in_the_flight() -> None:
    some = [
        note("a", position=1, producer="Tin Whistle"),
        note("b", position=7, producer="Copper Ladle"),
        note("c"),
    ]
    key = cells(compare_notes(some), "Wines")
    assert key["1"] == ("Tin Whistle",)
    assert key["2"] == ("Copper Ladle (number 7 of its flight)",)
    assert key["3"] == ("A wine without a name",)


def test_wide_flights_come_in_blocks_without_losing_a_wine() -> None:
    found = compare_notes(flight(20, missing=0))
    blocks = [t for t in as_tables(found, across=8) if t.title == "" and t.rows]
    assert [len(t.heads) - 1 for t in blocks] == [8, 8, 4]
    assert [head for t in blocks for head in t.heads[1:]] == [str(n) for n in range(1, 21)]


def test_the_rule_of_scores_names_its_source_and_that_it_is_history() -> None:
    scores = {f"T{n}": [note(f"{n}", position=1, points=p)] for n, p in enumerate((88, 90, 86, 89, 72))}
    (table,) = [t for t in as_tables(compare_tasters(scores)) if t.title == "Scores out of 100"]
    assert table.rows == (("1", "5", "85", "T4 72", "88.25"),)
    assert table.foot == (OIV_LINE,)
    assert "332A/2009" in OIV_LINE
    assert "history: replaced by OIV-OENO 671A-2025" in OIV_LINE


@pytest.mark.parametrize(
    ("value", "shown"),
    [(None, "–"), (0.0, "0"), (-0.001, "0"), (-0.5, "-0.5"), (10.0, "10"), (100.0, "100"), (2.345, "2.35")],
)
def test_numbers(value: float | None, shown: str) -> None:
    assert number(value) == shown


@given(notes(), notes())
def test_tables_and_rows_are_rectangular(some: list[Note], others: list[Note]) -> None:
    for comparison in every_kind(some, others):
        for table in as_tables(comparison):
            assert {len(row) for row in table.rows} <= {len(table.heads)}
        rows = as_rows(comparison)
        assert len({len(row) for row in rows}) == 1
        assert len(set(rows[0])) == len(rows[0])


@given(notes(), notes())
def test_a_picture_shows_each_value_and_nothing_else(some: list[Note], others: list[Note]) -> None:
    beside = compare_notes(some)
    sheet = as_sheet(beside)
    for told, row in zip(beside.glasses, sheet.rows, strict=True):
        marks = dict(zip([c.field for c in sheet.columns], row.marks, strict=True))
        levels = {f: m.values for f, m in marks.items() if m and f in told.levels}
        assert levels == {f: (said.level,) for f, said in told.levels.items()}
        assert {f for f, m in marks.items() if m is not None} >= told.levels.keys()
    for comparison in every_kind(some, others):
        sheet = as_sheet(comparison)
        for row in sheet.rows:
            for column, mark in zip(sheet.columns, row.marks, strict=True):
                assert all(value <= column.most for value in (mark or Mark()).values)


def test_the_description_tells_what_is_seen() -> None:
    some = [
        note("a", position=1, producer="Tin Whistle", levels={"palate.acidity": 8}, seconds=13.42),
        note("b", position=2, producer="Copper Ladle", levels={"palate.body": 5}),
    ]
    told = as_sheet(compare_notes(some)).description
    assert "Tin Whistle: acidity 8; body not said; finish, seconds 13.42." in told
    assert "Copper Ladle: acidity not said; body 5; finish, seconds not said." in told


FORMULAS = ("=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "＝1")


@given(st.sampled_from(FORMULAS))
def test_no_cell_of_a_csv_is_a_formula(evil: str) -> None:
    """Which signs begin one: OWASP, "CSV Injection"; numbers below 0 are numbers and stay."""
    some = [
        note(
            "a", position=1, producer=evil, name=evil, vintage=2018, smells=(evil,), levels={"palate.body": 3}
        ),
        note(
            "b", position=2, producer=evil, name=evil, vintage=2019, smells=(evil,), levels={"palate.body": 5}
        ),
    ]
    tasters = compare_tasters({evil: some, "Bo": some, "=Cy": some})
    for comparison in (*every_kind(some, some), tasters):
        for row in as_rows(comparison):
            for cell in row:
                assert cell[:1] not in "=+@\t＝" or not cell
                assert not cell.startswith("-") or float(cell) <= 0
