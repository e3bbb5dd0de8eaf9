"""Which notes of several tasters are of the same wine of a flight."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from dictate.compare.reading import identity, in_order
from dictate.compare.values import LeftOut
from dictate.export import wine_title
from dictate.language.tokens import fold
from dictate.note import Note

By = Literal["position", "code", "wine"]
_Key = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Matched:
    """A flight: titles of its wines, and notes by number of the wine (from 1) and taster."""

    by: By
    wines: tuple[str, ...]
    notes: Mapping[tuple[int, str], Note]
    left_out: tuple[LeftOut, ...]
    cautions: tuple[str, ...]


def _position(note: Note) -> _Key:
    return () if note.wine.position is None else (note.wine.position,)


def _code(note: Note) -> _Key:
    return (fold(note.wine.code),) if note.wine.code else ()


def _wine(note: Note) -> _Key:
    named = identity(note)
    return (*named, str(note.wine.vintage.year) if note.wine.vintage else "") if named else ()


_KEYS: Mapping[By, Callable[[Note], _Key]] = {"position": _position, "code": _code, "wine": _wine}
_LACKS: Mapping[By, str] = {
    "position": "its place in the flight is not known",
    "code": "the code of its glass is not known",
    "wine": "neither producer nor name is known",
}


def match_flight(notes: Mapping[str, Iterable[Note]]) -> Matched:
    """Notes by taster to wines. Of place, code and wine, that key is taken by which most notes find a wine
    that another taster has too (the first of the three where several do). A taster's second note of a wine
    is left out, with a reason; where names differ under one key, a caution says so."""
    by_taster = {taster: in_order(notes[taster]) for taster in sorted(notes)}
    by: By = max(_KEYS, key=lambda kind: _shared(by_taster, _KEYS[kind]))  # the first of the best
    key_of = _KEYS[by]
    left_out: list[LeftOut] = []
    groups: dict[_Key, dict[str, Note]] = defaultdict(dict)
    for taster, own in by_taster.items():
        for note in own:
            key = key_of(note)
            if not key:
                left_out.append(LeftOut(f"{taster}: {wine_title(note)}", _LACKS[by]))
            elif taster in groups[key]:
                reason = "a second note of the same wine; for repeat pours take --repeats"
                left_out.append(LeftOut(f"{taster}: {wine_title(note)}", reason))
            else:
                groups[key][taster] = note
    flight = [groups[key] for key in sorted(groups, key=lambda key: tuple(map(_sortable, key)))]
    return Matched(
        by=by,
        wines=tuple(_title(list(group.values())) for group in flight),
        notes={(n, taster): note for n, group in enumerate(flight, 1) for taster, note in group.items()},
        left_out=tuple(left_out),
        cautions=tuple(c for n, group in enumerate(flight, 1) if (c := _caution(n, group))),
    )


def _sortable(part: str | int) -> tuple[bool, int, str]:
    return (isinstance(part, str), part if isinstance(part, int) else 0, str(part))


def _shared(by_taster: Mapping[str, Sequence[Note]], key_of: Callable[[Note], _Key]) -> int:
    having: dict[_Key, set[str]] = defaultdict(set)
    for taster, own in by_taster.items():
        for note in own:
            if key := key_of(note):
                having[key].add(taster)
    return sum(len(tasters) for tasters in having.values() if len(tasters) > 1)


def _title(group: Sequence[Note]) -> str:
    """The fullest title that any taster's note has; of equally full ones the first by the alphabet."""
    return max(sorted({wine_title(note) for note in group}), key=len)


def _caution(number: int, group: Mapping[str, Note]) -> str:
    named: dict[tuple[str, ...], tuple[str, str]] = {}
    for taster, note in group.items():
        if key := identity(note):
            named.setdefault(key, (taster, wine_title(note)))
    if len(named) < 2:
        return ""
    told = "; ".join(f"{title} ({taster})" for taster, title in named.values())
    return f"wine {number} is named differently: {told}. Is it the same flight?"
