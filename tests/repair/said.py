"""Words for the repair tests, from text: no recogniser, no other room."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from dictate.lexicon import load_lexicon, load_table
from dictate.pipeline import sounds_of
from dictate.repair import Repaired, RepairTable, repair_table, repair_words
from dictate.values import Word

CASES = Path(__file__).parent.parent / "cases" / "repair"
TABLE: RepairTable = repair_table(load_table("repair"))


def spoken(*lines: str, confidence: float = 0.9) -> list[Word]:
    """Lines as utterances 0.8 s apart, each word 0.3 s long."""
    words: list[Word] = []
    at = 1.0
    for number, line in enumerate(lines):
        for text in line.split():
            words.append(Word(text, at, at + 0.3, confidence, number))
            at += 0.3
        at += 0.8
    return words


def mended(words: Sequence[Word]) -> Repaired:
    """Words repaired with the shipped lexicon."""
    lexicon = load_lexicon()
    return repair_words(words, lexicon, table=TABLE, sounds=sounds_of(lexicon))


def repaired(*lines: str, confidence: float = 0.9) -> Repaired:
    return mended(spoken(*lines, confidence=confidence))


def lines_of(words: tuple[Word, ...] | list[Word]) -> list[str]:
    """The text of each utterance."""
    numbers = sorted({word.utterance for word in words})
    return [" ".join(w.text for w in words if w.utterance == number) for number in numbers]


def load_cases(name: str) -> list[dict[str, Any]]:
    cases: list[dict[str, Any]] = json.loads((CASES / f"{name}.json").read_text(encoding="utf-8"))
    return cases
