"""What a hand changed of a note: told in its history, and kept where the note is made anew."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from dictate.form.layout import LISTS, SECTIONS, path_of, value_at, with_values
from dictate.form.write import item_text, value_text
from dictate.note import Change, Note

WHOLE: Final = "note"  # the field of a change that accepts all of the note
_ONSETS: Final = ("finish.from_s", "finish.to_s")
_CLOCK: Final = ("finish.seconds", "finish.how", *_ONSETS, "finish.confidence")
_KINDS: Final = {path_of(s, name): kind for s, fields in SECTIONS.items() for name, kind in fields.items()}


def by_hand(before: Note, after: Note, *, when: str) -> Note:
    """The edited note with a change by hand in its history for each field that differs (of a list, for each
    item); `when`: a time as ISO 8601. Without a difference it is the note itself."""
    changes = changes_between(before, after, when=when)
    return after.model_copy(update={"history": [*after.history, *changes]}) if changes else after


def changes_between(before: Note, after: Note, *, when: str = "") -> tuple[Change, ...]:
    """What differs between two notes, as changes by hand: as `by_hand` tells them."""
    return tuple(_changes(before, after, when=when))


def _changes(before: Note, after: Note, *, when: str) -> Iterator[Change]:
    for path, kind in _KINDS.items():
        old, new = value_at(before, path), value_at(after, path)
        if old == new:
            continue
        if kind not in LISTS:
            yield Change(when=when, field=path, before=_told(old, path), after=_told(new, path), by="hand")
            continue
        gone, come = _apart([item_text(i) for i in old], [item_text(i) for i in new])
        for item in gone:
            yield Change(when=when, field=path, before=item, after=None, by="hand")
        for item in come:
            yield Change(when=when, field=path, before=None, after=item, by="hand")
        told = value_text(old, kind), value_text(new, kind)
        if not gone and not come and told[0] != told[1]:  # another order
            yield Change(when=when, field=path, before=told[0], after=told[1], by="hand")
    for path in _ONSETS:
        first, second = value_at(before, path), value_at(after, path)
        if None not in (first, second) and first != second:  # else it is no timed finish, and `how` tells
            yield Change(when=when, field=path, before=first, after=second, by="hand")


def _apart(old: list[str], new: list[str]) -> tuple[list[str], list[str]]:
    """What is only in the one and only in the other, each as often as that."""
    gone, come = list(old), []
    for item in new:
        if item in gone:
            gone.remove(item)
        else:
            come.append(item)
    return gone, come


def _told(value: Any, path: str) -> Any:
    """A value as history tells it: a number as such, all else as text."""
    if value is None or isinstance(value, int | float):
        return value
    return value.level if hasattr(value, "level") else value_text(value, _KINDS[path])


def corrected_fields(note: Note) -> frozenset[str]:
    """The paths of the fields that a hand changed or accepted, by the note's history; of a list what was
    accepted is one item, which holds the others not."""
    return frozenset(
        c.field
        for c in note.history
        if c.by == "hand"
        and (c.field in _KINDS or c.field in _ONSETS)
        and (c.before != c.after or not c.after or _KINDS.get(c.field) not in LISTS)
    )


def keep_corrections(old: Note, new: Note) -> Note:
    """A note made anew from the same speech, with every field that a hand had put right as the hand left it
    (a list as a whole), and the history of that behind its own. That the whole note was accepted is not kept:
    it was another."""
    paths = corrected_fields(old)
    if not paths:
        return new
    if paths & frozenset(_CLOCK):
        paths |= frozenset(_CLOCK)
    kept = {path: value_at(old, path) for path in paths}
    made = with_values(new, kept)
    hand = [
        change
        for change in old.history
        if change.by == "hand" and change.field != WHOLE and change not in made.history
    ]
    return made.model_copy(update={"history": [*made.history, *hand]})
