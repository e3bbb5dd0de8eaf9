"""Notes for the tests of publishing: of the corpus, read as text, and of lines given."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

import yaml

from dictate.note import Note
from dictate.pipeline import notes_from_words
from dictate.settings import Settings
from dictate.values import Heard, Word
from tests import build

ROOT = Path(__file__).parents[2]
CORPUS = sorted((ROOT / "tests" / "corpus" / "dev").glob("*.yaml"))


def notes_of(words: tuple[Word, ...]) -> tuple[Note, ...]:
    """The notes of words."""
    end = words[-1].end_s + 1 if words else 1.0
    heard = Heard(words, end, "transcript")
    return notes_from_words(heard, settings=Settings(), recording=build.RECORDING)


def note_of(*lines: str) -> Note:
    """The note of lines that are each a breath."""
    (note,) = notes_of(build.breaths(lines))
    return note


@lru_cache(maxsize=128)
def corpus_note(path: Path) -> Note:
    """The note of a text of the corpus: the longest, as the scorer takes it."""
    lines: Sequence[dict[str, str]] = yaml.safe_load(path.read_text(encoding="utf-8"))["lines"]
    notes = notes_of(build.breaths([line["say"] for line in lines if "say" in line]))
    return max(notes, key=lambda n: len(n.transcript))
