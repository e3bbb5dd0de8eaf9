"""The notes paused, from words to notes: what is said in a pause is kept, and is no value of any note."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictate import pipeline
from dictate.note import Note, as_document
from dictate.settings import Settings
from dictate.values import Heard, Perhaps
from tests import build
from tests.test_pipeline import WINE, notes

TALK = (
    "deep gold, with lemon and toast on the nose", "make the acidity low", "scrap the violets", "strike that",
    "gone", "spitting now", "still there", "eighty points", "it's a Riesling, not a Barolo",
    "no tannin at all",
    "the finish is about forty seconds", "corked", "is the kettle on", "what's missing?",
    "i said high i meant low",
    "on the nose.", "the acidity", "it's from Chinon", "pause the notes",
)  # fmt: skip


def fields(note: Note) -> dict[str, Any]:
    """All that was noted, without where it was said."""

    def plain(value: Any) -> Any:
        if isinstance(value, dict):
            return {
                k: plain(v) for k, v in value.items() if k not in ("at", "when", "from_s", "to_s", "seconds")
            }
        return [plain(v) for v in value] if isinstance(value, list) else value

    document = as_document(note)
    return {k: plain(v) for k, v in document.items() if k not in ("transcript", "asides", "recording")}


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(1, len(WINE)), st.lists(st.sampled_from(TALK), min_size=1, max_size=5))
def test_a_pause_anywhere_changes_nothing_that_was_noted(place: int, talk: list[str]) -> None:
    lines = (*WINE[:place], "pause the notes", *talk, "resume the notes", *WINE[place:])
    (note,) = notes(*lines)
    (plain,) = notes(*WINE)
    assert fields(note) == fields(plain)
    kept = " ".join(a.text for a in note.asides)
    asked = ("what's missing?", "pause the notes")  # asked of the program, not talk
    assert all(line.rstrip(".") in kept for line in talk if line not in asked)
    assert " ".join(p.text for p in note.transcript) == " ".join(lines)


@pytest.mark.parametrize("talk", TALK[:3])
def test_the_same_talk_with_no_pause_is_noted(talk: str) -> None:
    """Else the law above could not fail."""
    (note,), (plain,) = notes(*WINE, talk), notes(*WINE)
    assert fields(note) != fields(plain)


def test_the_clock_runs_on_through_a_pause() -> None:
    (note,) = notes(WINE[0], "spitting now", "pause the notes", "gone", "resume the notes", "all gone")
    said = {p.text: p.at[0] for p in note.transcript}
    assert note.finish.how == "timed"
    assert note.finish.seconds == pytest.approx(said["all gone"] - said["spitting now"], abs=0.01)
    assert [a.text for a in note.asides] == ["gone"]


def test_the_next_wine_ends_a_pause_that_was_left_on() -> None:
    first, second = notes(
        *WINE, "pause the notes", "lovely weather", "next wine, number five", "lime on the nose"
    )
    assert [a.text for a in first.asides] == ["lovely weather"]
    assert [a.term for a in second.nose.aromas] == ["lime"]
    assert second.wine.position == 5


def test_strike_that_reaches_over_no_pause() -> None:
    (note,) = notes(*WINE[:3], "pause the notes", "a fine day", "resume the notes", "strike that")
    assert [a.term for a in note.nose.aromas] == ["cherry", "violet"]
    assert note.history == []


def test_a_pause_left_on_to_the_end_keeps_what_was_said() -> None:
    (note,) = notes(*WINE[:3], "pause the notes", "high acidity", "end of tasting")
    assert note.palate.acidity is None
    assert [a.text for a in note.asides] == ["high acidity"]


def test_privacy_wins_in_a_pause_too() -> None:
    (note,) = notes(
        *WINE[:3], "pause the notes", "off the record, he is broke", "resume the notes", "back on the record"
    )
    assert "broke" not in note.model_dump_json()
    assert "resume" not in note.model_dump_json()


def test_what_may_have_been_a_cue_of_the_clock_is_none_in_a_pause() -> None:
    lines = (WINE[0], "spitting now", "pause the notes", "don", "resume the notes", "next wine, number five")
    words = build.breaths(lines)
    written = tuple(w for w in words if w.utterance == 3)
    cue = tuple(build.words("gone", at=written[0].start_s, utterance=3))
    doubt = Perhaps(cue, written, 0.55)
    heard = Heard(words, words[-1].end_s, "by hand", perhaps=(doubt,))
    first, _ = pipeline.notes_from_words(heard, settings=Settings(), recording=build.RECORDING)
    assert first.finish.how is None
    aloud = tuple(w for w in words if w.utterance not in (2, 4))  # no pause: then it settles the clock
    heard = Heard(aloud, words[-1].end_s, "by hand", perhaps=(doubt,))
    first, _ = pipeline.notes_from_words(heard, settings=Settings(), recording=build.RECORDING)
    assert first.finish.how == "timed"


@pytest.mark.parametrize("question", ["what's missing?", "What have I left out?"])
def test_what_is_missing_is_asked_of_the_program_and_feeds_no_field(question: str) -> None:
    (note,), (plain,) = notes(*WINE[:3], question, *WINE[3:]), notes(*WINE)
    assert fields(note) == fields(plain)
    assert [p.text for p in note.transcript if p.stage == "cue" and "wh" in p.text.lower()] == [question]


def test_what_is_missing_in_the_wine_is_a_remark() -> None:
    (note,) = notes(*WINE, "what's missing is a bit of freshness")
    assert not [p for p in note.transcript if p.stage == "cue" and "missing" in p.text]
