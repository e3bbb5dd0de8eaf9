"""Private spans: what they cover, and that they hold no words."""

from __future__ import annotations

import pytest

from dictate.cues import find_cues
from tests.cues.said import TABLE, spoken, text_of


def test_span_goes_from_cue_to_cue_over_the_pauses() -> None:
    words = spoken("off the record, I told him", "back on the record", gap_s=2.0)
    (span,) = find_cues(words, TABLE).private
    assert span == (words[2].end_s, words[6].start_s)


def test_span_without_a_way_back_ends_with_the_last_word() -> None:
    words = spoken("off the record, I told him", "end of tasting")
    (span,) = find_cues(words, TABLE).private
    assert span == (words[2].end_s, words[-1].end_s)


def test_silence_between_the_cues_is_private_too() -> None:
    words = spoken("off the record", "back on the record", gap_s=5.0)
    assert find_cues(words, TABLE).private == ((words[2].end_s, words[3].start_s),)


def test_two_spans() -> None:
    lines = ("off the record, one", "back on the record, plum", "off the record, two", "back on the record")
    found = find_cues(spoken(*lines), TABLE)
    assert len(found.private) == 2
    assert text_of(found.kept) == "plum"


@pytest.mark.parametrize("joined", ["off the record—he is broke", "off-the-record—he is broke"])
def test_a_word_that_runs_on_behind_the_cue_stays_private(joined: str) -> None:
    found = find_cues(spoken("plum", joined, "back on the record"), TABLE)
    assert "he" not in text_of(tuple(w for c in found.cues for w in c.words)).replace("the", "")
    assert text_of(found.kept) == "plum"


def test_back_on_the_record_alone_is_a_cue_and_nothing_is_private() -> None:
    found = find_cues(spoken("plum", "back on the record", "cherry"), TABLE)
    assert [c.kind for c in found.cues] == ["private_off"]
    assert found.private == ()
