"""Notes side by side: what was said stands, what was not stays missing, and the kinds of finish stay
apart."""

from __future__ import annotations

import random
from pathlib import Path
from statistics import fmean, stdev
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.compare import as_document, compare_notes
from dictate.compare.reading import ABSENT, DESCRIPTORS, LABELS, LEVELS, TERMS, read_told, spread
from dictate.note import Note, Term
from tests.compare.made import flight, never_stopped, note, notes

CONTRACT = (Path(__file__).parents[1] / "note" / "contract_fields.txt").read_text().split()


def test_every_field_of_the_contract_is_compared_or_known_not_to_be() -> None:
    """A field that the contract gains must be decided on here."""
    not_compared = """id wine.position wine.code wine.producer wine.name wine.origin wine.grapes wine.vintage
        appearance.bubbles appearance.tears appearance.deposit finish.how finish.from_s finish.to_s
        verdict.drink_from verdict.drink_to remarks asides transcript recording made_with history""".split()
    assert set(LABELS) | set(ABSENT) | set(not_compared) == set(CONTRACT)


def test_kinds_of_fields_are_the_note_s() -> None:
    def kind(path: str) -> str:
        stage, _, name = path.partition(".")
        model: Any = Note.model_fields[stage].annotation
        return str(model.model_fields[name].annotation)

    assert {path for path in CONTRACT if "." in path and "note.Level" in kind(path)} == set(LEVELS)
    terms = {path for path in CONTRACT if "." in path and "note.Term | None" in kind(path)}
    assert terms == set(TERMS)
    listed = {path for path in CONTRACT if "." in path and "list[dictate.note.Descriptor]" in kind(path)}
    assert listed | {"faults"} == set(DESCRIPTORS) | set(ABSENT)


def test_levels_spread_common_and_apart() -> None:
    found = compare_notes(
        [
            note("b", position=2, levels={"palate.acidity": 8}, smells=("lemon", "cedar")),
            note("a", position=1, levels={"palate.acidity": 5, "palate.body": 0}, smells=("lemon", "toast")),
            note("c", position=3),
        ]
    )
    assert [told.glass.id for told in found.glasses] == ["a", "b", "c"]
    acidity = found.spreads["palate.acidity"]
    assert (acidity.n, acidity.mean, acidity.lowest, acidity.highest) == (2, 6.5, 5, 8)
    assert acidity.sd == pytest.approx(stdev([5, 8]))
    assert found.spreads["palate.body"].n == 1  # a zero that was said is a value; nothing else is zero
    assert found.spreads["palate.body"].sd is None
    # c named no smell at all, so it is not asked for what is common
    assert [(n.term, n.named) for n in found.common] == [("lemon", (1, 2))]
    assert [(n.term, n.named) for n in found.apart] == [("cedar", (2,)), ("toast", (1,))]
    assert "palate.tannin" in found.unspoken
    assert "palate.acidity" not in found.unspoken


def test_a_denied_descriptor_is_shown_as_absent_and_never_as_named() -> None:
    denies = note("a", position=1, smells=("lemon",))
    nose = denies.nose.model_copy(update={"absent": note("x", smells=("oak",)).nose.aromas})
    found = compare_notes([denies.model_copy(update={"nose": nose}), note("b", position=2, smells=("oak",))])
    oak = next(n for n in found.apart if n.term == "oak")
    assert (oak.named, oak.absent) == ((2,), (1,))


