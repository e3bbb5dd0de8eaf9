"""A note as prose: in the taster's own words, nothing added, what was denied denied, slips gone."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import settings as with_settings

from dictate import note as n
from dictate.language.tokens import split_word
from dictate.publish import as_prose
from dictate.publish.amend import amended
from dictate.publish.prose import CONNECTING
from dictate.publish.script import BY_HAND, clauses_of, held_values, told, trimmed
from dictate.values import Word
from tests import build
from tests.note.notes import NOTE, full_note
from tests.publish.made import CORPUS, corpus_note, note_of, notes_of


def pieces(text: str) -> set[str]:
    return {piece for word in text.split() for piece in split_word(word)[0]}


def added(note: n.Note) -> set[str]:
    """Words of the prose that the taster did not say, type or time."""
    spoken = " ".join(word.text for p in note.transcript if p.stage != "cue" for word in p.words)
    own = " ".join(told(held) for held in held_values(note) if held.value.source in BY_HAND)
    timed = f"{note.finish.seconds:.2f} {note.finish.seconds:.1f}" if note.finish.seconds is not None else ""
    return pieces(as_prose(note)) - pieces(f"{spoken} {own} {timed}") - CONNECTING


def check_laws(note: n.Note) -> None:
    prose = as_prose(note)
    assert added(note) == set()
    assert "\n" not in prose
    phrases = clauses_of(note)
    texts = [tuple(text for _, text in standing) for standing in amended(note)]
    for number, phrase in enumerate(phrases):
        held = {id(h.value): h for clause in phrase for h in clause.held}.values()
        if any(h.is_absent for h in held) and texts[number]:  # a denial is told whole, with its "no"
            assert texts[number] == tuple(clause.text for clause in phrase if clause.text)
    for clause in (c for phrase in phrases for c in phrase if c.held):
        assert pieces(" ".join(_own_words(clause))) <= pieces(prose), "what is held is told"


def _own_words(clause) -> list[str]:  # type: ignore[no-untyped-def]
    from dictate.publish.script import covers

    return [
        w for w, span in zip(clause.words, clause.at, strict=True)
        if any(covers(h, span) for h in clause.held) and pieces(w)
    ]  # fmt: skip


@pytest.mark.parametrize("path", CORPUS, ids=lambda p: p.stem)
def test_the_laws_hold_on_the_corpus(path: Path) -> None:
    check_laws(corpus_note(path))


@given(build.any_words())
@with_settings(max_examples=60)
def test_the_laws_hold_on_any_words(words: tuple[Word, ...]) -> None:
    for note in notes_of(words):
        check_laws(note)


@given(NOTE)
@with_settings(max_examples=60)
def test_any_note_gives_one_line(note: n.Note) -> None:
    assert len(as_prose(note).splitlines()) <= 1


def test_the_law_of_nothing_added_can_fail() -> None:
    note = note_of("next wine, number one", "lemon and lime on the nose")
    longer = note.model_copy(update={"remarks": [n.Text(text="plum")]})
    assert added(longer) == set()  # a remark that no transcript has is no part of the prose
    typed = note.model_copy(
        update={"palate": n.Palate(acidity=n.Level(level=8, said="acidity high"))}
    )  # from another program: no transcript, not by hand
    assert added(typed) == {"acidity", "high"}


def test_in_the_order_of_tasting_whatever_the_order_of_speech() -> None:
    note = note_of(
        "next wine, number one, Riesling", "very good", "bone dry on the palate", "lime on the nose",
        "the colour is pale lemon, clear",
    )  # fmt: skip
    assert (
        as_prose(note)
        == "The colour is pale lemon, clear. Lime on the nose. Bone dry on the palate. Very good."
    )


def test_the_timed_finish_is_told_and_cues_are_not() -> None:
    note = note_of("next wine, number one", "lemon on the palate", "spitting now", "all gone", "salty finish")
    assert as_prose(note) == (
        f"Lemon on the palate. The finish held {note.finish.seconds:.2f} s, timed by cue. Salty finish."
    )


@pytest.mark.parametrize(
    ("lines", "prose"),
    [
        (["the acidity is medium, no, make the acidity high"], "Acidity high."),
        (["the acidity is medium", "no, make the acidity high"], "Acidity high."),
        (["body medium", "oh, I said body medium, I meant light"], "Body light."),
        (
            ["mango and peach on the palate", "scratch the mango"],
            "Mango and peach on the palate. Scratch the mango.",
        ),
        (
            ["mango, peach on the palate", "scratch the mango, it's papaya"],
            "Peach on the palate, it's papaya.",
        ),
        (["lime on the nose", "and smoke on the nose", "strike that"], "Lime on the nose."),
        (["acidity, high, no, make the acidity very high"], "Acidity very high."),
        (  # a slip that cannot be told apart, so all stays
            ["the acids remind me of rain", "medium acidity", "no, make the acidity high"],
            "The acids remind me of rain. Medium acidity. No, make the acidity high.",
        ),
        (  # what leads in the new value says more than that, so all stays
            ["medium acidity on the palate", "lovely drink this make the acidity high"],
            "Medium acidity on the palate. Lovely drink this make the acidity high.",
        ),
        (
            ["floral, elderflower on the nose, no, scrap that, it's more like pea shoots"],
            "It's more like pea shoots.",
        ),
        (["no oak on the nose"], "No oak on the nose."),
    ],
)  # fmt: skip
def test_slips_and_denials(lines: list[str], prose: str) -> None:
    found = as_prose(note_of("next wine, number one", *lines))
    if prose.startswith("Peach"):
        assert "ango" not in found  # both pieces are told, in one sentence or two
        assert "each" in found
        assert "papaya" in found
    else:
        assert found == prose


def test_a_correction_stays_where_its_slip_cannot_be_taken_out() -> None:
    note = note_of("next wine, number one", "pale gold, bright", "I said pale gold, I meant lemon")
    if "Pale gold" in as_prose(note):
        assert "I meant lemon" in as_prose(note)


def test_private_speech_asides_and_hesitations_are_no_part() -> None:
    note = note_of(
        "next wine, number one", "um, lemon on the nose", "off the record", "the buyer is a fool",
        "back on the record", "can someone shut that door",
    )  # fmt: skip
    assert as_prose(note) == "Lemon on the nose."


def test_what_was_put_right_by_hand_stands_where_the_old_words_stood() -> None:
    note = note_of("next wine, number one", "lemon on the nose", "acidity high on the palate")
    acidity = note.palate.acidity
    assert acidity is not None
    by_hand = note.model_copy(
        update={
            "palate": note.palate.model_copy(
                update={"acidity": acidity.model_copy(update={"level": 5.0, "source": "corrected"})}
            ),
            "history": [n.Change(when="2026", field="palate.acidity", before=8.0, after=5.0, by="hand")],
        }
    )
    assert "high" not in as_prose(by_hand)
    assert "Acidity 5 of 10" in as_prose(by_hand)


def test_what_was_taken_out_by_hand_is_not_told() -> None:
    note = note_of("next wine, number one", "lemon, violets on the nose")
    kept = [a for a in note.nose.aromas if a.term != "violet"]
    assert len(kept) == len(note.nose.aromas) - 1
    by_hand = note.model_copy(
        update={
            "nose": note.nose.model_copy(update={"aromas": kept}),
            "history": [n.Change(when="2026", field="nose.aromas", before="violet", by="hand")],
        }
    )
    assert as_prose(by_hand).lower() == "lemon."


def test_a_note_without_a_transcript_is_told_by_its_values() -> None:
    prose = as_prose(full_note())
    assert prose.startswith("Clear. Depth medium. Gold. Peach. Vanilla. No butter.")
    assert "Perhaps volatile acidity." in prose
    assert prose.endswith("The finish held 13.42 s, timed by cue. Quality very good. Drink by 2031.")
    assert re.search(r"Sweetness dry\. Medium acidity\. Body full\.", prose)


def test_nothing_said_gives_no_prose() -> None:
    assert as_prose(n.Note(id="x")) == ""


def test_marks_at_the_ends_are_trimmed_but_not_inside() -> None:
    assert trimmed(" , so-called, ... ") == "so-called"
