"""Each scope rule fires on its own example and not on its counter-sentence, and is needed there."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import pytest

from dictate.extract.scope import Mark, ScopeRule, looks_back, mark_scopes, scope_rules
from dictate.language.tokens import tokenise
from tests.extract.said import RULES, load_cases, phrase

COUNTER = load_cases("scope")
BY_NAME = {rule.name: rule for rule in RULES.scope}


def marks_at(text: str, rules: Sequence[ScopeRule] = RULES.scope) -> set[Mark]:
    """The marks of the tokens of the words in [brackets]."""
    before, _, rest = text.partition("[")
    inside, _, after = rest.partition("]")
    first = len(before.split())
    last = first + len(inside.split())
    tokens = tokenise(phrase(before + inside + after).words)
    marks = mark_scopes(tokens, rules)
    assert len(marks) == len(tokens)
    return {mark for token, mark in zip(tokens, marks, strict=True) if first <= token.word < last}


def without(name: str) -> list[ScopeRule]:
    never = re.compile(r"(?!)")
    return [replace(r, pattern=never) if r.name == name else r for r in RULES.scope]


@pytest.mark.parametrize("rule", RULES.scope, ids=lambda r: r.name)
def test_a_rule_fires_on_its_example(rule: ScopeRule) -> None:
    marks = marks_at(rule.example)
    if rule.scope == "said":
        assert {m.scope for m in marks} == {"said"}
    else:
        assert marks == {Mark(rule.scope, rule.name)}


@pytest.mark.parametrize("rule", RULES.scope, ids=lambda r: r.name)
def test_without_the_rule_its_example_reads_otherwise(rule: ScopeRule) -> None:
    assert marks_at(rule.example, without(rule.name)) != marks_at(rule.example)


@pytest.mark.parametrize("case", COUNTER, ids=lambda c: c["rule"])
def test_a_rule_leaves_its_counter_sentence_alone(case: dict[str, str]) -> None:
    marks = marks_at(case["text"])
    assert {m.scope for m in marks} == {case["scope"]}
    if BY_NAME[case["rule"]].scope != "said":
        assert case["rule"] not in {m.rule for m in marks}


def test_every_rule_has_a_counter_sentence_and_a_name_of_its_own() -> None:
    assert sorted(c["rule"] for c in COUNTER) == sorted(BY_NAME)
    assert len(BY_NAME) == len(RULES.scope)


@pytest.mark.parametrize(
    "text", ["no [oak], vanilla or toast", "no oak, [vanilla] or toast", "no oak, vanilla or [toast]"]
)
def test_a_denied_list_goes_on_to_its_or(text: str) -> None:
    assert {m.scope for m in marks_at(text)} == {"denied"}


def test_a_denial_ends_at_the_comma_where_no_or_follows() -> None:
    assert {m.scope for m in marks_at("no oak, lovely [fruit]")} == {"said"}


@pytest.mark.parametrize("text", ["and there isn't any", "can't find it", "but there's none"])
def test_a_phrase_may_begin_by_denying_the_one_before(text: str) -> None:
    assert looks_back(tokenise(phrase(text).words), RULES.scope) == "there-isnt-any"


@pytest.mark.parametrize("text", ["there isn't any oak", "plum and cherry", "lemon, and there isn't any", ""])
def test_other_phrases_do_not_look_back(text: str) -> None:
    assert looks_back(tokenise(phrase(text).words), RULES.scope) == ""


GOOD = {"id": "a", "scope": "denied", "way": "forward", "patterns": ["no"], "example": "no [oak]"}


@pytest.mark.parametrize("fault", [{"way": "sideways"}, {"scope": "perhaps"}])
def test_an_unknown_way_or_scope_is_refused_by_name(fault: dict[str, str]) -> None:
    with pytest.raises(ValueError, match=r"scope\.toml: a"):
        scope_rules({"rule": [{**GOOD, **fault}]})


def test_a_rule_without_patterns_is_refused() -> None:
    with pytest.raises(KeyError):
        scope_rules({"rule": [{k: v for k, v in GOOD.items() if k != "patterns"}]})
