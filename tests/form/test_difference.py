"""Three readings side by side: what the program read before, what it reads now, and what a hand put."""

from __future__ import annotations

from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from dictate.form import (
    Accept,
    Add,
    AmendError,
    Amendment,
    Onsets,
    Put,
    Remove,
    Vocabulary,
    amended,
    corrected_fields,
    difference,
    is_accepted,
    keep_corrections,
    machine_reading,
    texts_of,
)
from dictate.note import Descriptor, Level, Note, Recording, TranscriptPhrase, TranscriptWord
from tests.note.notes import NOTE, full_note

KNOWN = Vocabulary()
OLD = full_note()


def with_levels(note: Note = OLD, **levels: float) -> Note:
    made = {name: Level(level=level) for name, level in levels.items()}
    return note.model_copy(update={"palate": note.palate.model_copy(update=made)})


def smelling(*terms: str, note: Note = OLD) -> Note:
    aromas = [Descriptor(term=term) for term in terms]
    return note.model_copy(update={"nose": note.nose.model_copy(update={"aromas": aromas})})


def put(note: Note, *amendments: Amendment) -> Note:
    for amendment in amendments:
        note = amended(note, amendment, known=KNOWN, when="2026-03-01")
    return note


def told(before: Note, hand: Note, *, now: Note) -> list[tuple[str, str, Any, Any, Any]]:
    fields = difference(before, hand, now=now).fields
    return [(f.path, f.kind, f.before, f.now, f.stands) for f in fields]


def test_without_a_hand_the_new_reading_stands() -> None:
    now = with_levels(smelling("peach", "saline"), acidity=8)
    assert told(OLD, OLD, now=now) == [
        ("nose.aromas", "machine", ("peach", "vanilla"), ("peach", "saline"), ("peach", "saline")),
        ("palate.acidity", "machine", ("5",), ("8",), ("8",)),
    ]
    assert told(OLD, OLD, now=OLD) == []


def test_a_value_that_comes_or_goes_is_told_so() -> None:
    bare = OLD.model_copy(update={"verdict": type(OLD.verdict)()})
    assert told(OLD, OLD, now=bare)[0] == ("verdict.quality", "machine", ("8",), (), ())
    assert told(bare, bare, now=OLD)[0] == ("verdict.quality", "machine", (), ("8",), ("8",))


def test_a_correction_stands_against_the_same_reading_again() -> None:
    hand = put(OLD, Put("palate.acidity", "7"))
    assert told(OLD, hand, now=OLD) == [("palate.acidity", "kept", ("5",), ("5",), ("7",))]


def test_where_the_new_reading_is_what_the_hand_put_they_agree() -> None:
    hand = put(OLD, Put("palate.acidity", "8"))
    assert told(OLD, hand, now=with_levels(acidity=8)) == [
        ("palate.acidity", "agree", ("5",), ("8",), ("8",))
    ]


def test_where_the_new_reading_is_a_third_the_hand_wins() -> None:
    hand = put(OLD, Put("palate.acidity", "8"), Put("wine.producer", ""))
    assert told(OLD, hand, now=with_levels(acidity=2)) == [
        ("wine.producer", "kept", ("copper ladle",), ("copper ladle",), ()),
        ("palate.acidity", "conflict", ("5",), ("2",), ("8",)),
    ]


def test_a_value_that_was_accepted_stands_against_another_reading() -> None:
    hand = put(OLD, Accept("palate.acidity"), Accept("nose.aromas", 1))
    assert told(OLD, hand, now=OLD) == []
    assert told(OLD, hand, now=with_levels(smelling("peach", "saline"), acidity=2)) == [
        (
            "nose.aromas",
            "conflict",
            ("peach", "vanilla"),
            ("peach", "saline"),
            ("peach", "saline", "vanilla"),
        ),
        ("palate.acidity", "conflict", ("5",), ("2",), ("5",)),
    ]


def test_a_list_that_a_hand_changed_stands_as_a_whole() -> None:
    hand = put(OLD, Remove("nose.aromas", 1), Add("nose.aromas", "saline"))
    assert told(OLD, hand, now=smelling("peach", "violets")) == [
        ("nose.aromas", "conflict", ("peach", "vanilla"), ("peach", "violets"), ("peach", "saline"))
    ]


def test_the_clock_is_kept_whole() -> None:
    place = Recording(path="a.wav", sha256="ab", start_s=0, end_s=60)
    note = OLD.model_copy(update={"recording": place})
    hand = put(note, Onsets(2.0, 10.0))
    now = note.model_copy(update={"finish": note.finish.model_copy(update={"seconds": 9.0, "to_s": 10.0})})
    (field,) = difference(note, hand, now=now).fields
    assert (field.path, field.kind, field.stands) == ("finish.seconds", "conflict", ("8",))
    kept = keep_corrections(hand, now, when="now").finish
    assert (kept.seconds, kept.from_s, kept.to_s) == (8.0, 2.0, 10.0)


