"""How a note stands in its text: sections, the fields in each, and what kind of value a field has."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Literal

from dictate.lexicon.entries import Lexicon
from dictate.note import Note

Kind = Literal[
    "integer", "code", "text", "term", "terms", "vintage", "level", "descriptors", "faults", "score",
    "seconds", "how", "texts",
]  # fmt: skip

# section -> its fields; a field's path in the note is "section.field", or the section alone ("faults")
SECTIONS: Final[dict[str, dict[str, Kind]]] = {
    "wine": {
        "position": "integer", "code": "code", "producer": "text", "name": "text", "origin": "text",
        "grapes": "terms", "vintage": "vintage", "colour": "term", "style": "term",
    },
    "appearance": {
        "clarity": "term", "depth": "level", "hue": "term", "rim": "term", "bubbles": "text", "tears": "text",
        "deposit": "text",
    },
    "nose": {"intensity": "level", "age": "term", "aromas": "descriptors", "absent": "descriptors"},
    "palate": {
        "sweetness": "level", "acidity": "level", "tannin": "level", "alcohol": "level", "body": "level",
        "bitterness": "level", "intensity": "level", "mousse": "level", "tannin_texture": "descriptors",
        "texture": "descriptors", "balance": "term", "flavours": "descriptors", "absent": "descriptors",
    },
    "finish": {"seconds": "seconds", "how": "how", "length": "level", "flavours": "descriptors"},
    "faults": {"named": "faults"},
    "verdict": {
        "quality": "level", "score": "score", "readiness": "term", "drink_from": "integer",
        "drink_to": "integer",
    },
    "remarks": {"remark": "texts"},
    "asides": {"aside": "texts"},
}  # fmt: skip
LISTS: Final = frozenset(["terms", "descriptors", "faults", "texts"])
MANY_LINES: Final = "texts"  # of these each item has a line of its own
TOP: Final = frozenset(["faults", "remarks", "asides"])  # sections that are one list of the note
LEXICON_KINDS: Final = {
    "wine.grapes": "grape", "palate.tannin_texture": "texture", "palate.texture": "texture",
    "faults": "fault",
}  # fmt: skip


class FormError(ValueError):
    """A line that cannot be read: the message tells its number and what is wanted. `line`: from 1."""

    def __init__(self, line: int, reason: str) -> None:
        super().__init__(f"line {line}: {reason}")
        self.line = line


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """What is known of terms: `closed` are all terms of a field (by path) that has no others."""

    lexicon: Lexicon | None = None
    closed: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


def path_of(section: str, name: str) -> str:
    """The path of a field in the note."""
    return section if section in TOP else f"{section}.{name}"


def value_at(note: Note, path: str) -> Any:
    """What a note has at a path; of a list a list, None where it has nothing."""
    section, _, name = path.partition(".")
    return getattr(getattr(note, section), name) if name else getattr(note, section)


def with_values(note: Note, values: Mapping[str, Any]) -> Note:
    """The note with other values at some paths. Raises pydantic's ValidationError where they do not fit."""
    made: dict[str, Any] = {name: getattr(note, name) for name in Note.model_fields}
    inner: dict[str, dict[str, Any]] = {}
    for path, value in values.items():
        section, _, name = path.partition(".")
        if name:
            inner.setdefault(section, {})[name] = value
        else:
            made[section] = value
    for section, fields in inner.items():
        part = made[section]
        made[section] = type(part)(
            **{**{name: getattr(part, name) for name in type(part).model_fields}, **fields}
        )
    return Note(**made)
