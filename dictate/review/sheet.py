"""A note as the page sets it: sections of readable text in which each value can be found again. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from dictate.doubt import Doubt, held_values
from dictate.export import capitals, clean, number
from dictate.form.amend import KINDS, accepted, shown_at
from dictate.form.layout import LISTS, Kind, value_at
from dictate.note import (
    Change,
    Descriptor,
    Fault,
    Level,
    Note,
    Score,
    Spoken,
    Term,
    Text,
    TranscriptWord,
    Vintage,
)

# heading, then the lines of a section: what stands before the values, and the fields in it
_SET: Final[tuple[tuple[str, tuple[tuple[str, tuple[str, ...]], ...]], ...]] = (
    ("Wine", (
        ("", ("wine.position", "wine.code", "wine.producer", "wine.name", "wine.grapes", "wine.origin",
              "wine.vintage", "wine.colour", "wine.style")),
    )),
    ("Appearance", (
        ("", ("appearance.clarity", "appearance.depth", "appearance.hue", "appearance.rim",
              "appearance.bubbles", "appearance.tears", "appearance.deposit")),
    )),
    ("Nose", (
        ("", ("nose.intensity", "nose.age")), ("smells of", ("nose.aromas",)),
        ("not there", ("nose.absent",)),
    )),
    ("Palate", (
        ("", ("palate.sweetness", "palate.acidity", "palate.tannin", "palate.alcohol", "palate.body",
              "palate.bitterness", "palate.intensity", "palate.mousse", "palate.balance")),
        ("tannin feels", ("palate.tannin_texture",)), ("feels", ("palate.texture",)),
        ("tastes of", ("palate.flavours",)), ("not there", ("palate.absent",)),
    )),
    ("Finish", (
        ("", ("finish.seconds", "finish.length")), ("ends on", ("finish.flavours",)),
    )),
    ("Faults named", (("", ("faults",)),)),
    ("Verdict", (
        ("", ("verdict.quality", "verdict.score", "verdict.readiness", "verdict.drink_from",
              "verdict.drink_to")),
    )),
    ("Also said", (("", ("remarks",)),)),
    ("Aside", (("", ("asides",)),)),
)  # fmt: skip
NAMES: Final[Mapping[str, str]] = {
    "wine.position": "number", "wine.code": "glass", "nose.intensity": "intensity of the nose",
    "nose.age": "age on the nose", "nose.aromas": "smell", "nose.absent": "not on the nose",
    "palate.tannin_texture": "feel of the tannin", "palate.texture": "feel", "palate.flavours": "taste",
    "palate.absent": "not on the palate", "palate.intensity": "intensity of the palate",
    "finish.seconds": "length in seconds", "finish.length": "length in words",
    "finish.flavours": "taste at the end", "faults": "fault", "remarks": "remark", "asides": "aside",
    "verdict.drink_from": "drink from", "verdict.drink_to": "drink until", "wine.grapes": "grape",
    "finish.from_s": "start of the finish", "finish.to_s": "end of the finish", "note": "the note",
}  # fmt: skip
# what stands before a single value in the text; the others speak for themselves
_BEFORE: Final[Mapping[str, str]] = {
    "wine.position": "number", "wine.code": "glass", "appearance.rim": "rim", "appearance.tears": "tears",
    "appearance.deposit": "deposit", "verdict.drink_from": "drink from", "verdict.drink_to": "until",
}  # fmt: skip
_NAMED: Final = ("wine.producer", "wine.name", "wine.origin")
_SOURCES: Final = {
    "corrected": "put right by hand", "typed": "typed", "listed": "from the wine list",
    "inferred": "not said, inferred", "stated later": "put right while talking",
}  # fmt: skip
_PLACE: Final = re.compile(r"(.*?)(?:\[(\d+)\])?")


@dataclass(frozen=True, slots=True)
class Value:
    """One value on the page. `rank` is its place among the doubtful ones from 1, None where it is none;
    `edit` what a hand begins with when it changes it."""

    path: str
    index: int | None
    kind: Kind
    name: str  # what it is of: "acidity"
    before: str  # what stands before it in the text
    shown: str
    figure: str  # on the scale from 0 to 10, "" where there is none
    edit: str
    said: str
    at: tuple[float, float] | None
    note: str  # where it is from, if not simply said
    rank: int | None = None
    right: float = 1.0
    reason: str = ""
    accepted: bool = False
    strength: float | None = None
    certain: bool = True

    @property
    def key(self) -> str:
        """Its name as an element of the page."""
        return self.path if self.index is None else f"{self.path}.{self.index}"

    @property
    def told(self) -> str:
        """All of it in words, for who hears the page."""
        figure = f", {self.figure} of 10" if self.figure else ""
        doubt = f"; doubtful: {self.reason}" if self.rank else ""
        return f"{self.name}: {self.shown}{figure}{doubt}".replace(": , ", ": ")


@dataclass(frozen=True, slots=True)
class Line:
    """Values behind each other, and what stands before all of them."""

    before: str
    values: tuple[Value, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """One part of the note, and the fields that can be added in it, as path, name and kind."""

    heading: str
    lines: tuple[Line, ...]
    open: tuple[tuple[str, str, Kind], ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """The note's sections; `doubtful` in order, the likeliest wrong first; whether a hand accepted it all."""

    sections: tuple[Section, ...]
    doubtful: tuple[Value, ...]
    accepted: bool


