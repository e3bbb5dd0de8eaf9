"""The room as a whole: sentences of tasters with the values a note would hold, and laws on any text."""

from __future__ import annotations

from typing import Any, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictate.extract import compile_rules, read_fields
from dictate.lexicon import load_table
from dictate.values import Phrase, Stage, Word
from tests.extract.said import LEXICON, RULES, faults_of, load_cases, params, phrase, read

# of scopes that are no value, each must say which rule found it
REASONED = {"denied", "expected", "past", "future", "other", "quoted", "doubtful", "figurative"}
TALK = sorted({word for case in load_cases("sentences") for word in case["text"].split()})
ODD = [
    "",
    "…",
    "—",
    "'s",
    "9" * 400,
    "٣",
    "½",
    "²",
    "1,2,3",
    "12.5%",
    "ﬁ",
    "\u0301",
    "\x00",
    "日本",
    "$5",
    "no",
    ",",
    "?",
]
TEXTS = st.lists(st.sampled_from(TALK) | st.sampled_from(ODD) | st.text(max_size=6), min_size=1, max_size=30)
STAGES = st.sampled_from(get_args(Stage))


@pytest.mark.parametrize("case", params("sentences"))
def test_a_sentence_gives_what_it_says_and_no_more(case: dict[str, Any]) -> None:
    assert faults_of(case) == []


@settings(max_examples=300, deadline=None)
@given(st.lists(st.tuples(TEXTS, STAGES), min_size=1, max_size=4))
def test_any_text_reads_lawfully(said: list[tuple[list[str], Stage]]) -> None:
    phrases = [
        Phrase(tuple(Word(w, i * 0.3, i * 0.3 + 0.3, 0.5) for i, w in enumerate(words)), stage)
        for words, stage in said
    ]
    for reading in read_fields(phrases, LEXICON, rules=RULES):
        words = phrases[reading.phrase].words
        assert 0 <= reading.first < reading.last <= len(words)
        assert phrases[reading.phrase].stage not in ("aside", "cue")
        if reading.scope in REASONED:
            assert reading.rule
        if isinstance(reading.value, float) and reading.field not in ("verdict.score", "finish.seconds"):
            assert 0 <= reading.value <= 10
        assert reading.strength is None or 0 <= reading.strength <= 10
        assert 0 <= reading.confidence <= 1
        assert reading.value != ""


@settings(max_examples=60, deadline=None)
@given(TEXTS, STAGES)
def test_reading_twice_reads_the_same(words: list[str], stage: Stage) -> None:
    assert read(" ".join(words), stage) == read(" ".join(words), stage)


@settings(max_examples=60, deadline=None)
@given(TEXTS, STAGES)
def test_capitals_change_no_level(words: list[str], stage: Stage) -> None:
    def levels(text: str) -> list[tuple[str, Any]]:
        return [(r.field, r.value) for r in read(text, stage) if isinstance(r.value, float)]

    text = " ".join(w for w in words if w.isascii())
    assert levels(text) == levels(text.upper())


def test_phrases_taken_back_feed_nothing() -> None:
    whole = phrase("cherry and plum", "nose")
    assert read_fields([Phrase(whole.words, "nose", taken_back=True)], LEXICON, rules=RULES) == ()


def test_a_denial_in_the_next_breath_is_of_the_phrase_before() -> None:
    both = [phrase("I looked for violets", "nose"), phrase("and there isn't any", "nose")]
    violets = [r for r in read_fields(both, LEXICON, rules=RULES) if r.value == "violet"]
    assert [r.scope for r in violets] == ["denied"]


def test_a_missing_table_is_named() -> None:
    with pytest.raises(KeyError, match="levels"):
        compile_rules(lambda name: load_table(name) if name != "levels" else {}["levels"])
