"""What corrections propose, what they must not, and that nothing is learnt but what was accepted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictate.learn import (
    Correction,
    Proposal,
    accept,
    corrections_of,
    decline,
    hearing_of,
    proposals_of,
)
from dictate.lexicon import load_lexicon
from dictate.note import Change, Descriptor, Note, Text
from dictate.personal.habits import CuePhrase, LevelUse, Own
from dictate.personal.words import PersonalWord, make_word
from dictate.pipeline import known_with
from dictate.settings import Settings, with_own
from tests.learn.made import WHEN, acidity, dragged, flavours, heard, producer, with_hand
from tests.note.notes import NOTE

PALATE = "on the palate, lime, bit {}, high acidity"


def proposed(notes: Sequence[Note], own: Own | None = None) -> tuple[Proposal, ...]:
    return proposals_of(notes, known_with(own or Own()))


def of_saline(count: int, form: str = "sailing") -> list[Note]:
    """So many notes in which saline was heard as something else, and put right."""
    return [flavours(heard(n, PALATE.format(form)), "lime", "saline") for n in range(count)]


# what each set of notes proposes: sentences, and what they write
def test_a_word_that_was_put_right_again_and_again_is_proposed() -> None:
    (one,) = proposed(of_saline(3))
    assert one.text == "heard “sailing” three times; meant “saline” (descriptor)"
    assert one.writes == PersonalWord("saline", "descriptor", heard_as=("sailing",))
    assert (one.times, [e.note for e in one.evidence]) == (3, ["note-0", "note-1", "note-2"])


def test_a_word_that_is_no_everyday_word_is_proposed_at_once() -> None:
    note = flavours(heard(1, PALATE.format("z spray")), "lime", "sea spray")
    (one,) = proposed([note])
    assert one.writes == PersonalWord("sea spray", "descriptor", heard_as=("z spray",))


def test_a_producer_is_proposed_with_what_was_heard_or_by_name_alone() -> None:
    begin = "next wine, number four, from {}, twenty nineteen"
    near = producer(heard(1, begin.format("Hearing Rate")), "Heron's Rake")
    assert [p.writes for p in proposed([near])] == [make_word("Heron's Rake", "producer")]  # once: everyday
    again = producer(heard(2, begin.format("Hearing Rate")), "Heron's Rake")
    (one,) = proposed([near, again])
    assert one.writes == make_word("Heron's Rake", "producer", heard_as=["hearing rate"])
    far = producer(heard(3, begin.format("Zebra Motors")), "Quillbank")
    (other,) = proposed([far])
    assert other.text == "“Quillbank” (producer) was put in by hand once; listen for it"


WRONG_TO_LEARN: list[tuple[str, list[Note]]] = [
    ("an everyday word, twice only", of_saline(2)),
    ("it stood rightly elsewhere", [*of_saline(4), heard(9, "my brother has gone sailing")]),
    ("what was heard is a term itself", of_saline(3, "salty")),
    ("a term is in what was heard", of_saline(3, "cherry lean")),
    ("too short", of_saline(3, "sal")),
    ("nothing sounded like it", of_saline(3, "umbrella")),
    ("nothing was changed", [heard(n, PALATE.format("sailing")) for n in range(4)]),
    ("it was taken out", [flavours(heard(n, PALATE.format("cherry")), "lime") for n in range(4)]),
    (
        "a value that was changed and changed back",
        [flavours(flavours(n, "lime"), "lime", "saline") for n in (heard(1, PALATE.format("saline")),)],
    ),
]


@pytest.mark.parametrize(("why", "notes"), WRONG_TO_LEARN, ids=[why for why, _ in WRONG_TO_LEARN])
def test_what_could_do_harm_is_not_proposed_to_be_put_right(why: str, notes: list[Note]) -> None:
    writes = [p.writes for p in proposed(notes)]
    assert writes in ([], [make_word("saline", "descriptor")]), why  # to be listened for, that does no harm


def test_what_was_rightly_heard_and_not_read_is_no_matter_of_hearing() -> None:
    notes = [flavours(heard(n, "on the palate, lime, no jasmine"), "lime", "jasmine") for n in range(3)]
    assert [c.after for c in corrections_of(notes[0])] == ["jasmine"]
    assert proposed(notes) == ()


def test_a_known_term_that_was_not_heard_twice_is_proposed_to_be_listened_for() -> None:
    (one,) = proposed(of_saline(2, "umbrella"))
    assert one.text == "“saline” (descriptor) was put in by hand twice; listen for it"
    assert proposed(of_saline(1, "umbrella")) == ()


MEDIUM = "on the palate, the acidity is medium plus"


def test_a_degree_that_was_put_elsewhere_three_times_is_proposed() -> None:
    notes = [acidity(heard(n, MEDIUM), level) for n, level in enumerate((7.5, 8, 7.5))]
    (one,) = proposed(notes)
    assert one.text == "your “medium plus” is 7.5, not 6.5 (put right 3 times)"
    assert one.writes == LevelUse("medium plus", 7.5)
    assert proposed(notes[:2]) == ()


@pytest.mark.parametrize(
    "notes",
    [
        [acidity(heard(n, MEDIUM), 6.75) for n in range(4)],  # a hair's breadth
        [acidity(heard(n, MEDIUM), level) for n, level in enumerate((2, 8, 5, 9))],  # never the same
        [  # left as it was as often
            *(acidity(heard(n, MEDIUM), 8) for n in range(3)),
            *(with_hand(heard(n, MEDIUM, "ruby, bright"), wine__code="A") for n in range(5, 8)),
        ],
        [acidity(heard(n, MEDIUM, confidence=0.3), 8) for n in range(4)],  # perhaps another word
    ],
)
def test_a_degree_that_may_be_what_it_is_is_not_proposed(notes: list[Note]) -> None:
    assert proposed(notes) == ()


FINISH = ("on the palate, lime", "spitting now", "long and dry", "{}")


def ended(number: int, said: str) -> Note:
    """A note whose clock a hand stopped where something was said that is no cue."""
    note = heard(number, *(text.format(said) for text in FINISH))
    return dragged(note, note.transcript[-1].at[0] + 0.2)


def test_what_was_said_where_a_hand_stopped_the_clock_is_proposed_as_a_cue() -> None:
    (one,) = proposed([ended(1, "curtain down"), ended(2, "Curtain down.")])
    assert one.text == "you said “curtain down” where the finish clock stops, in 2 notes; it is a cue"
    assert one.writes == CuePhrase("gone", "curtain down")
    assert proposed([ended(1, "curtain down")]) == ()
    assert (
        proposed([ended(1, "curtain down"), ended(2, "curtain down"), heard(3, "curtain down, then")]) == ()
    )
    assert proposed([ended(1, "lovely"), ended(2, "lovely")]) == ()  # a single everyday word


# laws
@settings(max_examples=30, deadline=None)
@given(st.lists(NOTE, max_size=3))
def test_without_a_hand_nothing_is_proposed(notes: list[Note]) -> None:
    voiced = [
        note.model_copy(update={"history": [c for c in note.history if c.by == "voice"]}) for note in notes
    ]
    assert proposed(voiced) == ()
    assert hearing_of(voiced, known_with(Own())) == ()


@settings(max_examples=30, deadline=None)
@given(st.lists(NOTE, max_size=3))
def test_any_notes_can_be_looked_at(notes: list[Note]) -> None:
    for proposal in proposed(notes):
        assert proposal.text
        assert proposal.evidence
    for kind in hearing_of(notes, known_with(Own())):
        assert kind.values >= 0 <= kind.taken_out


FORMS = ("sailing", "saleen", "say lean", "sailor knee", "silly", "sealing")
TAUGHT = st.lists(st.sampled_from(FORMS), min_size=1, max_size=6)


@settings(max_examples=10, deadline=None)
@given(TAUGHT)
def test_what_was_accepted_is_not_proposed_again_and_what_was_declined_only_when_seen_again(
    forms: list[str],
) -> None:
    notes = [flavours(heard(n, PALATE.format(form)), "lime", "saline") for n, form in enumerate(forms)]
    own = declined = Own()
    for proposal in proposed(notes):
        own = accept(proposal, own)
        declined = decline(proposal, declined)
    assert proposed(notes, own) == ()
    assert proposed(notes, declined) == ()
    assert declined.words == ()
    more = [*notes, flavours(heard(99, PALATE.format(forms[0])), "lime", "saline")]
    if proposed(notes):
        assert {p.key for p in proposed(more, declined)} >= {p.key for p in proposed(notes)}


@settings(max_examples=6, deadline=None)
@given(TAUGHT, st.sampled_from(FORMS))
def test_a_word_that_was_rightly_heard_somewhere_is_never_put_right(forms: list[str], right: str) -> None:
    """The note in which it stood reads the same with all that was learnt."""
    notes = [flavours(heard(n, PALATE.format(form)), "lime", "saline") for n, form in enumerate(forms)]
    said = f"we talked of {right} and lemon"
    own = Own()
    for proposal in proposed([*notes, heard(99, said)]):
        own = accept(proposal, own)
    assert all(right not in word.heard_as for word in own.words)
    anew = heard(99, said, settings=with_own(Settings(), own))
    assert right in anew.transcript[0].text


TERMS = sorted(e.term for e in load_lexicon().of_kind("descriptor") if e.term.isascii())


@settings(max_examples=25, deadline=None)
@given(st.sampled_from(TERMS), st.sampled_from(TERMS))
def test_no_term_of_the_lexicon_is_ever_given_up_for_another(said: str, meant: str) -> None:
    notes = [flavours(heard(n, PALATE.format(said)), "lime", meant) for n in range(3)]
    lexicon = load_lexicon()
    for proposal in proposed(notes):
        assert isinstance(proposal.writes, PersonalWord)
        assert all(lexicon.lookup(form) is None for form in proposal.writes.heard_as)


def learnt(notes: Sequence[Note]) -> Settings:
    own = Own()
    for proposal in proposed(notes):
        own = accept(proposal, own)
    return with_own(Settings(), own)


def test_what_was_learnt_is_heard_the_next_time_and_only_where_such_things_are_spoken_of() -> None:
    own = learnt(of_saline(3))
    note = heard(50, "on the palate, grapefruit, a sailing note, lemon", settings=own)
    assert [d.term for d in note.palate.flavours] == ["grapefruit", "saline", "lemon"]
    talk = heard(51, "my brother went sailing with the children on holiday last week", settings=own)
    assert "sailing" in talk.transcript[0].text


def test_a_degree_and_a_cue_that_were_learnt_hold_in_the_next_note() -> None:
    own = learnt([acidity(heard(n, MEDIUM), 7.5) for n in range(3)])
    note = heard(50, "on the palate, medium plus acidity, medium tannin", settings=own)
    assert note.palate.acidity is not None
    assert note.palate.tannin is not None
    assert (note.palate.acidity.level, note.palate.tannin.level) == (7.5, 5)
    own = learnt([ended(1, "curtain down"), ended(2, "curtain down")])
    timed = heard(50, "on the palate, lime", "spitting now", "(5) curtain down", settings=own)
    assert timed.finish.how == "timed"
    assert timed.finish.seconds is not None
    assert timed.finish.seconds > 5


def test_corrections_are_what_a_note_became_in_the_end() -> None:
    note = heard(1, PALATE.format("cherry"))
    one = flavours(note, "lime", "saline")
    assert corrections_of(one) == (Correction("note-1", "palate.flavours", "cherry", "saline", WHEN),)
    undone = flavours(one, "lime", "cherry")
    assert corrections_of(undone) == ()
    accepted = Change(when=WHEN, field="palate.acidity", before=8, after=8, by="hand")
    assert corrections_of(note.model_copy(update={"history": [accepted]})) == ()
    place = with_hand(note, wine__origin=Text(text="Rioja (Alta)", source="corrected"))
    assert [c.after for c in corrections_of(place)] == ["Rioja (Alta)"]
    strong = with_hand(note, palate__flavours=[Descriptor(term="saline", strength=6, source="corrected")])
    assert [(c.before, c.after) for c in corrections_of(strong)] == [("lime", "saline"), ("cherry", None)]
    twice = acidity(acidity(note, 3), 4)
    assert [(c.before, c.after) for c in corrections_of(twice)] == [("8.0", "4.0")]


def test_how_each_kind_is_heard_counts_values_changes_and_mishearings() -> None:
    notes = [*of_saline(2), flavours(heard(7, PALATE.format("cherry")), "lime"), heard(8, "lime")]
    kinds = {kind.kind: kind for kind in hearing_of(notes, known_with(Own()))}
    flavour = kinds["flavours"]
    assert (flavour.values, flavour.changed, flavour.missing, flavour.taken_out) == (5, 0, 2, 1)
    assert flavour.misheard == (("sailing", "saline", 2),)
    assert flavour.right == pytest.approx(3 / 5)
    assert (kinds["levels"].values, kinds["levels"].right) == (3, 1)
    (levels,) = [k for k in hearing_of([acidity(heard(9, MEDIUM), 8)], known_with(Own())) if k.changed]
    assert (levels.kind, levels.right, levels.misheard) == ("levels", 0, ())


def test_a_full_list_of_forms_takes_no_more() -> None:
    full = make_word("saline", "descriptor", heard_as=[f"saline{chr(97 + n)}x" for n in range(20)])
    assert proposed(of_saline(3), replace(Own(), words=(full,))) == ()
