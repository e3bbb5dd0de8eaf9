"""Corrections without a cue: scrapped things are dropped, what is put right says so, the rest stays."""

from __future__ import annotations

import pytest

from dictate.extract import read_fields
from dictate.values import Reading
from tests.extract.said import LEXICON, RULES, held, phrase, read


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


def after(*said: tuple[str, str]) -> list[Reading]:
    """The readings of the last of some phrases (stage, text)."""
    phrases = [phrase(text, stage) for stage, text in said]  # type: ignore[arg-type]
    return [r for r in read_fields(phrases, LEXICON, rules=RULES) if r.phrase == len(said) - 1]


@pytest.mark.parametrize(
    "text",
    [
        "no, make the acidity high", "no, make that high", "sorry, the acidity is high", "wait, acidity high",
        "correction, the acidity is high", "actually the acidity is high", "no, the acidity is high",
        "not medium, high", "I take that back, it's high", "change acidity to high", "make acidity high",
        "I meant high acidity", "I should have said high acidity", "on second thoughts, high acidity",
        "acidity, change that to high", "I said medium, I meant high", "scrap that, acidity high",
    ],
)  # fmt: skip
def test_each_way_to_put_a_level_right_corrects_it(text: str) -> None:
    (level,) = [r for r in after(("palate", "the acidity is medium"), ("palate", text)) if r.scope == "said"]
    assert (level.field, level.value, level.corrects, level.source) == (
        "palate.acidity", 8.0, True, "stated later",
    )  # fmt: skip


@pytest.mark.parametrize(
    "text", ["the acidity is high", "no, the acidity is medium", "no, the body is full", "high, not low"]
)
def test_what_is_new_or_the_same_corrects_nothing(text: str) -> None:
    assert not any(r.corrects for r in after(("palate", "the acidity is medium"), ("palate", text)))


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("scrap the acidity", "palate.acidity"),
        ("forget what I said about the acidity", "palate.acidity"),
        ("delete the score", "verdict.score"),
        ("scrap the colour", "appearance.hue"),
    ],
)
def test_a_level_or_a_score_can_be_scrapped(text: str, field: str) -> None:
    assert [(r.field, r.act) for r in read(text)] == [(field, "drop")]


@pytest.mark.parametrize(
    ("stage", "field"),
    [("nose", "nose.aromas"), ("palate", "palate.flavours"), ("finish", "finish.flavours")],
)
@pytest.mark.parametrize("text", ["make the violets roses", "I said violets, I meant roses"])
def test_what_takes_the_place_of_a_thing_goes_where_that_was(text: str, stage: str, field: str) -> None:
    readings = after((stage, "violets"), ("palate", text))
    assert [(r.field, r.act, r.value) for r in readings if r.act == "set"] == [(field, "set", "rose")]
    assert "violet" in [r.value for r in readings if r.act == "drop"]
