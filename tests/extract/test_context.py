"""The published rules of NegEx and ConText in tasting speech (`context.py` tells where each stands)."""

from __future__ import annotations

from collections import Counter

import pytest

from tests.extract.context import (
    MEDSPACY_PYTHON,
    Case,
    bracketed,
    cohens_kappa,
    context_cases,
    medspacy_denies,
    recorded_denials,
    scopes_of,
    shared_cases,
)

CASES = context_cases()


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.marked)
def test_a_published_rule_reads_as_it_should(case: Case) -> None:
    found = scopes_of(case)
    assert found
    assert found <= set(case.scopes)


def test_a_case_names_its_rule_and_source_and_is_there_once() -> None:
    assert all(case.rule and case.source and case.kind for case in CASES)
    assert max(Counter(case.marked for case in CASES).values()) == 1
    assert sum(case.source not in ("ours", "from memory") for case in CASES) >= 100


def test_both_answers_are_asked_for() -> None:
    denied = sum(case.denied for case in shared_cases())
    assert 30 <= denied <= len(shared_cases()) - 30


def test_medspacy_finds_the_plain_denials_that_ours_finds() -> None:
    """Pseudo-negations apart, which its version 1.3.1 ships without, the two mean the same by a denial."""
    theirs = recorded_denials()
    plain = [case for case in shared_cases() if case.kind in ("published sentence", "pre", "post")]
    differ = [c.marked for c in plain if theirs[c.marked] != ("denied" in scopes_of(c))]
    assert differ == ["no increase in the [oak]"]


def test_every_shared_case_has_a_recorded_answer() -> None:
    theirs = recorded_denials()
    assert [case.marked for case in shared_cases() if case.marked not in theirs] == []


@pytest.mark.skipif(
    not MEDSPACY_PYTHON.exists(),
    reason="needs .venv/medspacy (medspacy wants numpy below 2): tests/bench/bench_denial.py tells how",
)
def test_the_record_is_what_medspacy_says() -> None:
    cases, theirs = shared_cases(), recorded_denials()
    answers = dict(zip((c.marked for c in cases), medspacy_denies(cases), strict=True))
    assert answers == {case.marked: theirs[case.marked] for case in cases}


def test_kappa_is_agreement_beyond_chance() -> None:
    """Worked by hand: 35 of 50 agreed, 25 of 50 expected by chance."""
    one = [True] * 25 + [False] * 25
    other = [True] * 20 + [False] * 5 + [True] * 10 + [False] * 15
    assert cohens_kappa(one, other) == pytest.approx(0.4)
    assert cohens_kappa(one, one) == 1
    assert cohens_kappa([True, False], [False, True]) == -1
    with pytest.raises(ValueError, match="same cases"):
        cohens_kappa([True], [])


def test_a_marked_sentence_loses_only_its_brackets() -> None:
    case = bracketed("no [cork taint] here", "denied|past")
    assert (case.text, case.text[case.first : case.last]) == ("no cork taint here", "cork taint")
    assert not case.denied
    assert bracketed("no [oak]", "denied").denied
