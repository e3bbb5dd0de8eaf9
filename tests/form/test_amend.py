"""One change by a hand: what it does, what it tells, what it refuses."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.form import (
    Accept,
    Add,
    Amend,
    AmendError,
    Amendment,
    Move,
    Onsets,
    Put,
    Remove,
    accepted,
    amended,
    changes_between,
    keep_corrections,
    touched,
)
from dictate.form.amend import KINDS
from dictate.form.layout import LISTS
from dictate.lexicon import load_lexicon
from dictate.note import Note, as_document, read_note
from dictate.vocabulary import vocabulary_of
from tests.review.made import END_S, FROM_S, START_S, TO_S, made

KNOWN = vocabulary_of(load_lexicon())
WHEN = "2026-11-28T09:00:00+00:00"


def with_sound() -> Note:
    note = made()
    place = {"path": "bench.wav", "sha256": "a" * 64, "start_s": START_S, "end_s": END_S}
    return read_note({**as_document(note), "recording": place})


NOTE = with_sound()


def changed(amendment: Amendment, note: Note = NOTE) -> Note:
    return amended(note, amendment, known=KNOWN, when=WHEN)


def told(note: Note) -> list[tuple[str, Any, Any]]:
    assert all(c.by == "hand" and c.when == WHEN for c in note.history)
    return [(c.field, c.before, c.after) for c in note.history]


def test_a_level_is_set_and_told_and_keeps_where_it_was_said() -> None:
    note = changed(Put("palate.acidity", "7.5"))
    level = note.palate.acidity
    assert level is not None
    assert (level.level, level.source, level.said, level.at) == (
        7.5, "corrected", "acidity is medium", (7.5, 8.4),
    )  # fmt: skip
    assert told(note) == [("palate.acidity", 5.0, 7.5)]


@pytest.mark.parametrize(
    ("path", "text", "shown"),
    [
        ("palate.tannin", "3", 3.0), ("appearance.hue", "ruby", "ruby"), ("wine.vintage", "nv", "NV"),
        ("wine.vintage", "2018", "2018"), ("verdict.score", "17.5 of 20", "17.5 of 20"),
        ("verdict.drink_to", "2030", 2030), ("wine.name", 'a "b"; c', '"a \\"b\\"; c"'),
        ("finish.seconds", "12", 12.0), ("wine.producer", "", None),
    ],
)  # fmt: skip
def test_each_kind_of_value_can_be_set(path: str, text: str, shown: Any) -> None:
    assert (path, shown) in [(field, after) for field, _, after in told(changed(Put(path, text)))]


def test_seconds_by_hand_are_stated_and_no_longer_timed() -> None:
    finish = changed(Put("finish.seconds", "12")).finish
    assert (finish.seconds, finish.how, finish.from_s, finish.to_s) == (12.0, "stated", None, None)
    assert changed(Put("finish.seconds", "8.5")) == NOTE  # the same stays timed


def test_the_clock_is_recomputed_from_its_onsets() -> None:
    note = changed(Onsets(FROM_S + 0.104, TO_S))
    finish = note.finish
    assert (finish.seconds, finish.how, finish.from_s, finish.to_s, finish.confidence) == (
        8.4, "timed", 14.104, 22.5, 1.0,
    )  # fmt: skip
    assert told(note) == [("finish.seconds", 8.5, 8.4), ("finish.from_s", 14.0, 14.104)]
    both = changed(Onsets(FROM_S + 0.1, TO_S + 0.1))
    assert told(both) == [("finish.from_s", 14.0, 14.1), ("finish.to_s", 22.5, 22.6)]


@pytest.mark.parametrize(
    ("from_s", "to_s"), [(22.5, 14.0), (14.0, 14.0), (START_S - 0.1, 20.0), (14.0, END_S + 0.1), (0.0, 0.0)]
)
def test_onsets_that_cannot_be_are_refused(from_s: float, to_s: float) -> None:
    with pytest.raises(AmendError):
        changed(Onsets(from_s, to_s))
    with pytest.raises(AmendError, match="no recording"):
        changed(Onsets(14.0, 20.0), made())


def test_items_are_added_put_right_moved_and_taken_out() -> None:
    added = changed(Add("palate.flavours", "lime", 7))
    (lime,) = added.palate.flavours
    assert (lime.term, lime.strength, lime.known, lime.source, lime.at) == (
        "lime",
        7,
        True,
        "corrected",
        None,
    )
    assert lime.family is not None
    assert told(added) == [("palate.flavours", None, "lime (7)")]
    right = changed(Amend("nose.aromas", 1, "saline"))
    assert (right.nose.aromas[1].term, right.nose.aromas[1].at) == ("saline", (5.3, 5.6))
    assert told(right) == [("nose.aromas", "sailing", "saline")]
    assert right.history[0].said == "sailing"
    moved = changed(Move("nose.aromas", 0, "palate.flavours"))
    assert [d.term for d in moved.nose.aromas] == ["sailing"]
    assert moved.palate.flavours[0].family == "woods and resins"
    assert told(moved) == [("nose.aromas", "cedar", None), ("palate.flavours", None, "cedar")]
    gone = changed(Remove("nose.aromas", 0))
    assert told(gone) == [("nose.aromas", "cedar", None)]
    fault = changed(
        Amend("faults", 0, "cork taint", None, certain=False), changed(Add("faults", "cork taint"))
    )
    assert fault.faults[0].certain is False


@pytest.mark.parametrize(
    "amendment",
    [
        Put("palate.acidity", "11"), Put("palate.acidity", "high"), Put("appearance.clarity", "muddy"),
        Put("nose.aromas", "cedar"), Put("finish.how", "timed"), Put("finish.from_s", "3"), Put("", "x"),
        Put("wine.name", "a\u202eb"), Put("wine.name", "x" * 500), Put("history", "x"), Put("__class__", "x"),
        Add("palate.acidity", "5"), Add("nose.aromas", "cedar"), Add("nose.aromas", " "),
        Add("nose.aromas", "lime", 11), Amend("nose.aromas", 9, "lime"), Amend("nose.aromas", 1, "cedar"),
        Remove("nose.aromas", 2), Remove("nose.aromas", -1), Move("nose.aromas", 0, "faults"),
        Move("nose.aromas", 0, "nose.aromas"), Move("wine.grapes", 0, "nose.aromas"), Accept("nose.aromas"),
        Accept("nose.aromas", 7), Accept("palate.tannin"), Accept("palate.acidity", 0), Accept("nothing"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_in_one_line(amendment: Amendment) -> None:
    with pytest.raises(AmendError) as caught:
        changed(amendment)
    assert "\n" not in str(caught.value)
    assert str(caught.value)


def test_what_changes_nothing_is_not_told() -> None:
    assert changed(Put("palate.acidity", "5")) == NOTE
    assert changed(Amend("nose.aromas", 0, "cedar")) == NOTE
    assert changed(Put("wine.vintage", "")) == NOTE


def test_a_value_and_the_note_are_accepted_once() -> None:
    once = changed(Accept("nose.aromas", 1))
    assert accepted(once) == {("nose.aromas", "sailing")}
    assert changed(Accept("nose.aromas", 1), once) == once
    assert once.nose == NOTE.nose
    whole = changed(Accept(), once)
    assert ("", "") in accepted(whole)
    assert changed(Accept(), whole) == whole
    assert accepted(changed(Put("palate.acidity", "7"))) == set()


def test_what_was_accepted_holds_where_the_note_is_made_anew_but_holds_no_other_item() -> None:
    old = changed(Accept(), changed(Accept("palate.acidity"), changed(Accept("nose.aromas", 0))))
    anew = Note(**{**NOTE.__dict__, "palate": type(NOTE.palate)(), "nose": type(NOTE.nose)()})
    kept = keep_corrections(old, anew, when="now")
    assert kept.palate.acidity == NOTE.palate.acidity
    assert kept.nose.aromas == NOTE.nose.aromas[:1]  # only that one item was looked at
    assert ("", "") not in accepted(kept)  # as a whole it is another note
    assert [c.after for c in kept.history if c.field == "note"] == ["accepted", "made again"]
    assert keep_corrections(kept, anew, when="later") == kept
    assert ("", "") in accepted(keep_corrections(old, NOTE, when="now"))  # it says the same
    assert ("", "") in accepted(changed(Accept(), kept))
    spoken = [c.model_copy(update={"by": "voice", "said": "accept"}) for c in old.history]  # at the review
    assert keep_corrections(old.model_copy(update={"history": spoken}), anew, when="now").nose == kept.nose
    bench = [c.model_copy(update={"when": "7.50 s into the recording"}) for c in spoken]
    assert keep_corrections(old.model_copy(update={"history": bench}), anew, when="now") == anew
    clock = keep_corrections(changed(Onsets(14.5, 22.5)), NOTE, when="now")
    assert (clock.finish.seconds, clock.finish.from_s) == (8.0, 14.5)


def test_what_a_change_rests_on() -> None:
    assert touched(Put("palate.acidity", "7")) == {"palate.acidity"}
    assert touched(Add("nose.aromas", "lime")) == set()
    assert touched(Move("nose.aromas", 0, "palate.flavours")) == {"nose.aromas", "palate.flavours"}
    assert touched(Put("finish.seconds", "3")) == touched(Onsets(1, 2)) >= {"finish.to_s"}
    assert touched(Accept()) == set(KINDS)


paths = st.sampled_from([*KINDS, "note", "", "wine", "palate.nothing"])
texts = st.one_of(
    st.text(max_size=30), st.sampled_from(["7", "0.5", "2018", "red", "ruby", "cedar", "17 of 20", "nan"])
)
numbers = st.integers(-1, 3)
strengths = st.none() | st.floats(-1, 11)
amendments = st.one_of(
    st.builds(Put, paths, texts), st.builds(Add, paths, texts, strengths),
    st.builds(Amend, paths, numbers, texts, strengths, st.booleans()), st.builds(Remove, paths, numbers),
    st.builds(Move, paths, numbers, paths), st.builds(Onsets, st.floats(0, 30), st.floats(0, 30)),
    st.builds(Accept, paths, st.none() | numbers),
)  # fmt: skip


@given(st.lists(amendments, max_size=6))
def test_any_changes_give_a_whole_note_with_its_history_or_are_refused(many: list[Amendment]) -> None:
    note = NOTE
    for amendment in many:
        try:
            after = changed(amendment, note)
        except AmendError:
            continue
        assert read_note(as_document(after)) == after
        assert after.history[: len(note.history)] == note.history
        told_of = {change.field for change in after.history[len(note.history) :]}
        between = {change.field for change in changes_between(note, after)}
        assert between <= told_of
        assert between <= touched(amendment) | {getattr(amendment, "path", "")}
        assert after.transcript == note.transcript
        note = after


def test_every_field_can_be_reached_but_how_a_finish_is_known() -> None:
    singles = {path for path, kind in KINDS.items() if kind not in LISTS and path != "finish.how"}
    refused = set()
    for path in singles:
        try:
            changed(Put(path, ""))
        except AmendError:
            refused.add(path)
    assert refused == set()
