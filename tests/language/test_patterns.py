"""Patterns over tokens: each piece of their grammar where it matches and where it must not."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given

from dictate.language.patterns import Line, compile_any, compile_pattern
from dictate.language.tokens import tokenise
from dictate.values import Word
from tests import build
from tests.build import load_cases

CASES = load_cases("language", "patterns")


def spans(pattern: str, text: str) -> list[str]:
    made = build.words(text)
    tokens = build.tokens(text)
    return [
        build.said(made[tokens[a].word : tokens[b - 1].word + 1])
        for a, b in Line(tokens).spans(compile_pattern(pattern))
    ]


@pytest.mark.parametrize(
    "case", [c for c in CASES if c["found"]], ids=lambda c: f"{c['pattern']} in {c['text']}"
)
def test_hits(case: dict[str, Any]) -> None:
    assert spans(case["pattern"], case["text"]) == case["found"]


@pytest.mark.parametrize(
    "case", [c for c in CASES if not c["found"]], ids=lambda c: f"{c['pattern']} not in {c['text']}"
)
def test_negatives(case: dict[str, Any]) -> None:
    assert spans(case["pattern"], case["text"]) == []


def test_as_many_negatives_as_hits() -> None:
    assert sum(not c["found"] for c in CASES) >= sum(bool(c["found"]) for c in CASES)


def test_the_first_pattern_listed_wins_at_a_place() -> None:
    line = Line(build.tokens("very dry"))
    assert list(line.spans(compile_any(["very", "very dry"]))) == [(0, 1)]
    assert list(line.spans(compile_any(["very dry", "very"]))) == [(0, 2)]


def test_no_patterns_match_nothing() -> None:
    assert list(Line(build.tokens("very dry")).spans(compile_any([]))) == []


def test_a_pattern_s_marks_are_taken_as_they_stand() -> None:
    assert spans("a.b", "axb") == []
    assert spans("(", "( plum") == []


@given(build.any_words())
def test_spans_lie_inside_the_tokens(words: tuple[Word, ...]) -> None:
    line = Line(tokenise(words))
    for pattern in ("*", "# … points", "no , *", "… gone", "the? *"):
        for first, last in line.spans(compile_pattern(pattern)):
            assert 0 <= first < last <= len(line.tokens)


def test_any_word_matches_each_token_once_without_pauses() -> None:
    line = Line(build.tokens("one two three four"))
    assert list(line.spans(compile_pattern("*"))) == [(0, 1), (1, 2), (2, 3), (3, 4)]
