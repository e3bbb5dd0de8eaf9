"""Words for the cue tests, from text: no recogniser, no other room."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from dictate.cues import CueTable, FoundCues, cue_table
from dictate.lexicon import load_table
from dictate.values import Word

CASES = Path(__file__).parent.parent / "cases" / "cues"
WORD_S = 0.3
TABLE: CueTable = cue_table(load_table("cues"))


def said(text: str, *, at: float = 1.0, utterance: int = 0) -> list[Word]:
    """One utterance. "(0.5)" is a silence of 0.5 s in it; each word lasts 0.3 s."""
    words: list[Word] = []
    for piece in text.split():
        if piece.startswith("(") and piece.endswith(")"):
            at += float(piece[1:-1])
            continue
        words.append(Word(piece, at, at + WORD_S, 0.9, utterance))
        at += WORD_S
    return words


def spoken(*lines: str, gap_s: float = 0.8) -> list[Word]:
    """Utterances, each `gap_s` behind the one before."""
    words: list[Word] = []
    for number, line in enumerate(lines):
        words += said(line, at=words[-1].end_s + gap_s if words else 1.0, utterance=number)
    return words


def text_of(words: tuple[Word, ...] | list[Word]) -> str:
    return " ".join(word.text for word in words)


def heard(found: FoundCues) -> list[str]:
    """Cues as "kind: words", punctuation off."""
    return [f"{cue.kind}: {text_of(cue.words).strip(' ,.?!;')}" for cue in found.cues]


def load_cases(name: str) -> list[dict[str, Any]]:
    cases: list[dict[str, Any]] = json.loads((CASES / f"{name}.json").read_text(encoding="utf-8"))
    return cases
