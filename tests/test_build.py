"""The builders that the room tests stand on."""

from __future__ import annotations

import pytest

from tests import build


def test_words_follow_each_other_from_a_time_on() -> None:
    made = build.words("still there, a bit saline", at=3.0, utterance=2)
    assert [w.text for w in made] == ["still", "there,", "a", "bit", "saline"]
    assert [w.start_s for w in made] == pytest.approx([3.0, 3.3, 3.6, 3.9, 4.2])
    assert {w.utterance for w in made} == {2}


def test_a_silence_stands_between_words() -> None:
    before, after = build.words("gone (2.5) then")
    assert after.start_s - before.end_s == pytest.approx(2.5)


def test_breaths_are_utterances_with_a_gap() -> None:
    made = build.breaths(["a b", "c"], at=1.0, gap_s=2.0, utterance=5)
    assert [(w.text, w.utterance) for w in made] == [("a", 5), ("b", 5), ("c", 6)]
    assert made[2].start_s - made[1].end_s == pytest.approx(2.0)


def test_no_words() -> None:
    assert build.words("") == build.breaths([]) == ()
