"""Every pattern of the rule tables can fire: each of its alternatives, said as written, is found."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest

from dictate.language.patterns import Line, compile_pattern
from dictate.language.tokens import split_word
from dictate.lexicon import load_table
from tests import build

PATTERNS = {
    "scope": lambda t: [
        [re.sub(r"@(\w+)", lambda m: t["words"][m[1]], p) for p in rule["patterns"]] for rule in t["rule"]
    ],
    "stages": lambda t: [patterns for weights in t.values() for patterns in weights.values()],
    "levels": lambda t: [
        *(p for part in ("scale", "quantity", "step", "strength") for p in t[part].values()),
        *(a["nouns"] for a in t["attribute"].values()),
        *(p for a in t["attribute"].values() for p in a.get("words", {}).values()),
    ],
    "terms": lambda t: [said for entry in t.values() for said in entry["terms"].values()],
    "shape": lambda t: [t["introducers"], t["strong"]],
}


def alternatives(element: str) -> list[str]:
    if element.startswith("!") or element in ("^", "$", "…"):
        return [""]
    if element == "*":
        return ["xyz"]
    body = element[:-1] if element.endswith("?") and len(element) > 1 else element
    return [choice.replace("_", " ").replace("#", "five") for choice in body.split("|")]


def texts(pattern: str) -> Iterator[str]:
    """What the pattern asks for as a speaker's line: each alternative once, the first of the others."""
    choices = [alternatives(element) for element in pattern.split()]
    for place, options in enumerate(choices):
        for option in options:
            parts = [c[0] for c in choices[:place]] + [option] + [c[0] for c in choices[place + 1 :]]
            said = " ".join(p for p in parts if p)
            said = f"it{said}" if said.startswith(("'", ",")) else said
            yield re.sub(r" (?=[,?]|'(?:s|re|ve|ll|d|m)\b)", "", said)


def dead(patterns: list[str]) -> list[tuple[str, str]]:
    """Pattern and text where the text, generated from the pattern, is not found by it."""
    return [
        (pattern, text)
        for pattern in patterns
        for text in texts(pattern)
        if not compile_pattern(pattern).search(Line(build.tokens(text)).text)
    ]


@pytest.mark.parametrize("name", PATTERNS)
def test_every_alternative_can_fire(name: str) -> None:
    tables: list[list[str]] = PATTERNS[name](load_table(name))
    assert sum(len(patterns) for patterns in tables) > 10
    assert [found for patterns in tables for found in dead(patterns)] == []


@pytest.mark.parametrize("pattern", ["isn't it ?", "medium ++"])
def test_a_dead_pattern_is_seen(pattern: str) -> None:
    assert dead([pattern])


@pytest.mark.parametrize("key", ["hedges", "sentence"])
def test_small_words_are_tokens(key: str) -> None:
    words: Any = load_table("shape")[key]
    assert [w for w in words if not w.startswith("'") and split_word(w)[0] != (w,)] == []
