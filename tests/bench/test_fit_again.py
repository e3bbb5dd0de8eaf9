"""The fit of the second hearing's weights: rows, outcomes, and what would be put in place."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import pytest

from dictate.values import Word
from tests.bench.fit_again import Case, cases, errors, hearing_with, utterances, weighed, with_steps
from tests.bench.heard import repairs

TRUTH, HEARD, OTHER = "made from lambrusco alone", "made from lambrusca alone", "made from lambrusca a loan"


def words(text: str) -> list[Word]:
    return [Word(w, n * 0.3, n * 0.3 + 0.3, 0.4, 0) for n, w in enumerate(text.split())]


def row(**gains: float) -> dict[str, Any]:
    known = [[2, 3, text, gain] for text, gain in gains.items()]
    return {
        "key": "one",
        "truth": TRUTH,
        "asked": [{"words": [asdict(w) for w in words(HEARD)], "others": [OTHER], "gains": known}],
    }


def only(**gains: float) -> Case:
    (case,) = cases([row(**gains)], hearing_with(repairs()))
    return case


def test_word_errors_are_those_of_normalised_texts() -> None:
    assert errors("the colour is pale, number eight", "The color is pale number 8.") == 0
    assert errors("sour cherry", "sour sherry in") == 2
    assert errors("sour cherry", "") == 2


def test_a_proposal_is_right_where_the_text_gets_better() -> None:
    case = only(lambrusco=3.0)
    outcomes = dict(
        zip([p.target.text for p in case.proposals], case.outcomes(hearing_with(repairs())), strict=True)
    )
    assert outcomes["lambrusco"]
    assert sum(outcomes.values()) < len(outcomes)
    assert dict(zip([p.target.text for p in case.proposals], case.gains, strict=True))["lambrusco"] == 3.0


def test_what_is_put_in_place_counts() -> None:
    assert with_steps([only(lambrusco=6.0)], repairs(), at_least=0.3) == (0, 0)
    assert with_steps([only()], repairs(), at_least=0.3) == (1, 0)
    never = weighed(["bias"], [-50.0])
    assert with_steps([only(lambrusco=6.0)], never, at_least=0.3) == (1, 0)


@pytest.mark.parametrize("asked", [[], [{}, {}]])
def test_only_single_breath_groups_count(asked: list[dict[str, Any]]) -> None:
    assert list(cases([{**row(), "asked": asked}], hearing_with(repairs()))) == []


def test_nothing_of_the_measure_set_is_heard() -> None:
    from tests.bench.spoken import VOICES, ordinary_utterances, term_utterances

    measured = {
        u.text for u in (*term_utterances("measure", VOICES), *ordinary_utterances("measure", VOICES))
    }
    assert not measured & {u.text for u in utterances(20, "quarter")}
