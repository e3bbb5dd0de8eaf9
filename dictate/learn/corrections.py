"""What hands put right in notes: the changes of the history as corrections, each value once. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from difflib import SequenceMatcher
from typing import Any, Final

from dictate.learn.values import Correction
from dictate.lexicon.entries import spelled
from dictate.note import Change, Note

LISTS: Final = frozenset(
    "wine.grapes nose.aromas nose.absent palate.flavours palate.absent palate.tannin_texture palate.texture"
    " finish.flavours faults".split()
)
_LEFT_OUT: Final = ("note", "remarks", "asides", "transcript", "finish.how", "finish.confidence")


def by_hand(note: Note) -> tuple[Change, ...]:
    """The changes of a note's history that a hand made, or a voice at the review."""
    return tuple(change for change in note.history if change.later)


def corrections_of(note: Note) -> tuple[Correction, ...]:
    """What a hand put right in a note, as it stands now: a value that was changed and changed back, or
    accepted, is no correction. Of a list, an item that came is paired with the one that went at the same
    time and is most like it."""
    changes = by_hand(note)
    fields = dict.fromkeys(_field(c) for c in changes)
    found: list[Correction] = []
    for field in fields:
        mine = [c for c in changes if _field(c) == field]
        if field in _LEFT_OUT:
            continue
        found += _of_list(note, mine, field=field) if field in LISTS else _of_one(note, mine, field=field)
    return tuple(found)


def _field(change: Change) -> str:
    """The field, without an item's number."""
    return change.field.partition("[")[0]


def text_of(value: Any) -> str | None:
    """A value of the history as text, without the quotation marks of the form."""
    return None if value is None or value == "" else str(value).strip('"')


def item_of(value: Any) -> str | None:
    """An item of a list as text, without the strength or the doubt in brackets behind it."""
    text = text_of(value)
    return text.rpartition(" (")[0].strip('"') if text and text.endswith(")") and " (" in text else text


def _of_one(note: Note, changes: Sequence[Change], *, field: str) -> list[Correction]:
    """From what it was first to what it is in the end."""
    before, after = text_of(changes[0].before), text_of(changes[-1].after)
    if before == after:
        return []
    return [Correction(note.id, field, before, after, changes[-1].when)]


def _of_list(note: Note, changes: Sequence[Change], *, field: str) -> list[Correction]:
    gone = _only(changes, "before", other="after")
    come = _only(changes, "after", other="before")
    found = []
    for change in come:
        after = item_of(change.after) or ""
        pair = max(
            (g for g in gone if g.when == change.when),
            key=lambda g: SequenceMatcher(None, item_of(g.before) or "", after).ratio(),
            default=None,
        )
        if pair is not None:
            gone.remove(pair)
        found.append(Correction(note.id, field, item_of(pair.before) if pair else None, after, change.when))
    return [*found, *(Correction(note.id, field, item_of(g.before), None, g.when) for g in gone)]


def _only(changes: Sequence[Change], name: str, *, other: str) -> list[Change]:
    """The changes whose item on one side is in the end on no other's other side (it did not come back)."""
    left = [spelled(item_of(getattr(c, other)) or "") for c in changes if getattr(c, other) is not None]
    kept = []
    for change in changes:
        text = item_of(getattr(change, name))
        if text is None:
            continue
        if spelled(text) in left:
            left.remove(spelled(text))
            continue
        kept.append(change)
    return kept


def reviewed(notes: Iterable[Note]) -> tuple[Note, ...]:
    """The notes that a hand has looked at: it changed or accepted something in them."""
    return tuple(note for note in notes if by_hand(note))
