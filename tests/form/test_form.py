"""The text form of a note: read back it is the same note; a change is checked, marked and told in history."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictate.form import FormError, Vocabulary, as_text, by_hand, keep_corrections, read_text
from dictate.form.layout import SECTIONS
from dictate.lexicon.entries import Lexicon
from dictate.note import (
    Descriptor,
    Fault,
    Finish,
    Level,
    Note,
    Score,
    Term,
    Text,
    Vintage,
    as_document,
    read_note,
)
from tests.build import entry
from tests.note.notes import NOTE, full_note

LEXICON = Lexicon(
    [
        entry("descriptor", "wet wool", family="hide and stable", said=["damp jumper"]),
        entry("fault", "cork taint", said=["corked"]),
        entry("grape", "syrah", family="black", said=["shiraz"]),
    ],
    version="small",
)
KNOWN = Vocabulary(LEXICON, {"nose.age": ("young", "mature")})


def edited(note: Note, *changes: tuple[str, str]) -> Note:
    """The note with lines of its text replaced; each old one must be there once."""
    text = as_text(note)
    for old, new in changes:
        assert text.count(old) == 1, (old, text)
        text = text.replace(old, new)
    return read_text(text, note, vocabulary=KNOWN)


@settings(max_examples=200)
@given(NOTE)
def test_the_text_of_any_note_read_back_is_the_same_note(note: Note) -> None:
    text = as_text(note)
    assert read_text(text, note, vocabulary=KNOWN) == note
    assert read_text(text.replace("\n", "\n\n"), note) == note
    assert all(line.isprintable() for line in text.split("\n"))


@settings(max_examples=300)
@given(NOTE, st.data())
def test_any_change_of_the_text_gives_a_note_or_names_a_line(note: Note, data: st.DataObject) -> None:
    lines = as_text(note).split("\n")
    for _ in range(data.draw(st.integers(1, 3))):
        place = data.draw(st.integers(0, len(lines) - 1))
        name = lines[place].partition(":")[0]
        piece = st.text(max_size=8) | st.sampled_from(
            ["7", "11", "a; b (3)", '"', "(", "x (perhaps)", "NV", "timed"]
        )
        lines[place] = data.draw(st.sampled_from(["", lines[place], name + ": "])) + data.draw(piece)
    text = "\n".join(lines)
    try:
        made = read_text(text, note, vocabulary=KNOWN)
    except FormError as error:
        told, line = str(error), error.line
    else:
        told, line = f"line 1: {made.id}", 1
        assert read_note(as_document(made)) == made
        assert (made.transcript, made.history) == (note.transcript, note.history)
    assert told.startswith(f"line {line}: ")
    assert 1 <= line <= text.count("\n") + 1


def test_the_text_is_plain() -> None:
    lines = as_text(full_note()).split("\n")
    for line in (
        "  grapes: chardonnay", "  vintage: 2020", "  # said: “medium acidity”", "  acidity: 5", "  tannin:",
        "  aromas: peach; vanilla", "  seconds: 13.42", "  named: volatile acidity (perhaps)",
        "  remark: one for the list",
    ):  # fmt: skip
        assert line in lines


def test_a_changed_value_is_corrected_and_keeps_where_it_was_said() -> None:
    was = Level(level=5, said="medium", at=(3, 4), confidence=0.6)
    note = full_note().model_copy(update={"palate": full_note().palate.model_copy(update={"acidity": was})})
    made = edited(note, ("acidity: 5\n", "acidity: 7.5\n"))
    assert made.palate.acidity == Level(level=7.5, said="medium", at=(3, 4), source="corrected")
    assert made.palate.body == note.palate.body


def test_values_come_and_go() -> None:
    made = edited(
        full_note(),
        ("  tannin:\n", "  tannin: 6\n"),
        ("  vintage: 2020", "  vintage: nv"),
        ("  clarity: clear", "  clarity:"),
        ("  score:", "  score: 17.5 of 20"),
        ("  name:\n", '  name: the "Old" rows; east\n'),
        ("  drink_to: 2031", "  drink_to: 2040"),
        ("  remark: one for the list", "  remark: one for the list\n  remark: and one more"),
        ("  age:", "  age: mature"),
    )
    assert made.palate.tannin == Level(level=6, source="corrected")
    assert made.wine.vintage == Vintage(year="NV", source="corrected")
    assert made.appearance.clarity is None
    assert made.verdict.score == Score(points=17.5, out_of=20, source="corrected")
    assert made.wine.name == Text(text='the "Old" rows; east', source="corrected")
    assert made.verdict.drink_to == 2040
    assert made.remarks == [*full_note().remarks, Text(text="and one more", source="corrected")]
    assert made.nose.age == Term(term="mature", source="corrected")


def test_lists_are_told_item_by_item() -> None:
    made = edited(
        full_note(),
        ("aromas: peach; vanilla", "aromas: vanilla (3); damp jumper; oyster leaf"),
        ("grapes: chardonnay", "grapes: chardonnay; shiraz"),
        ("named: volatile acidity (perhaps)", "named: volatile acidity; corked (perhaps)"),
    )
    assert made.nose.aromas == [
        Descriptor(term="vanilla", strength=3, source="corrected"),
        Descriptor(term="wet wool", family="hide and stable", source="corrected"),
        Descriptor(term="oyster leaf", known=False, source="corrected"),
    ]
    assert made.wine.grapes == [Term(term="chardonnay"), Term(term="syrah", source="corrected")]
    assert [(f.term, f.certain) for f in made.faults] == [("volatile acidity", True), ("cork taint", False)]
    history = by_hand(full_note(), made, when="2026-03-01").history
    assert [(c.field, c.before, c.after) for c in history] == [
        ("wine.grapes", None, "syrah"),
        ("nose.aromas", "peach", None),
        ("nose.aromas", "vanilla", None),
        ("nose.aromas", None, "vanilla (3)"),
        ("nose.aromas", None, "wet wool"),
        ("nose.aromas", None, "oyster leaf"),
        ("faults", "volatile acidity (perhaps)", None),
        ("faults", None, "volatile acidity"),
        ("faults", None, "cork taint (perhaps)"),
    ]
    assert {(c.by, c.when) for c in history} == {("hand", "2026-03-01")}


def test_only_the_clock_makes_a_finish_timed() -> None:
    stated = edited(full_note(), ("seconds: 13.42", "seconds: 12 s")).finish
    assert stated == Finish(seconds=12, how="stated")
    gone = edited(full_note(), ("seconds: 13.42", "seconds:")).finish
    assert gone == Finish()
    with pytest.raises(FormError, match="only the clock makes a finish timed"):
        edited(full_note().model_copy(update={"finish": stated}), ("how: stated", "how: timed"))


WRONG = {
    ("acidity: 5\n", "acidity: high\n"): "acidity: a number from 0",
    ("acidity: 5\n", "acidity: 11\n"): "acidity: a number from 0",
    ("vintage: 2020", "vintage: 20"): "vintage: a year in four figures",
    ("position: 4", "position: 4.5"): "position: a whole number",
    ("  age:", "  age: ripe"): "age: “ripe” is none of young, mature",
    ("aromas: peach; vanilla", "aromas: peach (very)"): "aromas: “(very)”: in brackets stands a strength",
    ("aromas: peach; vanilla", "aromas: peach (3"): "aromas: a bracket is not closed",
    ("aromas: peach; vanilla", 'aromas: "peach'): "aromas: a quotation mark is not closed",
    ("aromas: peach; vanilla", "aromas: peach (3) vanilla"): "aromas: “vanilla” stands where “;”",
    ("grapes: chardonnay", "grapes: chardonnay (3)"): "grapes: “(3)”: in brackets stands nothing",
    ("score:", "score: 17 of many"): "score: points are wanted",
    ("seconds: 13.42", "seconds: long"): "seconds: seconds are wanted",
    ("how: timed", "how: guessed"): "how: write one of timed, stated, described",
    ("acidity: 5\n", "acidty: 5\n"): "palate has no field “acidty”; did you mean acidity?",
    ("acidity: 5\n", "acidity: 5\n  acidity: 6\n"): "acidity stands twice in palate",
    ("\npalate\n", "\n"): "nose has no field “sweetness”",
    ("\nasides\n  aside:", "\n"): "the section asides is not there",
    ("acidity: 5\n", "acidity 5\n"): "“acidity 5” is neither a section nor a field",
}


@pytest.mark.parametrize(("change", "told"), WRONG.items(), ids=[b.strip() or "-" for _, b in WRONG])
def test_a_mistake_is_told_with_its_line(change: tuple[str, str], told: str) -> None:
    with pytest.raises(FormError) as error:
        edited(full_note(), change)
    assert f"line {error.value.line}: {told}" in str(error.value)


def test_corrections_outlive_a_note_made_anew() -> None:
    note = full_note()
    mended = edited(note, ("acidity: 5\n", "acidity: 8\n"), ("aromas: peach; vanilla", "aromas: peach"))
    mended = by_hand(note, mended, when="2026-03-01")
    heard = note.palate.model_copy(update={"acidity": Level(level=2), "body": Level(level=3)})
    anew = note.model_copy(update={"palate": heard})
    kept = keep_corrections(mended, anew, when="now")
    assert kept.palate.acidity == mended.palate.acidity
    assert kept.palate.body == Level(level=3), "what no hand touched is as it is heard now"
    assert [d.term for d in kept.nose.aromas] == ["peach"]
    assert kept.history == mended.history
    assert keep_corrections(kept, anew, when="later") == kept
    assert keep_corrections(note, anew, when="now") == anew


@settings(max_examples=100)
@given(NOTE, NOTE, NOTE)
def test_any_corrections_are_kept_whole(note: Note, other: Note, anew: Note) -> None:
    """All that differs between two notes taken for corrections: made anew, the fields are as corrected."""
    mended = by_hand(note, other.model_copy(update={"id": note.id}), when="now")
    kept = keep_corrections(mended, anew, when="now")
    for path in {c.field for c in mended.history[len(other.history) :]}:
        section, _, name = path.partition(".")
        parts = [getattr(n, section) for n in (kept, mended)]
        values = [getattr(part, name) if name else part for part in parts]
        assert values[0] == values[1]


def test_a_note_that_is_not_changed_has_no_history() -> None:
    assert (
        by_hand(full_note(), full_note(), when="now") is full_note()
        or by_hand(full_note(), full_note(), when="now") == full_note()
    )


def test_each_section_is_one_of_the_note() -> None:
    assert set(SECTIONS) <= set(Note.model_fields)
    assert Fault(term="a").certain