def test_words_heard_otherwise_are_counted() -> None:
    def heard(text: str) -> Note:
        words = [TranscriptWord(text=t, at=(0, 1)) for t in text.split()]
        phrase = TranscriptPhrase(text=text, at=(0, 1), stage="nose", words=words)
        return OLD.model_copy(update={"transcript": [phrase]})

    found = difference(heard("Lime and sailing notes"), OLD, now=heard("lime and saline notes there"))
    assert (found.words, found.otherwise) == (4, 2)


def test_what_the_program_read_is_found_behind_what_a_hand_put() -> None:
    first = OLD
    hand = put(first, Put("palate.acidity", "8"))
    # made again by an older program, which kept the 8 and wrote nothing else down
    mixed = keep_corrections(hand, with_levels(acidity=6, body=3), when="now")
    now = with_levels(acidity=8, body=3)
    before = machine_reading([(False, mixed), (False, first)], now=now)
    assert before.palate.acidity == first.palate.acidity
    assert before.palate.body == Level(level=3)
    # what it read alone is there, whatever a hand had put
    alone = with_levels(acidity=6, body=3)
    assert machine_reading([(True, alone), (False, first)], now=now) == alone
    # nobody knows what was read: no difference is told
    assert machine_reading([(False, hand)], now=now).palate.acidity == now.palate.acidity


# laws


def _amendments(note: Note) -> st.SearchStrategy[list[Amendment]]:
    levels = st.sampled_from(["palate.acidity", "palate.body", "nose.intensity", "verdict.quality"])
    singles = levels | st.sampled_from(["wine.producer", "appearance.hue", "wine.position"])
    lists = st.sampled_from(["nose.aromas", "palate.flavours", "wine.grapes", "faults", "remarks"])
    places = st.integers(0, 2)
    one: st.SearchStrategy[Amendment] = st.one_of(
        st.builds(Put, levels, st.sampled_from(["7", "2.5", ""])),
        st.builds(Put, st.just("wine.producer"), st.sampled_from(["Tin Whistle", ""])),
        st.builds(Accept, singles, st.none()),
        st.builds(Accept, lists, places),
        st.builds(Add, lists, st.sampled_from(["violets", "saline"])),
        st.builds(Remove, lists, places),
        st.builds(Put, st.just("finish.seconds"), st.sampled_from(["12", ""])),
        st.just(Accept()),
    )
    return st.lists(one, max_size=5)


def _handled(note: Note, amendments: list[Amendment]) -> Note:
    for amendment in amendments:
        try:
            note = put(note, amendment)
        except AmendError:
            continue
    return note


READ = NOTE.map(lambda note: note.model_copy(update={"id": "n", "history": []}))  # by a machine alone
HANDLED = READ.flatmap(lambda note: st.tuples(st.just(note), _amendments(note)))


@settings(max_examples=150)
@given(HANDLED, READ | st.none())
def test_laws_of_a_note_made_again(old: tuple[Note, list[Amendment]], other: Note | None) -> None:
    before = old[0]
    hand = _handled(*old)
    now = before if other is None else other
    stands = keep_corrections(hand, now, when="now")
    found = {field.path: field for field in difference(before, hand, now=now).fields}
    read, put_, new, made = (texts_of(note) for note in (before, hand, now, stands))
    touched = corrected_fields(hand)
    clock = {"finish.seconds", "finish.how"}
    touched |= clock if touched & (clock | {"finish.from_s", "finish.to_s"}) else set()
    for path in read:
        if path in touched:
            assert made[path] == put_[path], "what a hand changed has the hand's value"
        if new[path] == read[path] == put_[path]:
            assert made[path] == read[path], "what nobody changed is unchanged"
        if path not in touched:
            accepted = {c.after for c in hand.history if c.field == path and c.before == c.after}
            names = {str(text).partition(" (")[0] for text in accepted}
            lost = [item for item in new[path] if item not in made[path]]
            assert all(item.partition(" (")[0] in names for item in lost), "what is read now is there"
            assert accepted & set(put_[path]) <= set(made[path]), "what a hand accepted is there"
        if path in found:
            assert (found[path].before, found[path].now) == (read[path], new[path])
            assert found[path].stands == made[path]
            assert (found[path].kind == "machine") <= (path not in touched)
        else:
            assert read[path] == new[path] == made[path]
    assert keep_corrections(stands, now, when="later") == stands, "made again twice, it stays"
    assert is_accepted(stands) == (is_accepted(hand) and made == put_)
    assert [c for c in hand.history if c.by == "hand"] == [
        c for c in stands.history if c.by == "hand" and c.after != "made again"
    ]
