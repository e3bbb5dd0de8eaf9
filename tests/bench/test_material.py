"""The benches' material: what is measured is not what is tuned on, and each sentence says its term."""

from __future__ import annotations

import json
from collections import Counter
from typing import Any

import pytest

from dictate.language.tokens import tokenise
from dictate.lexicon import load_lexicon
from dictate.lexicon.entries import spelled
from tests.bench.spoken import MATERIAL, PARTS, VOICES, term_utterances
from tests.bench.terms import as_words, mentioned


def rows(name: str) -> list[Any]:
    found = json.loads((MATERIAL / f"{name}.json").read_text(encoding="utf-8"))
    assert isinstance(found, list)
    return found


@pytest.mark.parametrize(("name", "sentences"), [("measure", 2), ("tune", 1)])
def test_each_sentence_says_its_term(name: str, sentences: int) -> None:
    lexicon = load_lexicon()
    for row in rows(f"terms-{name}"):
        assert len(set(row["say"])) == sentences
        assert all(mentioned(t, row["term"], kind=row["kind"], lexicon=lexicon) for t in row["say"]), row


def test_what_is_measured_is_not_tuned_on() -> None:
    measured, tuned = ({spelled(row["term"]) for row in rows(f"terms-{n}")} for n in ("measure", "tune"))
    assert len(measured) >= 400
    assert measured.isdisjoint(tuned)
    assert set(rows("ordinary")).isdisjoint(rows("ordinary-tune"))


def test_ordinary_sentences_are_no_two_alike_and_of_one_breath() -> None:
    texts = [*rows("ordinary"), *rows("ordinary-tune")]
    assert len(set(texts)) == len(texts) == 400
    assert all(8 <= len(t.split()) <= 14 for t in texts)


def test_parts_are_fair_to_voices() -> None:
    """A quarter says each sentence once, half of them say each term in every voice once."""
    quarter, half, whole = (term_utterances("measure", VOICES, part=part) for part in PARTS)
    assert set(quarter) < set(half) < set(whole)
    assert len(whole) == 2 * len(half) == 4 * len(quarter)
    assert set(Counter(u.text for u in quarter).values()) == {1}
    assert set(Counter((u.kind, u.term) for u in quarter).values()) == {2}
    assert len({u.voice for u in quarter if u.kind == "grape"}) == len(VOICES)
    assert set(Counter((u.kind, u.term, u.voice) for u in half).values()) == {1}
    assert {u.kind for u in half if u.voice == VOICES[0]} == {u.kind for u in half}


@pytest.mark.parametrize(
    ("said", "term", "kind", "found"),
    [
        ("a little Colorless.", "colourless", "level", True),  # stands in the table too
        ("a little colourful", "colourless", "level", False),
        ("it's off dry", "off-dry", "level", True),
        ("it's dry, off you go", "off-dry", "level", False),
        ("there's brett here", "brettanomyces", "fault", True),  # the same entry
        ("there's bread here", "brettanomyces", "fault", False),
        ("violet on the nose", "violet", "hue", True),  # a word of two kinds
        ("lemon zest", "lemon", "descriptor", False),  # another entry
    ],
)
def test_mentioned(said: str, term: str, kind: str, found: bool) -> None:
    assert mentioned(said, term, kind=kind, lexicon=load_lexicon()) is found


def test_words_of_a_text_are_its_words() -> None:
    assert [t.text for t in tokenise(as_words("Frank's list, then"))] == ["frank", "'s", "list", "then"]
