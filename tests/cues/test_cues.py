"""find_cues: the cases, and the law that each word is in exactly one group."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictate.cues import find_cues
from dictate.values import Word
from tests.cues.said import TABLE, heard, load_cases, spoken, text_of

HITS, NEGATIVES, KNOWN = (load_cases(name) for name in ("hits", "negatives", "known_failures"))
VOCABULARY = sorted(
    {token for rule in TABLE.rules for phrase in rule.phrases for token in phrase} - {"'s", "'m", "'re"}
)
EXTRA = [
    "it's",
    "I'm",
    "wine,",
    "gone.",
    "record—he",
    "spitting",
    "the",
    "almost",
    "a",
    "number",
    "cherry",
    "—",
    "...",
    "",
    "now?",
    "off-the-record",
]


def check(case: dict[str, Any]) -> None:
    words = spoken(*case["lines"], gap_s=case.get("gap_s", 0.8))
    found = find_cues(words, TABLE)
    assert heard(found) == case["cues"]
    if "kept" in case:
        assert text_of(found.kept) == case["kept"]


@pytest.mark.parametrize("case", HITS, ids=lambda c: c["label"])
def test_hits(case: dict[str, Any]) -> None:
    check(case)


@pytest.mark.parametrize("case", NEGATIVES, ids=lambda c: c["label"])
def test_negatives(case: dict[str, Any]) -> None:
    check(case)


@pytest.mark.parametrize("case", KNOWN, ids=lambda c: c["label"])
def test_known_failures(case: dict[str, Any], request: pytest.FixtureRequest) -> None:
    request.applymarker(pytest.mark.xfail(strict=True, reason=case["comment"]))
    check(case)


def test_as_many_negatives_as_hits_and_each_kind_is_hit() -> None:
    assert len(NEGATIVES) >= len(HITS)
    kinds = {cue.split(":")[0] for case in HITS for cue in case["cues"]}
    assert kinds == {rule.kind for rule in TABLE.rules}


@st.composite
def utterances(draw: st.DrawFn) -> list[Word]:
    """Words that are mostly cue words, with any gaps (overlaps too) and any breath groups."""
    texts = draw(st.lists(st.sampled_from([*VOCABULARY, *EXTRA]) | st.text(max_size=8), max_size=40))
    words: list[Word] = []
    at, utterance = 0.0, 0
    for number, text in enumerate(texts):
        at += draw(st.sampled_from([0.0, 0.0, 0.1, 0.35, 2.0, -0.05]))
        utterance += draw(st.sampled_from([0, 0, 0, 1]))
        # the confidence marks the word, so that equal texts are told apart
        words.append(Word(text, at, at + 0.2, 1 - number / 1000, utterance))
        at += 0.2
    return words


@settings(max_examples=400, deadline=None)
@given(utterances())
def test_law_each_word_is_in_exactly_one_group(words: list[Word]) -> None:
    found = find_cues(words, TABLE)
    marks = [w.confidence for cue in found.cues for w in cue.words]
    kept = [w.confidence for w in found.kept]
    assert marks == sorted(marks, reverse=True)
    assert kept == sorted(kept, reverse=True)
    public = [*marks, *kept]
    assert len(public) == len(set(public))
    missing = {w.confidence for w in words} - set(public)
    assert bool(missing) <= bool(found.private)
    assert all(cue.words and cue.onset_s == cue.words[0].start_s for cue in found.cues)
    if not found.private:
        assert not missing


phrases = st.sampled_from(
    [
        " ".join(p).replace(" '", "'")
        for rule in TABLE.rules
        for p in rule.phrases
        if rule.kind != "private_off"
    ]
)


@settings(max_examples=200, deadline=None)
@given(
    st.lists(phrases | st.sampled_from(["secret", "a secret, gone", "Secret."]), max_size=8), st.booleans()
)
def test_private_words_are_nowhere_in_the_result(between: list[str], back: bool) -> None:
    lines = ["a nose of plum", "off the record, hidden", *(f"{line} hidden" for line in between)]
    lines += ["back on the record", "plum again"] if back else []
    found = find_cues(spoken(*lines), TABLE)
    assert "hidden" not in repr(found)
    assert [c.kind for c in found.cues] == (["private_on", "private_off"] if back else ["private_on"])
    assert text_of(found.kept) == ("a nose of plum plum again" if back else "a nose of plum")


def test_no_words() -> None:
    found = find_cues([], TABLE)
    assert (found.cues, found.kept, found.private) == ((), (), ())
