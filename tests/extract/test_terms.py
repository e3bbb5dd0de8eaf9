"""Closed terms: every term acts and refrains; the longer spelling wins; denial of a denial."""

from __future__ import annotations

from typing import Any

import pytest

from dictate.extract.terms import term_fields
from dictate.lexicon import load_table
from tests.extract.said import held, load_cases, read

CASES = load_cases("terms")


def terms(text: str, case: dict[str, Any]) -> list[str]:
    said = [r for r in read(text, case["stage"]) if r.field == case["field"] and r.scope == "said"]
    return [str(r.value) for r in said]


@pytest.mark.parametrize("case", CASES, ids=lambda c: c["label"])
def test_a_term_acts(case: dict[str, Any]) -> None:
    assert terms(case["text"], case) == [case["term"]]


@pytest.mark.parametrize("case", CASES, ids=lambda c: c["label"])
def test_a_term_refrains(case: dict[str, Any]) -> None:
    assert case["term"] not in terms(case["never"], case)


def test_every_term_has_a_case() -> None:
    made = term_fields(load_table("terms"))
    assert sorted((f.field, term) for f in made for term, _ in f.terms) == sorted(
        (c["field"], c["term"]) for c in CASES
    )


def test_the_longer_spelling_wins() -> None:
    assert held(read("nothing sticks out"))["palate.balance"] == "balanced"
    assert held(read("not ready", "verdict"))["verdict.readiness"] == "keep"


@pytest.mark.parametrize("text", ["it lacks balance", "it isn't balanced", "not quite balanced"])
def test_a_denied_balance_is_an_unbalance(text: str) -> None:
    assert held(read(text))["palate.balance"] == "unbalanced"


def test_a_term_of_another_stage_is_none() -> None:
    assert held(read("a bit hazy", "nose")) == {}


def test_a_field_without_stages_is_refused() -> None:
    with pytest.raises(KeyError):
        term_fields({"clarity": {"terms": {"clear": ["clear"]}}})