def sheet_of(note: Note, doubts: Sequence[Doubt]) -> Sheet:
    """The note set as text. `doubts`: its doubtful values, the likeliest wrong first."""
    done = accepted(note)
    whole = ("", "") in done
    places = {each.path: each.words for each in held_values(note)}
    ranks = {} if whole else {_split(d.field): (rank, d) for rank, d in enumerate(doubts, 1)}
    values = {
        path: tuple(_values(note, path, ranks=ranks, done=done, places=places))
        for path in KINDS
        if path != "finish.how"
    }
    sections = tuple(
        Section(
            heading,
            tuple(
                Line(before, found)
                for before, paths in lines
                if (found := tuple(v for path in paths for v in values[path]))
            ),
            tuple(
                (path, name_of(path), KINDS[path])
                for _, paths in lines
                for path in paths
                if KINDS[path] in LISTS or not values[path]
            ),
        )
        for heading, lines in _SET
    )
    doubtful = sorted((v for found in values.values() for v in found if v.rank), key=lambda v: v.rank or 0)
    return Sheet(sections, tuple(doubtful), whole)


def name_of(path: str) -> str:
    """What a field is called: "acidity"."""
    return NAMES.get(path) or path.partition(".")[2].replace("_", " ")


def told_change(change: Change) -> str:
    """A change in words: "acidity: 5 → 8"."""
    name = name_of(change.field)
    if change.field == "note":
        return f"the note: {change.after}" + (", no longer accepted" if change.before else "")
    if change.before == change.after:
        return f"{name}: {_plain(change.after)} accepted"
    return f"{name}: {_plain(change.before)} → {_plain(change.after)}"


def _plain(value: Any) -> str:
    return "nothing" if value is None or value == "" else clean(str(value)).strip('"')


def _split(field: str) -> tuple[str, int | None]:
    found = _PLACE.fullmatch(field)
    assert found is not None  # it matches anything
    return found[1], int(found[2]) if found[2] else None