def test_finishes_timed_stated_open_and_described_are_told_apart() -> None:
    unclear = note("b", position=2, seconds=20.04)
    unclear = unclear.model_copy(update={"finish": unclear.finish.model_copy(update={"confidence": 0.2})})
    found = compare_notes(
        [
            note("a", position=1, seconds=13.42),
            unclear,
            note("c", position=3, seconds=12, how="stated"),
            note("d", position=4, history=never_stopped("never stopped: at least 5.40 s")),
            note("e", position=5, history=never_stopped("never stopped: at least about 5.4 s")),
            note("f", position=6, history=never_stopped("never stopped")),
            note("g", position=7, levels={"finish.length": 8}),
            note("h", position=8),
        ]
    )
    held = [told.held for told in found.glasses]
    assert [h and (h.how, h.seconds, h.sign) for h in held] == [
        ("timed", 13.42, ""),
        ("timed", 20.04, "about"),
        ("stated", 12, "about"),
        ("open", 5.4, "at least"),
        ("open", 5.4, "at least about"),
        ("open", None, ""),
        ("described", None, ""),
        None,
    ]
    assert found.timed == spread([13.42, 20.04])
    assert found.stated == spread([12])


def test_scores_out_of_different_numbers_are_not_mixed() -> None:
    found = compare_notes(
        [
            note("a", points=90),
            note("b", points=18, out_of=20),
            note("c", points=80),
            note("d", points=7, out_of=None),
        ]
    )
    assert {k: s.n for k, s in found.spreads.items()} == {"verdict.score/20": 1, "verdict.score/100": 2}


def test_a_long_flight_keeps_its_order_by_number() -> None:
    found = compare_notes(reversed(flight(12)))
    assert [told.glass.id for told in found.glasses] == [f"id-{n}" for n in range(1, 13)]


def test_the_same_note_given_twice_counts_once_but_two_of_one_id_both() -> None:
    one, other = note("a", levels={"palate.body": 2}), note("a", levels={"palate.body": 4})
    assert len(compare_notes([one, one, one]).glasses) == 1
    assert len(compare_notes([one, other, one]).glasses) == 2


def test_what_was_only_inferred_says_so() -> None:
    one = note("a")
    colour = Term(term="white", said="lemon coloured", source="inferred")
    one = one.model_copy(update={"wine": one.wine.model_copy(update={"colour": colour})})
    assert compare_notes([one]).glasses[0].terms == {"wine.colour": "white (not said)"}


@given(notes(), st.randoms(use_true_random=False))
def test_the_order_of_notes_does_not_matter(some: list[Note], chance: random.Random) -> None:
    shuffled = list(some)
    chance.shuffle(shuffled)
    assert compare_notes(shuffled) == compare_notes(some)


@given(notes())
def test_only_what_was_said_is_in_a_mean_and_all_of_it(some: list[Note]) -> None:
    found = compare_notes(some)
    for path in LEVELS:
        said = [told.levels[path].level for told in map(read_told, some) if path in told.levels]
        assert (path in found.spreads) == bool(said)
        if said:
            assert found.spreads[path].n == len(said)
            assert found.spreads[path].mean == pytest.approx(fmean(said))
            assert min(said) <= found.spreads[path].mean <= max(said)
        elif path != "finish.length":
            assert (path in found.unspoken) == bool(some)


@given(notes())
def test_each_descriptor_stands_once_with_every_glass_that_named_it(some: list[Note]) -> None:
    found = compare_notes(some)
    named = {(n.field, n.term): n.named for n in (*found.common, *found.apart)}
    assert len(named) == len(found.common) + len(found.apart)
    for number, told in enumerate(found.glasses, 1):
        for term in told.descriptors.get("nose.aromas", ()):
            assert number in named["nose.aromas", term]
    assert sum(map(len, named.values())) == sum(
        len(t.descriptors.get("nose.aromas", ())) for t in found.glasses
    )


@given(st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=20))
def test_spread_is_that_of_the_statistics_module(values: list[float]) -> None:
    found = spread(values)
    assert found is not None
    assert found.mean == pytest.approx(fmean(values), abs=1e-6)
    assert found.sd == pytest.approx(stdev(values), abs=1e-4)


def test_the_document_has_no_zero_for_what_is_missing() -> None:
    document = as_document(compare_notes([note("a"), *flight(1)]))
    assert document["kind"] == "beside"
    empty = next(g for g in document["glasses"] if g["glass"]["id"] == "a")
    assert empty["levels"] == {}
    assert empty["held"] is None
    assert empty["score"] is None
