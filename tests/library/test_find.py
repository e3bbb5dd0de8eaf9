"""The index finds just the notes for which a query holds: SQL against the oracle that reads the note."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictate.find import NUMBERS, Mentions, Query, Range, parse_query
from dictate.library import Library
from dictate.library.compile import order, where
from dictate.note import Note
from tests.find.oracle import holds, number
from tests.library.made import made_notes
from tests.library.queries import QUERY
from tests.note.notes import NOTE, full_note

ASKED = [
    "", "acidity over 7", "finish over 20 seconds", "smells of cedar", "tastes of red berries", "from chinon",
    "from Krems 2018", "by copper ladle", "before 2000", "fault", "fault cork taint", "acidity", "cedar",
    '"firm line"', "not smells of cedar and tannin under 3", "lacks oak", "oak*", "grape mourvedre",
    "(from Barolo or from Chinon) before 2000 not fault", "colour red body at least 5 quality at most 8",
]  # fmt: skip


@pytest.fixture(scope="module")
def notes() -> list[Note]:
    return list(made_notes(300))


@pytest.fixture(scope="module")
def library(notes: list[Note], tmp_path_factory: pytest.TempPathFactory) -> Library:
    library = Library.open(tmp_path_factory.mktemp("library") / "library.sqlite")
    library.add_all(notes)
    return library


def found(library: Library, query: Query) -> set[str]:
    hits = library.find(query)
    assert hits.total == len(hits.hits)
    return {hit.id for hit in hits.hits}


@pytest.mark.parametrize("text", ASKED)
def test_what_is_asked_for_is_found(text: str, library: Library, notes: list[Note]) -> None:
    query = parse_query(text)
    wanted = {note.id for note in notes if holds(query, note)}
    assert found(library, query) == wanted
    assert wanted, "a query that finds nothing tests little"


@settings(max_examples=150)
@given(query=QUERY)
def test_any_query_finds_what_the_oracle_says(query: Query, library: Library, notes: list[Note]) -> None:
    assert found(library, query) == {note.id for note in notes if holds(query, note)}


@settings(max_examples=60)
@given(st.lists(NOTE, max_size=4, unique_by=lambda note: note.id), st.lists(QUERY, min_size=1, max_size=5))
def test_any_note_is_found_as_the_oracle_says(notes: list[Note], queries: list[Query]) -> None:
    notes = [note.model_copy(update={"id": f"n{i}"}) for i, note in enumerate(notes)]
    with tempfile.TemporaryDirectory() as folder, Library.open(Path(folder) / "l.sqlite") as library:
        library.add_all([*notes, full_note()])
        for query in queries:
            assert found(library, query) == {n.id for n in (*notes, full_note()) if holds(query, n)}


def test_no_phrase_goes_across_two_items(library: Library) -> None:
    with tempfile.TemporaryDirectory() as folder, Library.open(Path(folder) / "l.sqlite") as own:
        own.add(full_note())  # smells of peach, vanilla
        assert own.find(parse_query("smells of peach")).total == 1
        assert own.find(parse_query('smells of "peach vanilla"')).total == 0
        assert own.find(parse_query("butter")).total == 0, "what was denied is not said to be there"
        assert own.find(parse_query("lacks butter")).total == 1


@pytest.mark.parametrize("by", ["finish", "quality", "vintage", "acidity"])
@pytest.mark.parametrize("reverse", [False, True])
def test_hits_are_sorted_and_what_is_not_told_comes_last(
    by: str, reverse: bool, library: Library, notes: list[Note]
) -> None:
    hits = library.find(parse_query("from chinon or from barolo"), by=by, reverse=reverse, limit=40).hits
    told = {note.id: number(note, by) for note in notes}
    values = [told[hit.id] for hit in hits]
    numbers = [value for value in values if value is not None]
    assert values == sorted(numbers, reverse=not reverse) + [None] * (len(values) - len(numbers))


def test_the_newest_come_first_and_titles_from_a_to_z(library: Library) -> None:
    newest = [hit.number for hit in library.find(limit=5).hits]
    assert newest == [300, 299, 298, 297, 296]
    titles = [hit.facts["producer"] for hit in library.find(by="producer", limit=50).hits]
    assert titles == sorted(titles)
    assert library.find(limit=0).total == 300


def test_nothing_of_a_query_is_pasted_into_sql() -> None:
    condition, parameters = where(parse_query('from "Robert\'); DROP TABLE notes;--" acidity over 7'))
    assert "DROP" not in condition
    assert sorted(map(str, parameters)) == ['(({origin} : "robert drop table note"))', "7.0"]
    for wrong in (
        Range("acidity; DROP TABLE notes", low=1),
        replace(Mentions(("origin",), ("a",)), texts=("a} : b",)),
        Mentions(("origin",), ('a" OR "b',)),
    ):
        with pytest.raises(ValueError):
            where(wrong)
    with pytest.raises(ValueError):
        order("finish; DROP TABLE notes", reverse=False)


def test_every_number_has_a_column() -> None:
    """... and an index to sort by, which many hits are taken from."""
    with tempfile.TemporaryDirectory() as folder, Library.open(Path(folder) / "l.sqlite") as own:
        own.add_all(made_notes(3200))
        for field in (*NUMBERS, "title", "producer", "origin", "added"):
            assert own.find(by=field, limit=2).total == 3200
