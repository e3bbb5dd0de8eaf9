"""Three readings of the same speech, side by side: what the program made of it before, what it makes of it
now, and what a hand put. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Any, Literal

from dictate.form.changes import corrected_fields, held_fields, keep_corrections, texts_of
from dictate.form.layout import value_at, with_values
from dictate.note import Note

Kind = Literal[
    "machine",  # no hand was there: the new reading stands
    "kept",  # the new reading is the old one, and the hand's stands against both
    "agree",  # the new reading is what the hand put
    "conflict",  # the new reading is neither: the hand's stands
]


@dataclass(frozen=True, slots=True)
class FieldDifference:
    """One field: what the old machine read, what the new one reads, and what stands; each the texts of a
    list's items, of a single value its own, () of nothing."""

    path: str
    kind: Kind
    before: tuple[str, ...]
    now: tuple[str, ...]
    stands: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Difference:
    """The fields that differ, in the order of a note; and of how many words of what was heard before how
    many are heard otherwise now."""

    fields: tuple[FieldDifference, ...] = ()
    words: int = 0
    otherwise: int = 0

    def of_kind(self, kind: Kind) -> tuple[FieldDifference, ...]:
        """The fields of one kind."""
        return tuple(field for field in self.fields if field.kind == kind)


def difference(before: Note, hand: Note, *, now: Note) -> Difference:
    """What differs between the old machine's note, that with a hand's corrections, and the new machine's.
    What stands of the last two is what `keep_corrections` makes of them. A field in which all agree is not
    told."""
    old, new = texts_of(before), texts_of(now)
    stands = texts_of(keep_corrections(hand, now, when=""))
    touched = corrected_fields(hand)
    words, otherwise = _words(before), _words(now)
    return Difference(
        tuple(
            FieldDifference(path, kind, old[path], new[path], stands[path])
            for path in old
            if (kind := _kind(old[path], new[path], stands=stands[path], by_hand=path in touched))
        ),
        len(words),
        _changed(words, otherwise),
    )


def _kind(
    before: tuple[str, ...], now: tuple[str, ...], *, stands: tuple[str, ...], by_hand: bool
) -> Kind | None:
    if stands == now:
        return None if before == now else "agree" if by_hand else "machine"
    return "kept" if before == now else "conflict"


def _words(note: Note) -> list[str]:
    return [word.text.casefold() for phrase in note.transcript for word in phrase.words]


def _changed(before: Sequence[str], now: Sequence[str]) -> int:
    """Words that are others now; of a stretch the longer side counts."""
    steps = SequenceMatcher(None, before, now, autojunk=False).get_opcodes()
    return sum(max(b - a, d - c) for step, a, b, c, d in steps if step != "equal")


def machine_reading(made: Sequence[tuple[bool, Note]], *, now: Note) -> Note:
    """What the program alone had read, from the notes that it made (at least one), the newest first; each
    with whether it is the program's alone, or what a hand had put right before is in it.

    A field in which a hand's value stood ever since is taken for read as it is read `now`: what is not known
    is not told as a difference.
    """
    values: dict[str, Any] = {}
    unknown: frozenset[str] = frozenset()
    for place, (alone, note) in enumerate(made):
        held = frozenset() if alone else held_fields(note)
        if place:
            values |= {path: value_at(note, path) for path in unknown - held}
        unknown = unknown & held if place else held
        if not unknown:
            break
    values |= {path: value_at(now, path) for path in unknown}
    return with_values(made[0][1], values) if values else made[0][1]