def _values(
    note: Note,
    path: str,
    *,
    ranks: Mapping[tuple[str, int | None], tuple[int, Doubt]],
    done: frozenset[tuple[str, str]],
    places: Mapping[str, Sequence[TranscriptWord]],
) -> Iterator[Value]:
    kind, held = KINDS[path], value_at(note, path)
    items = list(enumerate(held)) if kind in LISTS else [(None, held)] if held is not None else []
    for index, item in items:
        rank, doubt = ranks.get((path, index), (None, None))
        shown, figure = _shown(item, path)
        words = places.get(path if index is None else f"{path}[{index}]", ())
        yield Value(
            path=path, index=index, kind=kind, name=name_of(path), before=_before(item, path, shown),
            shown=shown, figure=figure, edit=_edit(item), said=_said(item),
            at=_at(note, item, path, words=words),
            note=_note(note, item, path), rank=rank, right=doubt.right if doubt else 1.0,
            reason=doubt.reason if doubt else "", accepted=(path, shown_at(note, path, index=index)) in done,
            strength=getattr(item, "strength", None), certain=getattr(item, "certain", True),
        )  # fmt: skip


def _shown(item: Any, path: str) -> tuple[str, str]:
    """The value as text, and the figure behind it."""
    match item:
        case Level():
            said = _said(item)
            figure = number(item.level)
            by_words = said and item.source != "corrected"
            return (said, figure) if by_words else ("", figure)
        case Fault():
            return item.term + ("" if item.certain else " perhaps"), _strength(item)
        case Descriptor():
            return clean(item.term), _strength(item)
        case Term():
            return clean(item.term), ""
        case Vintage():
            return str(item.year), ""
        case Score():
            return _edit(item), ""
        case Text():
            named = path in _NAMED and item.source in ("spoken", "stated later")  # else as it was written
            return (capitals(clean(item.text)) if named else clean(item.text)), ""
        case float() if path == "finish.seconds":
            return f"{item:.2f} s", ""
    return clean(str(item)), ""


def _strength(item: Descriptor) -> str:
    return "" if item.strength is None else number(item.strength)


def _before(item: Any, path: str, shown: str) -> str:
    if not isinstance(item, Level):
        return _BEFORE.get(path, "")
    name = path.partition(".")[2]
    words = {name, *_SPEAKS.get(name, ())}
    return "" if any(word in shown.lower() for word in words) else name


# words that say by themselves which level is meant
_SPEAKS: Final[Mapping[str, tuple[str, ...]]] = {
    "sweetness": ("dry", "sweet", "sugar"), "depth": ("pale", "deep", "opaque", "depth"),
    "body": ("bodied", "body", "weight"), "tannin": ("tannic",), "acidity": ("acid",),
    "length": ("long", "short", "finish", "linger"),
}  # fmt: skip


def _edit(item: Any) -> str:
    match item:
        case Level():
            return number(item.level)
        case Term():
            return item.term
        case Descriptor():
            return item.term
        case Text():
            return item.text
        case Vintage():
            return str(item.year)
        case Score():
            return number(item.points) + (f" of {number(item.out_of)}" if item.out_of is not None else "")
    return f"{item:.2f}" if isinstance(item, float) else str(item)


def _said(item: Any) -> str:
    return clean(item.said).strip(" ,.;:") if isinstance(item, Spoken) else ""


def _at(note: Note, item: Any, path: str, *, words: Sequence[TranscriptWord]) -> tuple[float, float] | None:
    """Where it was said, seconds; of a timed finish from cue to cue."""
    if isinstance(item, Spoken) and item.at is not None:
        return item.at
    finish = note.finish
    if path == "finish.seconds" and finish.from_s is not None and finish.to_s is not None:
        return finish.from_s, finish.to_s
    return (words[0].at[0], words[-1].at[1]) if words else None


def _note(note: Note, item: Any, path: str) -> str:
    if path == "finish.seconds":
        unsure = note.finish.confidence is not None and note.finish.confidence < 0.5
        how = {"timed": "from cue to cue", "stated": "as stated"}.get(note.finish.how or "", "")
        return how + (", a cue begins unclearly" if unsure else "")
    if isinstance(item, Descriptor) and not item.known:
        return _SOURCES.get(item.source, "not in the lexicon")
    return _SOURCES.get(item.source, "") if isinstance(item, Spoken) else ""
