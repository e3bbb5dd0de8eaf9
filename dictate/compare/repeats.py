"""A taster's repeat pours of one wine: how well he repeats himself.

Repeatability in the sense of ISO 5725-2: s_r is the within-subject standard deviation, pooled over the
wines, and two pours differ by more than r = 2.8 s_r in about one case of twenty (1.96 times the root of 2,
rounded; from memory, also Bland & Altman 1986, Lancet i: 307-310). The technical error of measurement is
s_r under another name.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence

from dictate.compare.reading import (
    SECONDS,
    fields_in_order,
    figures,
    group_name,
    identity,
    in_order,
    read_told,
)
from dictate.compare.values import LeftOut, Poured, Repeatability, Repeats
from dictate.export import wine_title
from dictate.note import Note

LIMIT = 2.8
NO_NAME = "neither producer nor name is known; give the pours of one wine alone, with --one-wine"
ALONE = "the only pour of this wine"


def compare_repeats(notes: Iterable[Note], *, one_wine: bool = False) -> Repeats:
    """How far pours of the same wine differ, field by field, finish seconds too (timed ones alone).

    Pours are of the same wine when producer, name (or grapes) and vintage are the same; with `one_wine` all
    are, whatever was said of the glass. A field counts where a wine has it in two pours at least; missing
    values stay missing.
    """
    groups: dict[tuple[str, ...], list[Note]] = defaultdict(list)
    left_out: list[LeftOut] = []
    for note in in_order(notes):
        named = ("",) if one_wine else identity(note)
        if not named:
            left_out.append(LeftOut(wine_title(note), NO_NAME))
            continue
        year = str(note.wine.vintage.year) if note.wine.vintage and not one_wine else ""
        groups[(*named, year)].append(note)
    poured = []
    for _, group in sorted(groups.items()):
        if len(group) < 2:
            left_out += [LeftOut(wine_title(note), ALONE) for note in group]
        else:
            poured.append(_poured(group))
    fields = fields_in_order(field for wine in poured for field in wine.values)
    found = [
        _repeatability(field, [_there(w.values[field]) for w in poured if field in w.values])
        for field in fields
    ]
    return Repeats(tuple(poured), tuple(f for f in found if f), tuple(left_out))


def _poured(group: Sequence[Note]) -> Poured:
    tolds = [read_told(note) for note in group]
    found = [figures(told) for told in tolds]
    years = {note.wine.vintage.year if note.wine.vintage else None for note in group}
    year = f", {years.pop()}" if len(years) == 1 and None not in years else ""
    fields = fields_in_order(field for pour in found for field in pour)
    values = {field: tuple(pour.get(field) for pour in found) for field in fields}
    return Poured(group_name(group) + year, tuple(told.glass for told in tolds), values)


def _there(values: Iterable[float | None]) -> tuple[float, ...]:
    return tuple(value for value in values if value is not None)


def _repeatability(field: str, wines: Sequence[tuple[float, ...]]) -> Repeatability | None:
    repeated = [values for values in wines if len(values) > 1]
    freedom = sum(len(values) - 1 for values in repeated)
    if not freedom:
        return None
    means = [math.fsum(values) / len(values) for values in repeated]
    squares = [(v - mean) ** 2 for values, mean in zip(repeated, means, strict=True) for v in values]
    sd = math.sqrt(math.fsum(squares) / freedom)
    pours = sum(map(len, repeated))
    mean = math.fsum(v for values in repeated for v in values) / pours
    relative = sd / mean if field == SECONDS and mean > 0 else None
    return Repeatability(field, len(repeated), pours, freedom, mean, sd, LIMIT * sd, relative)
