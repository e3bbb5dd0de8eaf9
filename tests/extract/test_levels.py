"""Levels: every value group of the table acts and refrains; degrees find the thing they measure."""

from __future__ import annotations

from typing import Any

import pytest

from dictate.extract import read_fields
from dictate.lexicon import load_table
from dictate.values import Stage
from tests.extract.said import LEXICON, RULES, held, load_cases, phrase, read

CASES = load_cases("levels")


def levels(text: str, case: dict[str, Any]) -> list[float | None]:
    of_thing = case["group"].startswith("strength/")
    said = [r for r in read(text, case["stage"]) if r.field == case["field"] and r.scope == "said"]
    return [r.strength if of_thing else float(r.value) for r in said]


@pytest.mark.parametrize("case", CASES, ids=lambda c: c["group"])
def test_a_value_group_acts(case: dict[str, Any]) -> None:
    assert case["level"] in levels(case["text"], case)


@pytest.mark.parametrize("case", CASES, ids=lambda c: c["group"])
def test_a_value_group_refrains(case: dict[str, Any]) -> None:
    assert case["level"] not in levels(case["never"], case)


def test_every_value_group_has_a_case() -> None:
    table = load_table("levels")
    groups = [
        f"{kind}/{value}" for kind in ("scale", "quantity", "step", "strength") for value in table[kind]
    ]
    for name, entry in table["attribute"].items():
        groups += [f"attribute.{name}/{value}" for value in entry.get("words", {})]
    assert sorted(c["group"] for c in CASES) == sorted(groups)


@pytest.mark.parametrize(
    ("text", "want"),
    [
        ("acid and tannin are both high", {"palate.acidity": 8, "palate.tannin": 8}),
        ("high acid low tannin", {"palate.acidity": 8, "palate.tannin": 2.2}),
        ("acid high tannin low", {"palate.acidity": 8, "palate.tannin": 2.2}),
        ("the acid is high for such low alcohol", {"palate.acidity": 8, "palate.alcohol": 2.2}),
        ("acidity seven out of ten", {"palate.acidity": 7}),
        ("acidity four out of five", {"palate.acidity": 8}),
        ("acidity seven, tannin six and a half", {"palate.acidity": 7, "palate.tannin": 6.5}),
        ("medium, body and alcohol", {"palate.body": 5, "palate.alcohol": 5}),
        ("it's high, the acidity, then medium, no, low", {"palate.acidity": 2.2}),
        ("the body is somewhere between medium and full", {"palate.body": 6.5}),
        ("acidity medium plus to high", {"palate.acidity": 7.25}),
        ("medium body and full tannin", {"palate.body": 5, "palate.tannin": 8}),
        ("medium, no, a bit higher than that, the acidity", {"palate.acidity": 6.6}),
        ("the tannin isn't particularly high", {"palate.tannin": 3.75}),
        ("too much alcohol", {"palate.alcohol": 8}),
        # of a thing that no table knows, not of what was named before
        ("acidity fairly high, hardly any turpin", {"palate.acidity": 7}),
        ("acid's medium plus, tenor low, hardly there", {"palate.acidity": 6.5}),
        ("acidity high, hardly any at all", {"palate.acidity": 1.2}),
        ("body light, call it medium minus", {"palate.body": 3.75}),
        ("acidity high, slightly lower than that, in fact", {"palate.acidity": 6.7}),
    ],
)
def test_a_degree_binds_to_its_thing(text: str, want: dict[str, float]) -> None:
    assert held(read(text)) == want


@pytest.mark.parametrize(
    "text", ["alcohol fourteen", "alcohol nine", "acidity seven grams", "seven wines, acidity", "medium"]
)
def test_a_figure_or_degree_of_nothing_measures_nothing(text: str) -> None:
    assert held(read(text)) == {}


@pytest.mark.parametrize("stage", ["identity", "aside", "cue"])
def test_stages_without_levels_give_none(stage: Stage) -> None:
    assert [r for r in read("acidity high", stage) if r.field == "palate.acidity"] == []


def test_focus_goes_over_to_the_next_phrase_of_the_stage_and_wine_only() -> None:
    def after(second: str, stage: Stage = "palate", wine: int = 0) -> list[Any]:
        both = [phrase("the acidity is medium"), phrase(second, stage, wine=wine)]
        return [r.value for r in read_fields(both, LEXICON, rules=RULES) if r.phrase == 1]

    assert after("a bit higher than that") == [6.6]
    assert after("a bit higher than that", wine=1) == []
    assert after("a bit higher than that", "nose") == []


def test_a_word_with_its_own_negator_is_no_denial() -> None:
    reading = next(r for r in read("it isn't short of acidity") if r.field == "palate.acidity")
    assert (reading.scope, reading.value) == ("said", 6.5)


def test_a_step_stays_on_the_scale() -> None:
    assert held(read("acidity very high, higher than that, higher than that"))["palate.acidity"] == 10.0
