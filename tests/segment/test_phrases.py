"""segment_words: the cases, and the law that phrases cover the words once, in order."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictate.language.mentions import find_mentions
from dictate.lexicon import load_lexicon, load_table
from dictate.segment import evidence, phrases, segment_words
from dictate.segment.evidence import stage_table
from dictate.values import Cue, CueKind, Phrase, Word
from tests import build
from tests.build import load_cases

TABLE = stage_table(load_table("stages"))
KINDS: dict[str, CueKind] = {
    "BEGIN": "begin", "AWAY": "away", "HOLDING": "holding", "GONE": "gone", "STRIKE": "take_back",
    "END": "end",
}  # fmt: skip
CASES = load_cases("segment", "phrases")


def lay_out(lines: Sequence[str]) -> tuple[tuple[Word, ...], tuple[Cue, ...]]:
    """Breaths and cues in order of time; "GONE | that was quick" is a cue and words of the same breath."""
    kept: list[Word] = []
    cues: list[Cue] = []
    at = 0.0
    for number, line in enumerate(lines):
        for part in line.split(" | "):
            if part in KINDS:
                made = build.cue(KINDS[part], at)
                cues.append(
                    Cue(made.kind, tuple(build.words(build.said(made.words), at=at, utterance=number)), at)
                )
                at = cues[-1].words[-1].end_s
            else:
                words = build.words(part, at=at, utterance=number)
                kept += words
                at = words[-1].end_s if words else at
        at += build.GAP_S
    return tuple(kept), tuple(cues)


def segment(lines: Sequence[str]) -> tuple[Phrase, ...]:
    kept, cues = lay_out(lines)
    return segment_words(kept, cues, lexicon=load_lexicon(), table=TABLE)


def shown(phrase: Phrase) -> str:
    taken = "x " if phrase.taken_back else ""
    name = phrase.cue.kind if phrase.cue else phrase.stage
    return f"{phrase.wine} {taken}{name}: {build.said(phrase.words)}"


def check(case: dict[str, Any]) -> None:
    assert [shown(p) for p in segment(case["lines"])] == case["phrases"]


@pytest.mark.parametrize("case", [c for c in CASES if c["status"] == "holds"], ids=lambda c: c["label"])
def test_cases(case: dict[str, Any]) -> None:
    check(case)


def test_known_failures() -> None:
    """Strict: one that holds by now turns this red; give it the status "holds"."""
    for case in (c for c in CASES if c["status"] != "holds"):
        with pytest.raises(AssertionError):
            check(case)


OPENINGS = {"nose": "on the nose", "palate": "on the palate", "finish": "the finish", "verdict": "overall"}


def words_alone() -> list[tuple[str, str]]:
    """Each plain word that tells a level or a closed term by itself, with the first stage it counts in."""
    levels, terms = load_table("levels")["attribute"].values(), load_table("terms").values()
    tables = [(a["stages"], a.get("words", {}), a.get("bound")) for a in levels]
    tables += [(t["stages"], t["terms"], False) for t in terms]
    return [
        (stages[0], said)
        for stages, groups, bound in tables
        for group in groups.values()
        for said in group
        if stages[0] in OPENINGS and not bound and said.isalpha()
    ]


@pytest.mark.parametrize(("stage", "said"), words_alone())
def test_a_word_that_tells_something_is_no_aside_though_nothing_else_is_said(stage: str, said: str) -> None:
    lines = ("BEGIN", "number two", "pale gold", OPENINGS[stage], "Nothing.", f"{said.capitalize()}.")
    assert segment(lines)[-1].stage != "aside"


@pytest.mark.parametrize("said", ["Thursday.", "Over there.", "Mine.", "In a minute."])
def test_a_word_that_tells_nothing_is_an_aside_behind_another(said: str) -> None:
    assert segment(["BEGIN", "number two", "pale gold", "on the nose", "Outside.", said])[-1].stage == "aside"


def test_no_words() -> None:
    assert segment([]) == ()


def test_cues_alone_are_phrases_too() -> None:
    assert [shown(p).split(":")[0] for p in segment(["BEGIN", "AWAY", "GONE", "END"])] == [
        "0 begin", "0 away", "0 gone", "0 end",
    ]  # fmt: skip


@st.composite
def words_and_cues(draw: st.DrawFn) -> tuple[tuple[Word, ...], tuple[Cue, ...]]:
    """Any words, some of them cues of any kind, in any order."""
    words = draw(build.any_words())
    kept: list[Word] = []
    cues: list[Cue] = []
    place = 0
    while place < len(words):
        kind = draw(st.none() | st.none() | st.sampled_from(sorted(KINDS.values())))
        size = draw(st.integers(1, 2)) if kind else 1
        part = words[place : place + size]
        if kind:
            cues.append(Cue(kind, part, part[0].start_s))
        else:
            kept += part
        place += size
    return tuple(kept), tuple(cues)


@settings(max_examples=150, deadline=None)
@given(words_and_cues())
def test_law_phrases_cover_all_words_once_in_order(given_: tuple[tuple[Word, ...], tuple[Cue, ...]]) -> None:
    kept, cues = given_
    found = segment_words(kept, cues, lexicon=load_lexicon(), table=TABLE)
    in_order = sorted([*kept, *(w for c in cues for w in c.words)], key=lambda w: w.start_s)
    assert [w for p in found for w in p.words] == in_order
    assert [p.cue for p in found if p.cue] == list(cues)
    assert all(p.words for p in found)
    assert all((p.stage == "cue") == (p.cue is not None) for p in found)
    wines = [p.wine for p in found]
    assert wines == sorted(wines)
    assert set(wines) == set(range(len(set(wines))))
    assert not any(p.taken_back for p in found) or any(c.kind == "take_back" for c in cues)
    # "strike that" reaches neither the future nor a cue that gives an order
    last = max((i for i, p in enumerate(found) if p.cue and p.cue.kind == "take_back"), default=0)
    assert all(
        i < last and (p.cue is None or p.cue.kind in ("away", "holding", "gone"))
        for i, p in enumerate(found)
        if p.taken_back
    )


def test_work_grows_in_step_with_the_words(monkeypatch: pytest.MonkeyPatch) -> None:
    """Counts what is weighed and what "strike that" looks at; no clock."""

    def counts(size: int) -> tuple[int, int, int]:
        weighed = looked = 0
        mentions, breath = find_mentions, phrases._one_breath

        def find(tokens: Any, lexicon: Any) -> Any:
            nonlocal weighed
            weighed += len(tokens)
            return mentions(tokens, lexicon)

        def one(done: Any, place: int) -> bool:
            nonlocal looked
            looked += 1
            return breath(done, place)

        with monkeypatch.context() as patch:
            patch.setattr(evidence, "find_mentions", find)
            patch.setattr(phrases, "_one_breath", one)
            found = segment(["cherry, plum", "STRIKE", "STRIKE"] * size)
        return weighed, looked, len(found)

    few, many = counts(20), counts(200)
    assert many[0] == 10 * few[0]
    assert many[1] <= 11 * few[1]
    assert many[2] == 10 * few[2]
