"""One note through its life: read, put right by hand, made again, undone, in any order."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from dictate.form import (
    Accept,
    AmendError,
    Put,
    Remove,
    Vocabulary,
    amended,
    held_fields,
    keep_corrections,
    texts_of,
)
from dictate.library import REVIEWED, Library
from dictate.note import Descriptor, Level, MadeWith, Nose, Note, Palate
from dictate.redo import Hear, gathered
from dictate.redo.keeping import keep
from dictate.redo.values import Made
from dictate.settings import Settings
from tests.redo.made import placed

OLDEST = MadeWith(program="0", model="m", lexicon="l")
LEVELS = st.sampled_from([2.0, 5.0, 8.0])
TERMS = st.lists(st.sampled_from(["lime", "peach", "saline"]), max_size=3, unique=True)
HAND = st.one_of(
    st.builds(Put, st.sampled_from(["palate.acidity", "palate.body"]), st.sampled_from(["2", "6", ""])),
    st.builds(Accept, st.just("palate.acidity")),
    st.builds(Accept, st.just("nose.aromas"), st.integers(0, 2)),
    st.builds(Remove, st.just("nose.aromas"), st.integers(0, 2)),
    st.just(Accept()),
)
STEPS = st.lists(st.tuples(LEVELS, LEVELS, TERMS) | HAND | st.just("undo"), max_size=9)


def read(acidity: float, body: float, terms: list[str], *, program: int) -> Note:
    """What a program reads."""
    return placed(
        0, 60, made_with=OLDEST.model_copy(update={"program": str(program)}),
        palate=Palate(acidity=Level(level=acidity), body=Level(level=body)),
        nose=Nose(aromas=[Descriptor(term=term) for term in terms]),
    )  # fmt: skip


@settings(max_examples=40)
@given(STEPS)
def test_who_read_what_is_known_and_each_step_can_be_taken_back(steps: list[Any]) -> None:
    note = read(5.0, 5.0, ["peach"], program=0)
    before = [(note, note)]  # the note, and what the program alone had read last; back to the first
    with tempfile.TemporaryDirectory() as folder, Library.open(Path(folder) / "l.sqlite") as library:
        library.add(note)
        for program, step in enumerate(steps, 1):
            was, machine = before[-1]
            revision = library.revisions("1")[-1][0]
            if step == "undo":
                assert (library.undo(1, revision=revision) is None) is (len(before) == 1)
                before = before[:-1] or before
            elif isinstance(step, tuple):
                now = read(*step, program=program)
                (source,) = gathered(library, MadeWith(program="99", model="m", lexicon="l")).sources
                (redone,) = keep(source, library, made=Made((now,)), hear=Hear(Settings())).redone
                assert redone.note == keep_corrections(was, now, when=_when(redone.note))
                told = {f.path: f.before for f in redone.difference.fields}
                assert told == {path: texts_of(machine)[path] for path in told}, "what was read is known"
                held = held_fields(was)
                assert {p: t for p, t in texts_of(redone.note).items() if p in held} == {
                    p: t for p, t in texts_of(was).items() if p in held
                }
                before.append((redone.note, now))
            else:
                try:
                    made = amended(was, step, known=Vocabulary(), when=f"2026-03-{program:02}")
                except AmendError:
                    continue
                if made != was:
                    library.change(1, made, revision=revision, why=REVIEWED)
                    before.append((made, machine))
            assert library.get("1") == before[-1][0]
        assert library.check() == ()


def _when(note: Note) -> str:
    """When the note was made again otherwise than it was accepted; "" where it was not."""
    return next((c.when for c in reversed(note.history) if c.after == "made again"), "")
