"""A note as the page sets it, and its strip."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from dictate import note as n
from dictate.doubt import Doubt, held_values
from dictate.form import Accept, Vocabulary, amended
from dictate.note import Change, Note
from dictate.review.sheet import sheet_of, told_change
from dictate.review.strip import strip_of
from tests.library.made import made_notes
from tests.review.made import made, phrase

DOUBTS = (Doubt("nose.aromas[1]", 0.2, "heard unsurely"), Doubt("wine.producer", 0.5, "a name"))


def values(note: Note, doubts: tuple[Doubt, ...] = ()) -> dict[str, object]:
    return {v.key: v for s in sheet_of(note, doubts).sections for line in s.lines for v in line.values}


def test_the_doubtful_are_marked_in_order_and_told() -> None:
    sheet = sheet_of(made(), DOUBTS)
    assert [(v.key, v.rank) for v in sheet.doubtful] == [("nose.aromas.1", 1), ("wine.producer", 2)]
    assert sheet.doubtful[0].told == "smell: sailing; doubtful: heard unsurely"
    whole = amended(made(), Accept(), known=Vocabulary(), when="now")
    assert sheet_of(whole, DOUBTS).doubtful == ()
    assert sheet_of(whole, DOUBTS).accepted


def test_words_stand_before_a_value_only_where_it_needs_them() -> None:
    note = made(
        palate=n.Palate(
            acidity=n.Level(level=5, said="acidity is medium"), body=n.Level(level=8, said="full"),
            tannin=n.Level(level=3, said="medium", source="corrected"),
        )
    )  # fmt: skip
    found = {
        v.key: (v.before, v.shown, v.figure)
        for s in sheet_of(note, ()).sections
        for x in s.lines
        for v in x.values
    }
    assert found["palate.acidity"] == ("", "acidity is medium", "5")
    assert found["palate.body"] == ("body", "full", "8")
    assert found["palate.tannin"] == ("tannin", "", "3")  # what was said is no longer what it is
    assert found["finish.seconds"] == ("", "8.50 s", "")


def test_each_value_held_is_on_the_page_once_and_can_be_heard_where_it_was_said() -> None:
    for note in [made(), *made_notes(20)]:
        shown = values(note)
        held = {each.path.replace("[", ".").rstrip("]") for each in held_values(note)}
        assert held <= shown.keys()
        assert all(shown[key].at is not None for key in ("nose.aromas.0",) if note.id == "note-1")  # type: ignore[attr-defined]


def test_what_can_be_added_is_what_is_not_there_and_every_list() -> None:
    sections = {s.heading: {path for path, _, _ in s.open} for s in sheet_of(made(), ()).sections}
    assert "palate.acidity" not in sections["Palate"]
    assert {"palate.tannin", "palate.flavours"} <= sections["Palate"]
    assert "nose.aromas" in sections["Nose"]


def test_changes_in_words() -> None:
    assert told_change(Change(when="", field="palate.acidity", before=5, after=7.5)) == "acidity: 5 → 7.5"
    assert told_change(Change(when="", field="faults", before=None, after="x")) == "fault: nothing → x"
    assert told_change(Change(when="", field="wine.name", before="x", after="x")) == "name: x accepted"
    assert told_change(Change(when="", field="note", after="accepted")) == "the note: accepted"
    again = Change(when="", field="note", before="accepted", after="made again")
    assert told_change(again) == "the note: made again, no longer accepted"


def test_the_strip_has_stages_joined_phrases_cues_and_the_clock() -> None:
    strip = strip_of(made())
    assert [b.text for b in strip.stages] == ["Wine", "Nose", "Palate"]
    assert [b.text for b in strip.cues] == ["spitting now", "all gone"]
    assert len(strip.phrases) == 3
    assert strip.clock is not None
    one = made(
        transcript=[phrase("a b", "nose", at=1), phrase("c d", "nose", at=4), phrase("e", "nose", at=40)]
    )
    assert [b.at for b in strip_of(one).stages] == [(1, 4.6), (40, 40.3)]
    assert strip_of(made(transcript=[], finish=n.Finish())).stages == ()


def test_a_name_stands_on_the_strip_where_it_has_room() -> None:
    (stage,) = strip_of(made(transcript=[phrase("word " * 40, "palate", at=1)])).stages
    assert stage.room == "narrow"
    (brief, _) = strip_of(made(transcript=[phrase("a", "palate", at=1), phrase("b", "nose", at=900)])).stages
    assert brief.room == ""


spans = st.tuples(st.floats(0, 5000), st.floats(0, 60)).map(lambda p: (p[0], p[0] + p[1]))


@given(st.lists(spans, max_size=12), spans)
def test_whatever_was_said_stays_on_the_strip(
    many: list[tuple[float, float]], part: tuple[float, float]
) -> None:
    transcript = [n.TranscriptPhrase(text="x", at=at, stage="nose", words=[]) for at in many]
    place = n.Recording(path="a", sha256="b", start_s=part[0], end_s=part[1])
    strip = strip_of(n.Note(id="x", transcript=transcript, recording=place))
    for band in (*strip.stages, *strip.phrases, *strip.cues):
        assert 0 <= band.left < 100
        assert 0 < band.width <= 100 - band.left + 1e-9
