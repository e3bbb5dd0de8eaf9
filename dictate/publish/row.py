"""Notes as rows of a table: a column a field, in the order of the contract. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from pydantic import BaseModel

from dictate.csvtext import csv_text
from dictate.export import clean
from dictate.note import (
    Appearance,
    Descriptor,
    Fault,
    Finish,
    Level,
    Nose,
    Note,
    Palate,
    Score,
    Term,
    Text,
    Verdict,
    Vintage,
    Wine,
)
from dictate.publish.prose import as_prose

_SECTIONS: dict[str, type[BaseModel]] = {
    "wine": Wine,
    "appearance": Appearance,
    "nose": Nose,
    "palate": Palate,
    "finish": Finish,
    "verdict": Verdict,
}
_LEFT_OUT = frozenset(["finish.from_s", "finish.to_s", "finish.confidence"])  # of the recording, not the wine


def columns() -> tuple[str, ...]:
    """The header: field paths of the note ("palate.acidity"), then faults, remarks and the prose."""
    return ("id", *_paths(), "verdict.score.out_of", "faults", "remarks", "prose")


def _paths() -> Iterator[str]:
    for section in _SECTIONS:
        for name in _SECTIONS[section].model_fields:
            if f"{section}.{name}" not in _LEFT_OUT:
                yield f"{section}.{name}"


def as_csv(notes: Sequence[Note]) -> str:
    """A header and a row a note; levels as numbers, lists parted by "; ". No cell is taken for a formula."""
    return csv_text([columns(), *map(_cells, notes)])


def _cells(note: Note) -> Iterator[str]:
    yield clean(note.id)
    for path in _paths():
        section, _, name = path.partition(".")
        yield _cell(getattr(getattr(note, section), name))
    score = note.verdict.score
    yield f"{score.out_of:g}" if score is not None and score.out_of is not None else ""
    yield _cell(note.faults)
    yield _cell(note.remarks)
    yield as_prose(note)


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, list):
        return "; ".join(_cell(item) for item in value)
    if isinstance(value, Fault):
        return clean(value.term) + ("" if value.certain else " perhaps")
    if isinstance(value, Term | Descriptor):
        return clean(value.term)
    if isinstance(value, Text):
        return clean(value.text)
    if isinstance(value, Vintage):
        return str(value.year)
    if isinstance(value, Level):
        return f"{value.level:g}"
    if isinstance(value, Score):
        return f"{value.points:g}"
    return f"{value:g}" if isinstance(value, float) else clean(str(value))
