"""Corrections without a cue: scrapped things are dropped, what is put right says so, the rest stays."""

from __future__ import annotations

import pytest

from tests.extract.said import held, read


@pytest.mark.parametrize(
    "text", ["scrap the violets", "forget the violets", "take out the violets", "scratch the violets"]
)
def test_a_thing_scrapped_is_dropped(text: str) -> None:
    dropped = [r for r in read(text, "nose") if r.act == "drop"]
    assert {r.value for r in dropped} == {"violet"}
    assert all(r.corrects and r.source == "stated later" for r in dropped)
    assert held(read(text, "nose")) == {}


def test_an_unknown_thing_can_be_scrapped_too() -> None:
    assert [(r.act, r.value) for r in read("scrap the hamster cage", "nose")] == [("drop", "hamster cage")]


@pytest.mark.parametrize(
    ("text", "field", "value"),
    [
        ("I said light body, I meant medium body", "palate.body", 5.0),
        ("no, make the acidity high", "palate.acidity", 8.0),
        ("correction, tannin low", "palate.tannin", 2.2),
        ("on second thoughts the acidity is low", "palate.acidity", 2.2),
    ],
)
def test_what_is_put_right_corrects(text: str, field: str, value: float) -> None:
    right = [r for r in read(text) if r.field == field and r.scope == "said"]
    assert [(r.value, r.corrects, r.source) for r in right] == [(value, True, "stated later")]


def test_a_thing_said_wrong_is_dropped_for_the_thing_meant() -> None:
    text = "I said cherry, I meant plum"
    assert [(r.value, r.act) for r in read(text, "nose")] == [("cherry", "drop"), ("plum", "set")]


@pytest.mark.parametrize(
    "text", ["plum, as I said", "it makes the acidity high", "I mean it, plum", "drop of honey"]
)
def test_talk_corrects_nothing(text: str) -> None:
    assert not any(r.corrects or r.act == "drop" for r in read(text))
