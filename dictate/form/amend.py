"""One change of a note by a hand: a value set, an item of a list added, put right, moved or taken out, the
onsets of the finish clock set, a value or the note accepted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from pydantic import ValidationError

from dictate.form.cells import Item, cell, number_cell
from dictate.form.changes import ACCEPTED, WHOLE, changes_between, is_accepted
from dictate.form.layout import LISTS, SECTIONS, Kind, Vocabulary, path_of, value_at, with_values
from dictate.form.read import settle_finish
from dictate.form.values import new_item, read_value
from dictate.form.write import item_text, value_text
from dictate.note import Change, Note, Text, finish_seconds

KINDS: Final[dict[str, Kind]] = {
    path_of(section, name): kind for section, fields in SECTIONS.items() for name, kind in fields.items()
}
MOST_LETTERS: Final = 400
LONGEST_S: Final = 600.0  # of a finish: more is a slip of the hand (common sense, no source)


class AmendError(ValueError):
    """A change that cannot be made, in one line that says what to do."""


@dataclass(frozen=True, slots=True)
class Put:
    """A single value as `as_text` writes it ("7.5", "ruby", "17.5 of 20"); "" takes it out."""

    path: str
    text: str


@dataclass(frozen=True, slots=True)
class Add:
    """An item behind the others of a list; `certain` is of faults alone."""

    path: str
    text: str
    strength: float | None = None
    certain: bool = True


@dataclass(frozen=True, slots=True)
class Amend:
    """An item of a list, by its place from 0, put right; `certain` is of faults alone."""

    path: str
    index: int
    text: str
    strength: float | None = None
    certain: bool = True


@dataclass(frozen=True, slots=True)
class Remove:
    """An item taken out of its list."""

    path: str
    index: int


@dataclass(frozen=True, slots=True)
class Move:
    """An item into another list of its kind."""

    path: str
    index: int
    to: str


@dataclass(frozen=True, slots=True)
class Onsets:
    """Where the two cues of the finish clock begin, seconds of the recording."""

    from_s: float
    to_s: float


@dataclass(frozen=True, slots=True)
class Accept:
    """A value looked at and right as it stands; without a path the whole note. `index`: of a list's item."""

    path: str = ""
    index: int | None = None


Amendment = Put | Add | Amend | Remove | Move | Onsets | Accept


def touched(amendment: Amendment) -> frozenset[str]:
    """The fields that a change rests on: where somebody else changed one of them, it may no longer fit."""
    match amendment:
        case Add():
            return frozenset()
        case Move(path, _, to):
            return frozenset([path, to])
        case Onsets():
            return frozenset(["finish.seconds", "finish.how", "finish.from_s", "finish.to_s"])
        case Put("finish.seconds") | Put("finish.how"):
            return touched(Onsets(0, 0))
        case Accept("", _):
            return frozenset(KINDS)
        case _:
            return frozenset([amendment.path])


def amended(note: Note, amendment: Amendment, *, known: Vocabulary, when: str) -> Note:
    """The note with the change made and told in its history; a change that changes nothing gives the note
    itself. `when`: a time as ISO 8601. Raises AmendError."""
    try:
        match amendment:
            case Put(path, text):
                values = _put(note, path, _tidy(text, empty=True), known=known)
            case Accept(path, index):
                return _accepted(note, path, index, when=when)
            case Onsets(from_s, to_s):
                values = _timed(note, from_s, to_s)
            case _:
                return _listed(note, amendment, known=known, when=when)
        after = with_values(note, values)
    except ValidationError as error:
        raise AmendError(str(error.errors()[0]["msg"])) from error
    except AmendError:
        raise
    except ValueError as error:  # FormError too
        raise AmendError(str(error)) from error
    return _told(after, changes_between(note, after, when=when))


def accepted(note: Note) -> frozenset[tuple[str, str]]:
    """The values a hand accepted, as path and text ("" for the whole note's path)."""
    items = frozenset(
        (c.field, str(c.after))
        for c in note.history
        if c.later and c.field != WHOLE and c.before == c.after and c.after is not None
    )
    return items | {("", "")} if is_accepted(note) else items


def shown_at(note: Note, path: str, *, index: int | None = None) -> str:
    """The text of a value as `accepted` and history name it, "" where there is none."""
    value = value_at(note, path)
    if index is not None:
        return item_text(value[index]) if 0 <= index < len(value) else ""
    return value_text(value, KINDS[path])


def _kind(path: str, *, listed: bool) -> Kind:
    kind = KINDS.get(path)
    if kind is None or (kind in LISTS) is not listed or path == "finish.how":
        raise AmendError(f"“{path[:60]}” is no {'list' if listed else 'field'} that can be changed so")
    return kind


def _tidy(text: str, *, empty: bool = False) -> str:
    made = " ".join(text.split())
    if not made.isprintable() or len(made) > MOST_LETTERS or not (made or empty):
        raise AmendError(f"words are wanted, at most {MOST_LETTERS} letters that can be seen")
    return made


