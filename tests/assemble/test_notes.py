"""assemble_notes: one note a wine, and nothing said is lost."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.assemble import assemble_notes
from dictate.language.tokens import spoken_text
from dictate.note import ABSENT_IN, Note, as_document, read_note
from dictate.values import CueKind, Phrase, Reading, Stage, Word
from tests import build

LEXICON = build.small_lexicon()


def assemble(phrases: Sequence[Phrase], *readings: Reading) -> tuple[Note, ...]:
    return assemble_notes(
        readings, phrases, lexicon=LEXICON, recording=build.RECORDING, made_with=build.MADE_WITH
    )


def texts(items: Sequence[Any]) -> list[str]:
    return [item.text for item in items]


def test_no_phrases_no_notes() -> None:
    assert assemble([]) == ()


def test_one_note_a_wine_in_order_with_its_part_of_the_recording() -> None:
    phrases = [build.phrase("pale", "appearance", at=3), build.phrase("deep red", "appearance", at=9, wine=1)]
    first, second = assemble(
        phrases,
        build.reading("appearance.depth", 2.0),
        build.reading("appearance.depth", 8.0, phrase=1),
    )
    assert (first.id, second.id) == ("abababababababab-1", "abababababababab-2")
    assert first.appearance.depth is not None
    assert second.appearance.depth is not None
    assert (first.appearance.depth.level, second.appearance.depth.level) == (2.0, 8.0)
    assert first.recording is not None
    assert second.recording is not None
    assert (first.recording.start_s, first.recording.end_s) == (3.0, 3.3)
    assert (second.recording.start_s, second.recording.end_s) == (9.0, 9.6)
    assert first.made_with == build.MADE_WITH


def test_typed_words_have_no_sound_and_an_id_all_the_same() -> None:
    typed = build.RECORDING.model_copy(update={"sha256": ""})
    (note,) = assemble_notes(
        [], [build.phrase("pale")], lexicon=LEXICON, recording=typed, made_with=build.MADE_WITH
    )
    assert note.id == "typed-1"


def test_the_end_cue_alone_is_no_wine() -> None:
    assert assemble([build.cue_phrase("end", 5)]) == ()
    assert len(assemble([build.cue_phrase("begin", 5)])) == 1


@pytest.mark.parametrize("stage", ["identity", "appearance", "nose", "palate", "finish", "verdict"])
def test_what_fed_no_field_is_a_remark(stage: Stage) -> None:
    (note,) = assemble([build.phrase("one for the list,", stage)])
    assert (texts(note.remarks), texts(note.asides)) == (["one for the list"], [])
    assert note.remarks[0].at == (0.0, 1.2)


def test_talk_to_others_is_an_aside() -> None:
    (note,) = assemble([build.phrase("pass the bread", "aside")])
    assert (texts(note.remarks), texts(note.asides)) == ([], ["pass the bread"])


def test_what_fed_a_field_is_neither() -> None:
    (note,) = assemble([build.phrase("high acidity")], build.reading("palate.acidity", 8.0))
    assert (note.remarks, note.asides) == ([], [])


@pytest.mark.parametrize("scope", ["expected", "past", "other", "doubtful"])
def test_what_was_only_expected_is_a_remark(scope: Any) -> None:
    (note,) = assemble([build.phrase("expected tannin")], build.reading("palate.tannin", 8.0, scope=scope))
    assert note.palate.tannin is None
    assert texts(note.remarks) == ["expected tannin"]


def test_a_phrase_taken_back_is_in_the_transcript_and_the_history_only() -> None:
    phrases = [build.phrase("nose of plum,", "nose", taken_back=True), build.cue_phrase("take_back", 2)]
    (note,) = assemble(phrases)
    assert texts(note.transcript) == ["nose of plum,", "strike that"]
    assert (note.remarks, note.asides) == ([], [])
    (change,) = note.history
    assert (change.field, change.before, change.after) == ("transcript", "nose of plum", None)
    assert change.when == "0.00 s into the recording"


def test_a_holding_cue_taken_back_is_in_the_history_too() -> None:
    (note,) = assemble([build.cue_phrase("holding", 2, taken_back=True), build.cue_phrase("take_back", 4)])
    assert [c.before for c in note.history] == ["still there"]


CLOCK = [build.cue_phrase("away", 5), build.cue_phrase("gone", 15)]


def stated(seconds: float) -> tuple[list[Phrase], Reading]:
    return [build.phrase("about so many seconds", "finish"), *CLOCK], build.reading(
        "finish.seconds", seconds, last=4
    )


def test_a_timed_finish() -> None:
    (note,) = assemble(CLOCK)
    finish = note.finish
    assert (finish.seconds, finish.how, finish.from_s, finish.to_s, finish.confidence) == (
        10.0,
        "timed",
        5.0,
        15.0,
        1.0,
    )


@pytest.mark.parametrize(
    ("seconds", "after"), [(11, 10.0), (30, "10.00 s timed; the length stated differs by 200%")]
)
def test_timed_wins_over_stated_and_both_are_kept(seconds: float, after: Any) -> None:
    phrases, reading = stated(seconds)
    (note,) = assemble(phrases, reading)
    assert (note.finish.seconds, note.finish.how) == (10.0, "timed")
    assert [(c.field, c.before, c.after) for c in note.history] == [("finish.seconds", seconds, after)]
    assert note.history[0].said == "about so many seconds"


def test_a_stated_finish() -> None:
    phrases, reading = stated(12)
    (note,) = assemble(phrases[:1], reading)
    assert (note.finish.seconds, note.finish.how, note.finish.from_s) == (12.0, "stated", None)


@pytest.mark.parametrize(
    ("field", "value", "how"),
    [
        ("finish.length", 8.0, "described"),
        ("finish.flavours", "lemon", "described"),
        ("palate.flavours", "lemon", None),
    ],
)
def test_a_described_finish(field: str, value: float | str, how: str | None) -> None:
    (note,) = assemble([build.phrase("long", "finish")], build.reading(field, value))
    assert (note.finish.how, note.finish.seconds) == (how, None)


def test_a_clock_left_running_is_no_number_and_the_length_in_words_stays() -> None:
    phrases = [
        build.cue_phrase("away", 5),
        build.cue_phrase("holding", 12),
        build.phrase("long", "finish", at=14),
    ]
    (note,) = assemble(phrases, build.reading("finish.length", 8.0, phrase=2))
    assert (note.finish.how, note.finish.seconds) == ("described", None)
    assert [c.after for c in note.history] == ["never stopped: at least 7.00 s"]


def test_a_clock_does_not_reach_into_the_next_wine() -> None:
    phrases = [CLOCK[0], Phrase(CLOCK[1].words, "cue", wine=1, cue=CLOCK[1].cue)]
    assert [n.finish.seconds for n in assemble(phrases)] == [None, None]


def test_the_history_is_in_order_of_time() -> None:
    phrases = [
        build.phrase("high acidity", at=0), build.cue_phrase("away", 5), build.cue_phrase("away", 7),
        build.phrase("low acidity", at=9), build.phrase("plum", at=11, taken_back=True),
        build.cue_phrase("gone", 20),
    ]  # fmt: skip
    (note,) = assemble(
        phrases, build.reading("palate.acidity", 8.0), build.reading("palate.acidity", 2.0, phrase=3)
    )
    assert [c.field for c in note.history] == ["finish.seconds", "palate.acidity", "transcript"]


def test_words_keep_their_times_confidence_and_what_was_heard() -> None:
    word = Word("gris", 2.0, 2.4, 0.31234, 0, heard="grease")
    (note,) = assemble([Phrase((word,), "identity")])
    (said,) = note.transcript[0].words
    assert (said.text, said.at, said.confidence, said.heard) == ("gris", (2.0, 2.4), 0.312, "grease")
    assert note.remarks[0].confidence == 0.312


def test_odd_times_and_confidences_give_a_note_that_validates() -> None:
    (note,) = assemble([Phrase((Word("a", 2.0, 1.0, 1.7), Word("b", 1.5, 1.2, -0.5)), "palate")])
    assert read_note(as_document(note)) == note


STAGES: list[Stage] = ["identity", "appearance", "nose", "palate", "finish", "verdict", "aside"]
KINDS: list[CueKind] = ["begin", "away", "holding", "gone", "take_back"]
FIELDS: dict[str, str | float] = {
    "palate.acidity": 8.0, "nose.aromas": "plum", "faults": "cork taint", "finish.seconds": 9.0,
    "finish.length": 2.0,
    "wine.grapes": "syrah", "wine.origin": "barolo", "wine.vintage": 2018, "appearance.hue": "ruby",
    "verdict.score": 91.0, "verdict.drink_from": 2030, "wine.position": 3, "finish.flavours": "lemon",
}  # fmt: skip


@st.composite
def recordings(draw: st.DrawFn) -> tuple[list[Phrase], list[Reading]]:
    """Phrases of several wines and cues in any order, and readings of some of them."""
    phrases: list[Phrase] = []
    readings: list[Reading] = []
    wine, at = 0, 0.0
    for index in range(draw(st.integers(0, 12))):
        at += draw(st.sampled_from([1.0, 2.5, 30.0]))
        kind = draw(st.none() | st.sampled_from(KINDS))
        taken = draw(st.booleans())
        if kind:
            wine += kind == "begin" and bool(phrases)
            made = build.cue(kind, at)
            phrases.append(
                Phrase(made.words, "cue", wine, made, taken and kind in ("away", "holding", "gone"))
            )
            continue
        stage = draw(st.sampled_from(STAGES))
        phrases.append(build.phrase(f"words {index} said", stage, at=at, wine=wine, taken_back=taken))
        if stage != "aside" and not taken:
            for field in draw(st.lists(st.sampled_from(sorted(FIELDS)), max_size=3)):
                scope = draw(st.sampled_from(["said", "said", "denied", "expected"]))
                readings.append(
                    build.reading(
                        field, FIELDS[field], phrase=index, scope=scope, corrects=draw(st.booleans())
                    )
                )
    return phrases, readings


@given(recordings())
def test_laws_of_notes(made: tuple[list[Phrase], list[Reading]]) -> None:
    phrases, readings = made
    notes = assemble(phrases, *readings)
    assert [t.text for n in notes for t in n.transcript] == [build.said(p.words) for p in phrases]
    fed = {r.phrase for r in readings if r.scope == "said"}
    fed |= {r.phrase for r in readings if r.scope == "denied" and r.field in (*ABSENT_IN, "palate.acidity")}
    spare = [t for n in notes for t in (*texts(n.remarks), *texts(n.asides))]
    for index, phrase in enumerate(phrases):
        line = spoken_text(phrase.words)
        if phrase.cue is None and not phrase.taken_back:
            assert spare.count(line) == 1 or (index in fed and spare.count(line) == 0)
        elif phrase.cue is None:
            assert line not in spare
            assert line in [c.before for n in notes for c in n.history]
        else:
            assert line not in spare
    for note in notes:
        assert read_note(as_document(note)) == note
        assert note.finish.seconds is None or note.finish.seconds >= 0
        if note.finish.how == "timed":
            assert note.finish.from_s is not None
            assert note.finish.to_s is not None
            assert note.finish.seconds == pytest.approx(note.finish.to_s - note.finish.from_s)
        when = [float(c.when.split()[0]) for c in note.history]
        assert when == sorted(when)
