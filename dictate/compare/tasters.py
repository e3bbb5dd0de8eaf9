"""Several tasters' notes of one flight: means, spread, agreement, who stands apart.

Missing values stay missing. A mean is of those who gave the field. Agreement needs a table without holes:
tasters who never gave the field in this flight are named and left out, then wines that lack it from any of
the rest.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from dictate.compare.agreement import LEAST_TASTERS, LEAST_WINES, LEAST_WINES_W, intraclass, kendall_w
from dictate.compare.matching import Matched, match_flight
from dictate.compare.reading import DESCRIPTORS, LEVELS, SCORE, fields_in_order, figures, read_told, spread
from dictate.compare.values import Agreement, Apart, Cited, Outlying, Rated, Tasters
from dictate.note import Note

POINTS_OFF = 7.0  # of 100; OIV/CONCOURS 332A/2009, Art. 13
ALL_LEVELS: Literal["levels"] = "levels"

# by field, by number of the wine, by taster
_Values = Mapping[str, Mapping[int, Mapping[str, float]]]


def compare_tasters(notes: Mapping[str, Iterable[Note]]) -> Tasters:
    """The notes of one flight by taster's name, compared wine by wine.

    Wines are matched by place in the flight, by the code on the glass, or by producer, name and vintage:
    by that of the three which most notes have. Raises ValueError with fewer than two tasters.
    """
    if len(notes) < LEAST_TASTERS:
        raise ValueError("agreement needs two tasters at least; give each one's notes as NAME=FOLDER")
    matched = match_flight(notes)
    tasters = tuple(sorted(notes))
    values = _values(matched)
    rated = [
        Rated(wine, field, dict(sorted(cell.items())), of)
        for field, wines in values.items()
        for wine, cell in sorted(wines.items())
        if (of := spread(cell.values()))
    ]
    return Tasters(
        tasters=tasters,
        wines=matched.wines,
        matched_by=matched.by,
        rated=tuple(rated),
        agreement=tuple(
            _agreement(field, wines, tasters=tasters, flight=len(matched.wines))
            for field, wines in values.items()
        ),
        apart=_apart(values, tasters),
        outlying=tuple(
            _outlying(wine, cell) for wine, cell in sorted(values.get(f"{SCORE}/100", {}).items())
        ),
        cited=_cited(matched),
        left_out=matched.left_out,
        cautions=matched.cautions,
    )


def _values(matched: Matched) -> _Values:
    found: dict[str, dict[int, dict[str, float]]] = defaultdict(lambda: defaultdict(dict))
    for (wine, taster), note in matched.notes.items():
        for field, value in figures(read_told(note)).items():
            found[field][wine][taster] = value
    return {field: found[field] for field in fields_in_order(found)}


def _agreement(
    field: str, wines: Mapping[int, Mapping[str, float]], *, tasters: Sequence[str], flight: int
) -> Agreement:
    gave = [taster for taster in tasters if any(taster in cell for cell in wines.values())]
    whole = [cell for _, cell in sorted(wines.items()) if all(taster in cell for taster in gave)]
    table = [[cell[taster] for taster in gave] for cell in whole]
    few = len(gave) < LEAST_TASTERS or len(whole) < LEAST_WINES
    w = None if few else kendall_w(table)
    icc = None if few else intraclass(table)
    why = ""
    if len(gave) < LEAST_TASTERS:
        why = "fewer than two tasters gave it"
    elif len(whole) < LEAST_WINES:
        why = "fewer than two wines have it from all of them"
    elif w is None and len(whole) < LEAST_WINES_W:
        why = "an order of two wines says too little: no W"
    elif w is None or icc is None:
        why = "no differences between wines to agree on"
    silent = tuple(taster for taster in tasters if taster not in gave)
    return Agreement(
        field,
        tasters=tuple(gave),
        wines=len(whole),
        silent=silent,
        incomplete=flight - len(whole),
        kendall_w=w,
        icc=icc,
        why=why,
    )


def _apart(values: _Values, tasters: Sequence[str]) -> tuple[Apart, ...]:
    """Each taster from the mean of the others, field by field and over all levels; the farthest over all
    levels first. A value that nobody else gave has no others to stand apart from."""
    found: list[Apart] = []
    overall: dict[str, float] = {}
    for taster in tasters:
        by_field: dict[str, list[float]] = {}
        for field, wines in values.items():
            differences = [
                cell[taster] - math.fsum(v for t, v in cell.items() if t != taster) / (len(cell) - 1)
                for cell in wines.values()
                if taster in cell and len(cell) > 1
            ]
            if differences:
                by_field[field] = differences
        levels = [d for field, differences in by_field.items() if field in LEVELS for d in differences]
        if levels:
            by_field = {ALL_LEVELS: levels, **by_field}
        for field, differences in by_field.items():
            n = len(differences)
            distance = math.fsum(map(abs, differences)) / n
            found.append(Apart(taster, field, n, math.fsum(differences) / n, distance))
            if field == ALL_LEVELS:
                overall[taster] = distance
    return tuple(sorted(found, key=lambda one: (-overall.get(one.taster, 0.0), one.taster)))


def _outlying(wine: int, scores: Mapping[str, float]) -> Outlying:
    """The rule once over, not again on what is left: Art. 13 as read in a reprint says no more."""
    mean = math.fsum(scores.values()) / len(scores)
    named = tuple(sorted(t for t, points in scores.items() if abs(points - mean) > POINTS_OFF))
    rest = [points for taster, points in scores.items() if taster not in named]
    without = math.fsum(rest) / len(rest) if named and rest else None
    return Outlying(wine, dict(sorted(scores.items())), mean, named, without)


def _cited(matched: Matched) -> tuple[Cited, ...]:
    by: dict[tuple[int, str, str], set[str]] = defaultdict(set)
    for (wine, taster), note in matched.notes.items():
        told = read_told(note)
        for field in DESCRIPTORS:
            for term in told.descriptors.get(field, ()):
                by[wine, field, term].add(taster)
    lists = list(DESCRIPTORS)
    found = [Cited(wine, field, term, tuple(sorted(who))) for (wine, field, term), who in by.items()]
    return tuple(sorted(found, key=lambda c: (c.wine, lists.index(c.field), -len(c.tasters), c.term)))
