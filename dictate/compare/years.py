"""The same wine over the years: colour, levels and finish by vintage and age."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

from dictate.compare.reading import group_name, identity, in_order, read_told
from dictate.compare.values import LeftOut, Vintage, WineYears, Years
from dictate.export import wine_title
from dictate.note import Note

NO_NAME = "neither producer nor name is known, so it is no wine that could be known again"
NOT_VINTAGE = "NV: a wine of no one year has no age"
NO_VINTAGE = "its vintage was not said"
ALONE = "the only note of this wine"


def compare_years(
    notes: Iterable[Note], *, tasted: Mapping[str, int] | None = None, one_wine: bool = False
) -> Years:
    """Notes of each wine by vintage. `tasted` gives the year of tasting by the note's id, where it is
    known: age = year of tasting - vintage, in whole years.

    Notes are of the same wine when producer and name are the same (accents and case aside; without a name,
    the grapes); with `one_wine` all are. A wine needs two notes. What is left out has its reason.
    """
    tasted = tasted or {}
    groups: dict[tuple[str, ...], list[Note]] = defaultdict(list)
    left_out: list[LeftOut] = []
    for note in in_order(notes):
        year = note.wine.vintage.year if note.wine.vintage else None
        key = ("",) if one_wine else identity(note)
        reason = NO_NAME if not key else NO_VINTAGE if year is None else NOT_VINTAGE if year == "NV" else ""
        if reason:
            left_out.append(LeftOut(wine_title(note), reason))
        else:
            groups[key].append(note)
    wines = []
    for _, group in sorted(groups.items()):
        if len(group) < 2:
            left_out += [LeftOut(wine_title(note), ALONE) for note in group]
            continue
        years = [_vintage(note, tasted.get(note.id)) for note in group]
        years.sort(key=lambda y: (y.vintage, y.tasted is None, y.tasted or 0))
        wines.append(WineYears(group_name(group), tuple(years)))
    return Years(tuple(wines), tuple(left_out))


def _vintage(note: Note, tasted: int | None) -> Vintage:
    vintage = note.wine.vintage.year if note.wine.vintage else None
    assert isinstance(vintage, int)
    # tasted before it grew: one of the years is wrong, and nobody knows which
    age = tasted - vintage if tasted is not None and tasted >= vintage else None
    return Vintage(read_told(note), vintage, tasted, age)
