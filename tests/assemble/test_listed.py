"""A wine list beside the notes: which wine a note is of, what it lacks, and never over what was said."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.assemble import fill_from_list, keep_listed, listed_in
from dictate.assemble.listed import match_listed
from dictate.lexicon import load_lexicon
from dictate.note import LISTED, Note, Recording, Term, Text, Vintage, Wine, as_document, read_note
from dictate.values import ListedWine
from tests import build
from tests.note.notes import NOTE

LEXICON = load_lexicon()
RAKE = ListedWine(1, "B7", "Heron's Rake", "Three Herons", "Chinon", ("Cabernet Franc",), 2018)
WHISTLE = ListedWine(2, "K44", "Tin Whistle", "", "Clare Valley", ("Riesling",), 2022)
LADLE = ListedWine(3, "12", "Copper Ladle", "", "Barolo", ("Nebbiolo",), "NV")
LIST = (RAKE, WHISTLE, LADLE)
UNNUMBERED = tuple(
    ListedWine(producer=w.producer, name=w.name, origin=w.origin, grapes=w.grapes, vintage=w.vintage)
    for w in LIST
)


def note(
    *, producer: str = "", name: str = "", origin: str = "", grapes: tuple[str, ...] = (),
    vintage: Any = None, **plain: Any,
) -> Note:  # fmt: skip
    """A note of which this was said, each word at 2 to 3 s."""
    spoken: dict[str, Any] = {"at": (2.0, 3.0)}
    fields: dict[str, Any] = dict(plain)
    for field, text in (("producer", producer), ("name", name), ("origin", origin)):
        if text:
            fields[field] = Text(text=text, said=text, **spoken)
    if grapes:
        fields["grapes"] = [Term(term=g, said=g, **spoken) for g in grapes]
    if vintage:
        fields["vintage"] = Vintage(year=vintage, said=str(vintage), **spoken)
    place = Recording(path="a.wav", sha256="ab" * 32, start_s=1.0, end_s=60.0)
    return Note(id="n", wine=Wine(**fields), recording=place)


def filled(made: Note, *wines: ListedWine) -> Note:
    (one,) = fill_from_list([made], wines, lexicon=LEXICON)
    return one


def matched(made: Note, *wines: ListedWine) -> ListedWine | None:
    (one,) = match_listed([made], wines, lexicon=LEXICON)
    return one


def test_what_was_not_said_comes_from_the_list_and_says_so() -> None:
    wine = filled(note(position=1), *LIST).wine
    assert wine.producer == Text(text="Heron's Rake", source="listed")
    assert wine.name == Text(text="Three Herons", source="listed")
    assert wine.origin == Text(text="Chinon", source="listed")
    assert wine.grapes == [Term(term="cabernet franc", source="listed")]
    assert wine.vintage == Vintage(year=2018, source="listed")
    assert (wine.position, wine.code) == (1, "B7")
    assert (wine.producer.said, wine.producer.at) == ("", None)


def test_what_was_said_stays_to_the_letter() -> None:
    made = note(position=1, code="B7", producer="Heron's Rake", name="Three Herons", origin="chinon",
                grapes=("cabernet franc",), vintage=2018)  # fmt: skip
    assert filled(made, *LIST) is made


@pytest.mark.parametrize(
    ("said", "field", "before", "after"),
    [
        ({"vintage": 2019}, "wine.vintage", 2018, 2019),
        ({"vintage": "NV"}, "wine.vintage", 2018, "NV"),
        ({"producer": "Possum Ladder"}, "wine.producer", "Heron's Rake", "Possum Ladder"),
        ({"name": "Old Slope"}, "wine.name", "Three Herons", "Old Slope"),
        ({"origin": "mosel"}, "wine.origin", "Chinon", "mosel"),
        ({"grapes": ("merlot",)}, "wine.grapes", "Cabernet Franc", "merlot"),
        ({"grapes": ("cabernet franc", "merlot")}, "wine.grapes", "Cabernet Franc", "cabernet franc, merlot"),
        ({"code": "B8"}, "wine.code", "B7", "B8"),
    ],
)
def test_said_wins_over_listed_and_the_history_tells_it(
    said: dict[str, Any], field: str, before: Any, after: Any
) -> None:
    made = note(position=1, **said)
    one = filled(made, *LIST)
    name = field.partition(".")[2]
    assert getattr(one.wine, name) == getattr(made.wine, name)
    (change,) = [c for c in one.history if c.field == field]
    assert (change.before, change.after, change.by) == (f"{LISTED}{before}", after, "hand")
    assert change.when == ("1.00" if name == "code" else "2.00") + " s into the recording"
    assert all(c.field in (field, "wine.code") for c in one.history)
    if name != "producer":
        assert one.wine.producer == Text(text="Heron's Rake", source="listed")


@pytest.mark.parametrize(
    "said",
    [
        {"origin": "france"},  # Chinon is in France
        {"origin": "touraine"},  # in one country: nobody here knows which holds which
        {"grapes": ("cabernet franc",)},
        {"producer": "heron's rake"},
        {"vintage": 2018},
    ],
)
def test_what_agrees_or_may_is_no_contradiction(said: dict[str, Any]) -> None:
    one = filled(note(position=1, code="B7", **said), *LIST)
    assert not [c for c in one.history if str(c.before).startswith(LISTED)]


def test_a_grape_said_by_another_of_its_names_is_the_same() -> None:
    made = note(position=1, grapes=("syrah",))
    one = filled(made, ListedWine(1, grapes=("Shiraz",)))
    assert one is made
    listed = filled(note(position=1), ListedWine(1, grapes=("Shiraz", "Zzyxgrape"))).wine.grapes
    assert [g.term for g in listed] == ["syrah", "zzyxgrape"]


@pytest.mark.parametrize("said", ["Herein Rake", "herons rake", "Heron Rake", "Rake", "Herron's Wake"])
def test_a_producer_close_in_letters_is_spelt_as_listed_and_keeps_what_was_said(said: str) -> None:
    one = filled(note(position=1, code="B7", producer=said), *LIST)
    assert one.wine.producer == Text(text="Heron's Rake", said=said, at=(2.0, 3.0), source="spoken")
    assert [(c.field, c.before, c.after) for c in one.history] == [("wine.producer", said, "Heron's Rake")]


@pytest.mark.parametrize("said", ["Copper Ladle", "Tin Whistle", "Herring Lake Estate", "Domaine", "Raker"])
def test_another_producer_stays_as_said(said: str) -> None:
    one = filled(note(position=1, producer=said), *LIST)
    assert one.wine.producer is not None
    assert one.wine.producer.text == said


@pytest.mark.parametrize(
    ("made", "wine"),
    [
        (note(position=2), WHISTLE),
        (note(position=2, producer="Copper Ladle"), WHISTLE),  # the number says which
        (note(code="k-44"), WHISTLE),
        (note(code="12"), LADLE),
        (note(position=2, code="B7"), WHISTLE),  # the position before the code
        (note(position=9, code="B7"), RAKE),
        (note(position=9), None),  # a number that is not listed
        (note(position=9, producer="Tin Whistle"), None),
        (note(code="Z1"), None),
        (note(producer="Tin Whistle"), WHISTLE),
        (note(producer="Thin Thistle"), WHISTLE),
        (note(producer="Possum Ladder"), None),
        (note(name="Three Herons"), RAKE),
        (note(grapes=("riesling",), vintage=2022), WHISTLE),
        (note(grapes=("nebbiolo",), vintage="NV"), LADLE),
        (note(grapes=("riesling",)), None),  # a grape alone is not enough
        (note(vintage=2022), None),
        (note(grapes=("riesling",), vintage=2021), None),
        (note(), None),  # the list has positions, so order says nothing
    ],
)
def test_which_wine_a_note_is_of(made: Note, wine: ListedWine | None) -> None:
    assert matched(made, *LIST) == wine


def test_one_of_two_wines_of_a_producer_is_told_by_the_rest_or_not_at_all() -> None:
    old, young = (
        ListedWine(1, producer="Tin Whistle", vintage=2010),
        ListedWine(2, producer="Tin Whistle", vintage=2020),
    )
    assert matched(note(producer="Tin Whistle"), old, young) is None
    assert matched(note(producer="Tin Whistle", vintage=2020), old, young) == young


def test_a_position_listed_twice_is_told_by_the_rest_or_not_at_all() -> None:
    first, again = ListedWine(1, producer="Tin Whistle"), ListedWine(1, producer="Copper Ladle")
    assert matched(note(position=1), first, again) is None
    assert matched(note(position=1, producer="Copper Label"), first, again) == again


def test_a_code_of_figures_may_be_a_listed_position_and_the_other_way_round() -> None:
    assert matched(note(code="2"), ListedWine(2, producer="Tin Whistle")) is not None
    assert matched(note(position=2), ListedWine(code="2", producer="Tin Whistle")) is not None
    assert matched(note(position=2), ListedWine(code="20", producer="Tin Whistle")) is None
    assert matched(note(code="3"), *LIST) == LADLE  # "glass three", of a list that has codes too
    assert matched(note(code="12"), *LIST, ListedWine(12, "Z9")) == LADLE  # a code before a position


def test_two_notes_of_one_position_are_of_the_same_wine() -> None:
    first, again = fill_from_list([note(position=2), note(position=2)], LIST, lexicon=LEXICON)
    assert first.wine == again.wine
    assert first.wine.producer is not None
    assert first.wine.producer.text == "Tin Whistle"


def test_without_positions_on_the_list_the_order_tells() -> None:
    made = match_listed([note(), note(), note(), note()], UNNUMBERED, lexicon=LEXICON)
    assert made == (*UNNUMBERED, None)
    assert match_listed([note()], UNNUMBERED, lexicon=LEXICON, before=2) == (UNNUMBERED[2],)
    assert match_listed([note()], UNNUMBERED, lexicon=LEXICON, before=3) == (None,)


@pytest.mark.parametrize(
    ("said", "place"),
    [
        ({"producer": "Copper Ladle"}, 2),  # what is said comes before the order
        ({"grapes": ("cabernet franc",), "vintage": 2019}, 0),  # as much for it as against
        ({"grapes": ("merlot",)}, None),
        ({"vintage": 2001}, None),
        ({"origin": "mosel"}, None),
        ({"origin": "france"}, 0),
    ],
)
def test_the_order_does_not_tell_against_what_was_said(said: dict[str, Any], place: int | None) -> None:
    assert matched(note(**said), *UNNUMBERED) == (None if place is None else UNNUMBERED[place])


@pytest.mark.parametrize(("position", "place"), [(1, 0), (3, 2), (4, None), (0, None)])
def test_a_number_said_is_the_place_on_a_list_without_numbers(position: int, place: int | None) -> None:
    wine = None if place is None else UNNUMBERED[place]
    assert match_listed([note(position=position)], UNNUMBERED, lexicon=LEXICON, before=1) == (wine,)


def test_numbers_filled_in_are_in_the_history_for_they_have_no_source() -> None:
    one = filled(note(producer="Tin Whistle"), *LIST)
    assert (one.wine.position, one.wine.code) == (2, "K44")
    assert {(c.field, c.before, c.after) for c in one.history} == {
        ("wine.position", None, 2), ("wine.code", None, "K44"),
    }  # fmt: skip


def test_an_empty_list_and_no_notes() -> None:
    made = (note(position=1), note())
    assert fill_from_list(made, ()) == made
    assert fill_from_list((), LIST) == ()


def test_a_list_of_five_thousand() -> None:
    wines = tuple(ListedWine(n % 999 + 1, f"S{n}", f"Producer {n}") for n in range(5000))
    (one,) = fill_from_list([note(code="S4321")], wines, lexicon=LEXICON)
    assert one.wine.producer == Text(text="Producer 4321", source="listed")


WINES = st.lists(
    st.builds(
        ListedWine,
        position=st.none() | st.integers(1, 4),
        code=st.sampled_from(["", "B7", "1"]),
        producer=st.sampled_from(["", "Heron's Rake", "Tin Whistle", "'", "?"]),
        name=st.sampled_from(["", "Three Herons"]),
        origin=st.sampled_from(["", "Chinon", "Chinon, France", ","]),
        grapes=st.lists(st.sampled_from(["Riesling", "Shiraz", "-"]), max_size=2).map(tuple),
        vintage=st.sampled_from([None, "NV", 2018]),
    ),
    max_size=4,
)
SAID = st.builds(
    note,
    producer=st.sampled_from(["", "Herein Rake", "Tin Whistle", "."]),
    origin=st.sampled_from(["", "chinon", "mosel"]),
    grapes=st.lists(st.sampled_from(["riesling", "syrah"]), max_size=2, unique=True).map(tuple),
    vintage=st.sampled_from([None, "NV", 2018, 2019]),
    position=st.none() | st.integers(1, 4),
    code=st.sampled_from([None, "B7", "1"]),
)


@given(st.lists(SAID | NOTE, max_size=4), WINES)
def test_laws_of_filling(made: list[Note], wines: list[ListedWine]) -> None:
    after = fill_from_list(made, wines, lexicon=LEXICON)
    assert len(after) == len(made)
    for old, new in zip(made, after, strict=True):
        assert read_note(as_document(new)) == new
        assert new.model_copy(update={"wine": old.wine, "history": old.history}) == old
        for field in Wine.model_fields:
            before, now = getattr(old.wine, field), getattr(new.wine, field)
            if before not in (None, []) and field in ("producer", "name"):
                assert now.model_copy(update={"text": before.text}) == before
            elif before not in (None, []):
                assert now == before
            elif now not in (None, []) and field not in ("position", "code"):
                assert {v.source for v in (now if isinstance(now, list) else [now])} == {"listed"}
        assert [c for c in old.history if c not in new.history] == []


def test_small_lexicons_and_none_do() -> None:
    for lexicon in (build.small_lexicon(), None):
        (one,) = fill_from_list([note(position=1, grapes=("syrah",))], LIST, lexicon=lexicon)
        assert one.wine.origin == Text(text="Chinon", source="listed")


@pytest.mark.parametrize(
    "said",
    [
        {"position": 1},
        {"position": 1, "producer": "herein rake", "vintage": 2017},
        {"position": 1, "code": "B8", "grapes": ("pinot noir",), "origin": "barolo"},
        {"producer": "Heron's Rake"},
        {"position": 3, "vintage": 2010, "name": "quite another"},
    ],
    ids=repr,
)
def test_what_a_list_gave_outlives_a_note_made_anew_without_it(said: dict[str, Any]) -> None:
    heard = note(**said)
    old = filled(heard, *LIST)
    assert listed_in(heard) is None
    assert keep_listed(old, heard, lexicon=LEXICON) == old
    assert keep_listed(heard, heard, lexicon=LEXICON) == heard


def test_what_is_said_now_wins_over_the_list_of_then() -> None:
    old = filled(note(position=1), *LIST)
    kept = keep_listed(old, note(position=1, producer="herein rake", vintage=2017), lexicon=LEXICON)
    assert kept.wine.producer is not None
    assert kept.wine.vintage is not None
    assert (kept.wine.producer.text, kept.wine.producer.said) == ("Heron's Rake", "herein rake")
    assert (kept.wine.vintage.year, kept.wine.vintage.source) == (2017, "spoken")
    assert [c.before for c in kept.history if c.field == "wine.vintage"] == [f"{LISTED}2018"]
    assert kept.wine.code == "B7"


def test_a_list_of_now_wins_over_that_of_then() -> None:
    old = filled(note(position=1), *LIST)
    anew = filled(note(position=1), ListedWine(1, producer="Tin Whistle"))
    assert keep_listed(old, anew, lexicon=LEXICON) == anew


@given(SAID | NOTE, st.sampled_from(LIST + UNNUMBERED))
def test_any_note_is_filled_again_as_it_was(made: Note, wine: ListedWine) -> None:
    made = made.model_copy(update={"history": []})
    unlisted = listed_in(made) is None
    old = filled(made, wine)
    if unlisted:
        assert keep_listed(old, made, lexicon=LEXICON) == old
