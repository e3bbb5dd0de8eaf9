"""However wines are parted now, no note is doubled, none dropped unseen, and once is enough."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from dictate.form import Put, Vocabulary, amended
from dictate.library import REVIEWED, Library
from dictate.note import Level, MadeWith, Note, Palate
from dictate.redo import Hear, Source, gathered
from dictate.redo.keeping import keep
from dictate.redo.parts import Part, parts
from dictate.redo.values import Made
from dictate.settings import Settings
from tests.redo.made import placed

OLDER, NOW = (MadeWith(program=p, model="m", lexicon="l") for p in ("1", "2"))


def is_one(part: Part) -> bool:
    """Whether one note is one note still."""
    return len(part.old) == len(part.new) == 1


def line(lengths: list[int], *, made_with: MadeWith, level: float) -> tuple[Note, ...]:
    """Notes that follow one another, a second between them."""
    made, at = [], 0.0
    for number, length in enumerate(lengths, 1):
        palate = Palate(acidity=Level(level=level))
        made.append(placed(at, at + length, number=number, made_with=made_with, palate=palate))
        at += length + 1
    return tuple(made)


LENGTHS = st.lists(st.integers(1, 40), min_size=1, max_size=5)


@settings(max_examples=40)
@given(LENGTHS, LENGTHS, st.sets(st.integers(0, 4)), st.booleans())
def test_laws_of_keeping(before: list[int], now: list[int], handled: set[int], recut: bool) -> None:
    old = line(before, made_with=OLDER, level=5)
    new = line(now, made_with=NOW, level=8)
    found = parts(old, new)
    with tempfile.TemporaryDirectory() as folder, Library.open(Path(folder) / "l.sqlite") as library:
        numbers = [kept.number for kept in library.add_all(old)]
        for place in handled & set(range(len(old))):
            made = amended(old[place], Put("palate.body", "3"), known=Vocabulary(), when="2026")
            library.change(numbers[place], made, revision=1, why=REVIEWED)
        (source,) = gathered(library, NOW).sources
        hear = Hear(Settings(), recut=recut)
        outcome = keep(source, library, made=Made(new), hear=hear)

        here = {h.number: library.get(str(h.number)) for h in library.find().hits}
        gone = {removed.number for removed in library.removed()}
        for place, number in enumerate(numbers):
            (part,) = [p for p in found if place in p.old]
            assert (number in here) is (number not in gone), "none is lost"
            if number in gone:
                assert recut
                assert part.new
                assert place not in handled, "what a hand was at is never taken out"
            elif not is_one(part) and not recut:
                assert here[number].made_with == OLDER, "it stays as it was"
            if number in here and place in handled:
                assert here[number].palate.body is not None, "what a hand put is there"
        spans = [
            (n.recording.start_s, n.recording.end_s)
            for n in here.values()
            if n.made_with == NOW and n.recording
        ]
        wanted = [new[p].recording for part in found for p in part.new if recut or is_one(part)]
        assert sorted(spans) == sorted((w.start_s, w.end_s) for w in wanted if w), "each once"
        assert library.check() == ()

        told = {r.number for r in outcome.redone}
        left = [n for n in here if n not in told]
        assert all(here[n].made_with == OLDER for n in left)
        assert (len(outcome.problems) > 0) is any(not is_one(p) for p in found if not recut) or recut
        if left:
            assert outcome.problems, "what stays is told"
        again = keep(_all_of(library, source), library, made=Made(new), hear=hear)
        assert all(redone.same for redone in again.redone), "the second time nothing is done"
        assert {h.number: library.get(str(h.number)) for h in library.find().hits} == here


def _all_of(library: Library, source: Source) -> Source:
    """The source as it is now, all of its notes asked for."""
    alive = tuple(sorted(hit.number for hit in library.find().hits))
    removed = tuple(r.number for r in library.removed())
    return replace(source, numbers=alive, removed=removed, wanted=dict.fromkeys(alive, ("asked for",)))
