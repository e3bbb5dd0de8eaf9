"""Phrases for the extract tests, from text, and what a note would hold of their readings: no other room."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from dictate.extract import Rules, compile_rules, read_fields
from dictate.extract.parsed import Parsed, parse_phrase
from dictate.lexicon import Lexicon, load_lexicon, load_table
from dictate.values import Phrase, Reading, Stage, Word

CASES = Path(__file__).parent.parent / "cases" / "extract"
LEXICON: Lexicon = load_lexicon()
RULES: Rules = compile_rules(load_table)
LISTS = (
    "nose.aromas palate.flavours palate.tannin_texture palate.texture finish.flavours"
    " faults wine.grapes wine.origin"
).split()
# said twice in one breath, the first holds
FIRST_HOLDS = ("appearance.hue", "appearance.clarity", "verdict.readiness")


def phrase(text: str, stage: Stage = "palate", *, wine: int = 0) -> Phrase:
    """One breath, each word 0.3 s."""
    words = tuple(Word(w, i * 0.3, i * 0.3 + 0.3) for i, w in enumerate(text.split()))
    return Phrase(words, stage, wine)


def parsed(text: str, stage: Stage = "palate") -> Parsed:
    return parse_phrase(phrase(text, stage), index=0, lexicon=LEXICON, rules=RULES.scope)


def read(text: str, stage: Stage = "palate") -> tuple[Reading, ...]:
    return read_fields([phrase(text, stage)], LEXICON, rules=RULES)


def held(readings: Sequence[Reading]) -> dict[str, Any]:
    """The values that a note would hold: lists by field, else the last said (the first, of a few)."""
    values: dict[str, Any] = {}
    for r in readings:
        if r.act == "drop" or (r.scope == "denied" and r.field in LISTS):
            for name in LISTS:
                values[name] = [v for v in values.get(name, []) if v.rstrip("?") != r.value]
        elif r.scope == "said" and r.field in LISTS:
            value = str(r.value).lower() + ("" if r.certain else "?")
            values[r.field] = [v for v in values.get(r.field, []) if v != value] + [value]
        elif r.scope == "said" and not (r.field in FIRST_HOLDS and r.field in values and not r.corrects):
            values[r.field] = [r.value, r.out_of] if r.field == "verdict.score" else r.value
    return {name: value for name, value in values.items() if value != []}


def fits(want: Any, got: Any) -> bool:
    """An interval, one of "a|b", a set of such, or a plain value."""
    if isinstance(want, str):
        return str(got).lower() in [w.lower() for w in want.split("|")]
    if isinstance(want, list) and want and isinstance(want[0], str):
        rest = list(got) if isinstance(got, list) else []
        for item in want:
            one = next((g for g in rest if fits(item, g)), None)
            if one is None:
                return False
            rest.remove(one)
        return not rest
    if isinstance(want, list) and isinstance(got, list):
        return list(want) == got
    if isinstance(want, list):
        return isinstance(got, int | float) and want[0] <= got <= want[1]
    return bool(want == got)


def faults_of(case: dict[str, Any]) -> list[str]:
    """What is wrong with the readings of a case; empty if all is right. Fields not named must be empty."""
    before = [phrase(b["text"], b["stage"]) for b in case.get("before", [])]
    readings = [
        r
        for r in read_fields([*before, phrase(case["text"], case["stage"])], LEXICON, rules=RULES)
        if r.phrase == len(before)
    ]
    got = held(readings)
    wrong = [f"{n}: wanted {w}, got {got.get(n)}" for n, w in case["said"].items() if not fits(w, got.get(n))]
    also = set(got) - set(case["said"]) - set(case.get("may", []))
    wrong += [f"{name}: wanted nothing, got {got[name]}" for name in sorted(also)]
    denied = [str(r.value) for r in readings if r.scope == "denied"]
    wrong += [
        f"denied {d}: not found in {denied}"
        for d in case.get("denied", [])
        if not any(fits(d, v) for v in denied)
    ]
    return wrong


def load_cases(name: str) -> list[dict[str, Any]]:
    cases: list[dict[str, Any]] = json.loads((CASES / f"{name}.json").read_text(encoding="utf-8"))
    return cases


def params(name: str) -> list[Any]:
    """The cases of a table as parameters; a known failure must fail."""
    return [
        pytest.param(
            case,
            id=f"{case['class']}: {case['label']}",
            marks=[pytest.mark.xfail(strict=True, reason=case.get("comment", "known failure"))]
            if case["status"] == "known failure"
            else [],
        )
        for case in load_cases(name)
    ]
