"""Bare denials: clauses that deny and name nothing look back; tags and clauses with a thing do not."""

from __future__ import annotations

import pytest

from dictate.extract.bare import RULE, bare_denials
from dictate.language.tokens import tokenise
from tests.extract.said import phrase, read


def found(text: str, things: frozenset[int] = frozenset()) -> list[str]:
    tokens = tokenise(phrase(text).words)
    return [" ".join(t.text for t in tokens[a:b]) for a, b in bare_denials(tokens, things)]


@pytest.mark.parametrize(
    ("text", "clause"),
    [("violets, which this hasn't", "which this hasn't"), ("cider, and got none", "and got none")],
)
def test_a_bare_denial_is_found(text: str, clause: str) -> None:
    assert found(text) == [clause]


@pytest.mark.parametrize(
    "text", ["lovely, isn't it", "bright, nothing in it", "cherry, no", "there isn't any", "cherry, not plum"]
)
def test_other_clauses_are_no_bare_denial(text: str) -> None:
    assert found(text) == []


def test_a_clause_with_a_thing_of_the_trade_is_no_bare_denial() -> None:
    assert found("cherry, not a bit", frozenset([3])) == []


def test_what_stands_before_is_denied_by_name() -> None:
    violets = [r for r in read("the Cabernet was violets, which this hasn't", "nose") if r.value == "violet"]
    assert [r.scope for r in violets] == ["denied"]
    assert RULE == "bare-denial"
