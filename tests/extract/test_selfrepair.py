"""Self-repairs in one breath: what is taken back, what stays, and words that only look like repairs."""

from __future__ import annotations

import pytest

from dictate.extract.selfrepair import ANSWERED_NO, SELF_REPAIR, repaired
from dictate.language.tokens import tokenise
from tests.extract.said import held, phrase, read


def taken_back(text: str) -> list[tuple[str, str]]:
    words = phrase(text).words
    tokens = tokenise(words)
    return [(" ".join(t.text for t in tokens[a:b]), rule) for a, b, rule in repaired(tokens)]


@pytest.mark.parametrize(
    "text",
    [
        "cherry, no, plum",
        "cherry, sorry, plum",
        "cherry, or rather plum",
        "cherry, no wait, plum",
        "cherry, correction, plum",
        "cherry, I mean plum",
        "cherry, oh, no, plum",
        "cherry. No, plum.",
    ],
)
def test_the_clause_before_an_editing_term_is_taken_back(text: str) -> None:
    assert ("cherry", SELF_REPAIR) in taken_back(text)
    assert held(read(text, "nose")) == {"nose.aromas": ["plum"]}


@pytest.mark.parametrize(
    "text",
    [
        "no, plum",
        "no plum",
        "cherry, no plum",
        "lovely, I mean, cherry",
        "there is so much cherry, I mean plum",
        "cherry or rather plum",
        "what a nose, sorry",
    ],
)
def test_nothing_is_taken_back(text: str) -> None:
    assert SELF_REPAIR not in [rule for _, rule in taken_back(text)]


@pytest.mark.parametrize(
    "text", ["is that mint? no, cedar", "is it mint? I don't think so", "hay, yes. mint, no."]
)
def test_a_question_answered_no_denies_what_it_asked(text: str) -> None:
    assert any("mint" in words and rule == ANSWERED_NO for words, rule in taken_back(text))
    denied = [r for r in read(text, "nose") if r.value == "mint"]
    assert [(r.scope, r.rule) for r in denied] == [("denied", ANSWERED_NO)]


@pytest.mark.parametrize(
    "text", ["is that mint? yes, mint", "what mint? no idea", "is that mint? lovely", "mint, no?"]
)
def test_a_question_not_answered_no_denies_nothing(text: str) -> None:
    assert ANSWERED_NO not in [rule for _, rule in taken_back(text)]


def test_a_repair_takes_back_only_what_it_says_anew() -> None:
    values = held(read("deep ruby, no, garnet", "appearance"))
    assert values == {"appearance.depth": 8.0, "appearance.hue": "garnet"}
    assert held(read("it's corked. Sorry, everyone.", "nose")) == {"faults": ["cork taint"]}
