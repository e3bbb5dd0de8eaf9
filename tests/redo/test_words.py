"""Notes read anew from the words that they hold: by the same program they say the same."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from dictate.form import difference
from dictate.library import Library
from dictate.note import MadeWith
from dictate.pipeline import notes_from_source
from dictate.redo import Hear, gathered, redo_source
from dictate.settings import Settings
from tests.redo.made import vtt
from tests.speech.synth import as_vtt, timed_lines

DEV = Path(__file__).parents[1] / "corpus" / "dev"
PRESENT = MadeWith(program="9.0", model="none", lexicon="new")
# all seventy say the same (28 Nov 2026); a tenth of them here, for the time it takes
SOME = sorted(path for path in DEV.glob("*.yaml") if ".gold" not in path.suffixes)[::10]


@pytest.mark.parametrize("path", SOME, ids=lambda path: path.stem)
def test_a_note_read_anew_from_its_words_says_the_same(path: Path, tmp_path: Path, own_home: Path) -> None:
    lines = yaml.safe_load(path.read_text(encoding="utf-8"))["lines"]
    source = tmp_path / "bench.vtt"
    source.write_text(as_vtt(timed_lines(lines, None)[1]), encoding="utf-8")
    made = notes_from_source(source, recogniser=None, settings=Settings())
    source.unlink()
    with Library.open(own_home / "library.sqlite") as library:
        library.add_all(made)
        (todo,) = gathered(library, PRESENT, hears=False).sources
        outcome = redo_source(todo, library, hear=Hear(Settings(), by="words"))
    assert outcome.problems == ()
    assert [
        difference(old, old, now=new.note).fields for old, new in zip(made, outcome.redone, strict=True)
    ] == [() for _ in made]
    assert [r.note.transcript for r in outcome.redone] == [note.transcript for note in made]


@pytest.mark.parametrize("by", ["words", "sound"])
@pytest.mark.parametrize(
    "said",
    [
        "spitting now | still there | all gone",
        "spitting now | strike that | swallowing now | it's gone",
        "off the record | he owes me money | back on the record | spitting now | gone",
        "pause the notes | the body is full | resume the notes | very good",
        "the acidity is high | no, make the acidity low | scrap the lime",
        "off the record | he owes me money",
    ],
)
def test_cues_and_corrections_are_found_again(said: str, by: str, tmp_path: Path, own_home: Path) -> None:
    breaths = ["next wine, number one, Riesling", "lime on the nose", *said.split(" | "), "end of tasting"]
    source = tmp_path / "bench.vtt"
    source.write_text(vtt(*((text, 4.0 * n, 4.0 * n + 2) for n, text in enumerate(breaths))))
    made = notes_from_source(source, recogniser=None, settings=Settings())
    with Library.open(own_home / "library.sqlite") as library:
        library.add_all(made)
        (todo,) = gathered(library, PRESENT).sources
        outcome = redo_source(todo, library, hear=Hear(Settings(), by=by))  # type: ignore[arg-type]
        assert "money" not in str([library.in_effect("1"), outcome])
    (redone,) = outcome.redone
    assert redone.difference.fields == ()
    assert redone.note.history == made[0].history
    assert redone.note.transcript == made[0].transcript
    assert redone.note.finish == made[0].finish
