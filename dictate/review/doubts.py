"""How likely each value of a note is right: what the page marks, and in which order."""

from __future__ import annotations

from dataclasses import dataclass

from dictate.form.amend import KINDS, accepted, shown_at
from dictate.form.layout import LISTS, value_at
from dictate.note import Note

ROUTINE = 0.9


@dataclass(frozen=True, slots=True)
class Doubt:
    """As of the room."""

    field: str
    right: float
    reason: str


def doubts(note: Note) -> tuple[Doubt, ...]:
    """Stand-in: the recogniser's confidence alone."""
    found = []
    done = accepted(note)
    for path, kind in KINDS.items():
        value = value_at(note, path)
        for index, item in enumerate(value) if kind in LISTS else [(None, value)]:
            sure = getattr(item, "confidence", 1.0) if getattr(item, "source", "") == "spoken" else 1.0
            if sure < ROUTINE and (path, shown_at(note, path, index)) not in done:
                found.append(Doubt(path if index is None else f"{path}[{index}]", sure, "heard unsurely"))
    return tuple(sorted(found, key=lambda d: d.right))


def doubtful(note: Note) -> tuple[Doubt, ...]:
    """The doubtful values of a note, the likeliest wrong first."""
    return tuple(each for each in doubts(note) if each.right < ROUTINE)
