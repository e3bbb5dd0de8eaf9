"""Nothing unsaid is asserted, and what was said is: sentences of a taster at work (`unsaid.py`)."""

from __future__ import annotations

from typing import Any

import pytest

from tests.extract.said import load_cases
from tests.extract.unsaid import faults_of, marked, tally

CASES = load_cases("unsaid")


def _params() -> list[Any]:
    return [
        pytest.param(
            case,
            id=f"{case['kind']}: {case['text']}",
            marks=[pytest.mark.xfail(strict=True, reason=case["comment"])]
            if case["status"] == "known failure"
            else [],
        )
        for case in CASES
    ]


@pytest.mark.parametrize("case", _params())
def test_what_is_not_observed_is_not_read(case: dict[str, Any]) -> None:
    assert faults_of(case["text"], case["stage"]) == []


def test_each_kind_has_sentences_that_are_observations_after_all() -> None:
    kinds = {c["kind"] for c in CASES}
    counters = {c["kind"] for c in CASES if c["counter"]}
    assert kinds == counters
    assert all(marked(c["text"]).seen if c["counter"] else marked(c["text"]).unsaid for c in CASES)
    assert sum(c["counter"] for c in CASES) >= len(CASES) / 3


def test_a_tally_counts_sentences_by_kind() -> None:
    counts = tally("made on")
    assert sum(one["sentences"] for one in counts.values()) == sum(c["part"] == "made on" for c in CASES)
    known = sum(c["part"] == "made on" and c["status"] == "known failure" for c in CASES)
    assert sum(one["sentences"] - one["right"] for one in counts.values()) == known


def test_a_mark_is_its_words() -> None:
    case = marked("clean and {oak}-free, [green apple] <round>")
    assert case.text == "clean and oak-free, green apple round"
    assert (case.unsaid, case.seen, case.either) == (((2, 3),), ((3, 5),), ((5, 6),))


@pytest.mark.parametrize(
    ("text", "first"),
    [
        ("lots of {oak}", "asserted nose.aromas 'oak'"),
        ("lots of oak", "asserted nose.aromas 'oak'"),
        ("no [oak] at all", "missed 'oak'"),
    ],
)
def test_a_wrong_reading_is_told(text: str, first: str) -> None:
    assert faults_of(text, "nose")[0] == first
