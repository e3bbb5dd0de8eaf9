"""What a hand changed of a note: told in its history, and kept where the note is made anew."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from dictate.form.layout import LISTS, SECTIONS, Kind, path_of, value_at, with_values
from dictate.form.write import item_text, value_text
from dictate.note import Change, Note, of_list

WHOLE: Final = "note"  # the field of a change that accepts all of the note, or tells that this is over
ACCEPTED: Final = "accepted"
MADE_AGAIN: Final = "made again"
_ONSETS: Final = ("finish.from_s", "finish.to_s")
_CLOCK: Final = frozenset(["finish.seconds", "finish.how", *_ONSETS, "finish.confidence"])
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


def texts_of(note: Note) -> dict[str, tuple[str, ...]]:
    """What a note says in each field, by its path: the texts of a list's items, of one value its own, ()
    where there is nothing."""
    return {path: _texts(value_at(note, path), kind) for path, kind in _KINDS.items()}


def _texts(value: Any, kind: Kind) -> tuple[str, ...]:
    if kind in LISTS:
        return tuple(map(item_text, value))
    return () if value is None else (value_text(value, kind),)


def corrected_fields(note: Note) -> frozenset[str]:
    """The paths of the fields that a hand changed or accepted, by the note's history; of a list what was
    accepted is one item, which holds the others not. What a wine list gave is no hand's."""
    return frozenset(
        c.field
        for c in note.history
        if c.later
        and not of_list(c)
        and (c.field in _KINDS or c.field in _ONSETS)
        and (c.before != c.after or not c.after or _KINDS.get(c.field) not in LISTS)
    )


def held_fields(note: Note) -> frozenset[str]:
    """As `corrected_fields`; where one figure of the finish clock is among them, all of it."""
    paths = corrected_fields(note)
    return paths | _CLOCK if paths & _CLOCK else paths


def is_accepted(note: Note) -> bool:
    """Whether a hand accepted the whole note, and it was not made again otherwise since."""
    told = [c.after for c in note.history if c.later and c.field == WHOLE]
    return bool(told) and told[-1] != MADE_AGAIN


def keep_corrections(old: Note, new: Note, *, when: str) -> Note:
    """A note made anew from the same speech, with every field that a hand had put right as the hand left it
    (a list as a whole), the items of other lists that it had accepted, and the history of that behind its
    own. That the whole note was accepted holds where it says the same; else the history tells that it is
    over, at `when`, a time as ISO 8601. Kept again, it stays as it is."""
    paths = held_fields(old)
    kept = {path: value_at(old, path) for path in paths} | dict(_accepted_items(old, new, but=paths))
    made = with_values(new, kept) if kept else new
    hand = [c for c in old.history if c.later and not of_list(c) and c not in made.history]
    if not hand:
        return made
    if any(c.field == WHOLE for c in hand) and is_accepted(old) and texts_of(old) != texts_of(made):
        hand.append(Change(when=when, field=WHOLE, before=ACCEPTED, after=MADE_AGAIN, by="hand"))
    return made.model_copy(update={"history": [*made.history, *hand]})


def _accepted_items(old: Note, new: Note, *, but: frozenset[str]) -> Iterator[tuple[str, list[Any]]]:
    """The new note's lists that lack an item which a hand had accepted, with it: in the place of the same
    thing said otherwise (another strength), else behind the others."""
    told = {(c.field, c.after) for c in old.history if c.later and c.before == c.after and c.after}
    for path, kind in _KINDS.items():
        held = [i for i in value_at(old, path) if (path, item_text(i)) in told] if kind in LISTS else []
        if not held or path in but:
            continue
        items = list(value_at(new, path))
        texts = frozenset(map(item_text, held))
        for item in held:
            free = [n for n, each in enumerate(items) if item_text(each) not in texts - {item_text(item)}]
            place = next((n for n in free if _named(items[n]) == _named(item)), None)
            if place is None:
                items.append(item)
            else:
                items[place] = item
        yield path, items


def _named(item: Any) -> str:
    return str(getattr(item, "term", "") or getattr(item, "text", ""))