def _put(note: Note, path: str, text: str, *, known: Vocabulary) -> dict[str, Any]:
    kind = _kind(path, listed=False)
    written = cell(text) if text else ""
    values = {path: read_value(written, kind, path=path, before=value_at(note, path), known=known)}
    if path == "finish.seconds" and values[path] == note.finish.seconds:
        return {}
    settle_finish(note, values, where={})
    return values


def _timed(note: Note, from_s: float, to_s: float) -> dict[str, Any]:
    """The clock, recomputed: from onset to onset."""
    part = note.recording
    if part is None:
        raise AmendError("there is no recording in which an onset could be; set the seconds instead")
    if not part.start_s <= from_s < to_s <= part.end_s:
        raise AmendError("the taste goes after the wine has left, and both within this wine's part")
    if to_s - from_s > LONGEST_S:
        raise AmendError(f"a finish of more than {LONGEST_S:g} s is a slip; set the onsets closer")
    return {
        "finish.seconds": finish_seconds(to_s - from_s), "finish.how": "timed", "finish.from_s": from_s,
        "finish.to_s": to_s, "finish.confidence": 1.0,
    }  # fmt: skip


def _listed(note: Note, amendment: Add | Amend | Remove | Move, *, known: Vocabulary, when: str) -> Note:
    path = amendment.path
    kind = _kind(path, listed=True)
    items = list(value_at(note, path))
    values: dict[str, Any] = {path: items}
    if isinstance(amendment, Add):
        made = _item(amendment, kind, before=None, known=known)
        _refuse_twice(made, items)
        items.append(made)
        changes = [_change(path, None, made, when=when)]
    else:
        if not 0 <= amendment.index < len(items):
            raise AmendError("that item is no longer there; load the page again")
        old = items.pop(amendment.index)
        match amendment:
            case Remove():
                changes = [_change(path, old, None, when=when)]
            case Move(_, _, to):
                moved = old.model_copy(update={"source": "corrected"})
                others = _others(note, path, kind, to=to)
                _refuse_twice(moved, others)
                values[to] = [*others, moved]
                changes = [_change(path, old, None, when=when), _change(to, None, moved, when=when)]
            case Amend():
                made = _item(amendment, kind, before=old, known=known)
                if item_text(made) == item_text(old):
                    return note
                if getattr(made, "term", "") != getattr(old, "term", ""):
                    _refuse_twice(made, items)
                items.insert(amendment.index, made)
                changes = [_change(path, old, made, when=when)]
    return _told(with_values(note, values), changes)


def _others(note: Note, path: str, kind: Kind, *, to: str) -> Sequence[Any]:
    fits = KINDS.get(to) == kind and kind in ("descriptors", "texts") and to != path
    if not fits:
        raise AmendError(f"an item of {path} does not go into “{to[:60]}”")
    found: Sequence[Any] = value_at(note, to)
    return found


def _item(given: Add | Amend, kind: Kind, *, before: Any, known: Vocabulary) -> Any:
    text = _tidy(given.text)
    if kind == "texts":
        made: Any = Text(text=text, source="corrected")
    else:
        marks = [] if given.strength is None else [number_cell(given.strength)]
        if not given.certain:
            marks.append("perhaps")
        same = before if before is not None and before.term == text else None
        item = Item(text, ", ".join(marks) or None)
        made = new_item(item, kind, path=given.path, before=same, known=known)
    return made if before is None else made.model_copy(update={"said": before.said, "at": before.at})


def _refuse_twice(item: Any, items: Sequence[Any]) -> None:
    name = item.text if isinstance(item, Text) else item.term
    if any(name == (each.text if isinstance(each, Text) else each.term) for each in items):
        raise AmendError(f"“{name[:40]}” is there already")


def _accepted(note: Note, path: str, index: int | None, *, when: str) -> Note:
    if not path:
        change = Change(when=when, field=WHOLE, before=None, after=ACCEPTED, by="hand")
        return note if ("", "") in accepted(note) else _told(note, [change])
    kind = KINDS.get(path)
    text = shown_at(note, path, index=index) if kind and (kind in LISTS) is (index is not None) else ""
    if not text:
        raise AmendError(f"there is nothing at “{path[:60]}” to accept")
    value = value_at(note, path) if index is None else value_at(note, path)[index]
    said = getattr(value, "said", "")
    change = Change(when=when, field=path, before=text, after=text, by="hand", said=said)
    return note if (path, text) in accepted(note) else _told(note, [change])


def _change(path: str, before: Any, after: Any, *, when: str) -> Change:
    told = [None if each is None else item_text(each) for each in (before, after)]
    said = getattr(before if before is not None else after, "said", "")
    return Change(when=when, field=path, before=told[0], after=told[1], by="hand", said=said)


def _told(note: Note, changes: Sequence[Change]) -> Note:
    return note.model_copy(update={"history": [*note.history, *changes]}) if changes else note
