"""What a picture of a comparison shows: rows and columns of marks, without any drawing. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from dictate.compare.reading import LEVELS, SCORE, SECONDS, TERMS, figures, label
from dictate.compare.tables import glass_title, held_seconds, numbered
from dictate.compare.values import Beside, Comparison, Held, Repeats, Spread, Tasters, Told, Years
from dictate.export import CLOCK_LINE
from dictate.language.counted import counted

Kind = Literal["level", "seconds", "points", "text"]
SHOWN_TERMS: Final = ("appearance.hue",)
_Headed = tuple[str, str, dict[str, "Mark"]]  # a row: number, heading, marks by field
_PLACE = "Dots stand on a line from 0 (none at all) to 10 (as much as can be imagined)."
_MISSING = "An empty place with “–”: not said."


@dataclass(frozen=True, slots=True)
class Column:
    """One field: its heading and what its marks are. `most` is the end of its line."""

    field: str
    heading: str
    kind: Kind
    most: float = 10.0


@dataclass(frozen=True, slots=True)
class Mark:
    """What one row has in one column: values (more than one of several tasters or pours), the words said,
    and of a finish how it is known. A mark of the kind text has words alone."""

    values: tuple[float, ...] = ()
    words: str = ""
    how: Literal["", "timed", "stated", "open"] = ""
    mean: float | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """One wine, note or vintage: its number ("" where it has none), its heading and a mark a column, None
    where nothing was said."""

    number: str
    heading: str
    marks: tuple[Mark | None, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A picture's content. `words` says whether the words said belong beside the dots."""

    title: str
    description: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    foot: tuple[str, ...]
    single: bool  # one value a mark


def as_sheet(comparison: Comparison) -> Sheet:
    """What a picture of the comparison shows; columns that no row has anything in are left out."""
    match comparison:
        case Beside():
            headed = [
                (str(n), glass_title(told.glass, str(n)), told)
                for n, told in enumerate(comparison.glasses, 1)
            ]
            return _of_notes("Wines side by side", headed)
        case Years():
            several = len(comparison.wines) > 1
            headed = []
            for wine in comparison.wines:
                for y in wine.years:
                    age = "" if y.age is None else f", {counted(y.age, 'year')} old"
                    headed.append(("", f"{f'{wine.wine}, ' if several else ''}{y.vintage}{age}", y.told))
            alone = len(comparison.wines) == 1
            title = f"{comparison.wines[0].wine}, over the years" if alone else "Over the years"
            return _of_notes(title, headed)
        case Tasters():
            return _of_tasters(comparison)
        case Repeats():
            return _of_repeats(comparison)


def _of_notes(title: str, headed: Sequence[tuple[str, str, Told]]) -> Sheet:
    rows = [(number, heading, _note_marks(told)) for number, heading, told in headed]
    return _sheet(title, rows, single=True)


def _note_marks(told: Told) -> dict[str, Mark]:
    marks = {path: Mark(words=told.terms[path]) for path in SHOWN_TERMS if path in told.terms}
    marks |= {path: Mark((said.level,), said.said) for path, said in told.levels.items()}
    marks |= {f: Mark((v,), f"{v:g}") for f, v in figures(told).items() if f.startswith(SCORE)}
    held = told.held
    if held and held.seconds is not None and held.how != "described":
        marks[SECONDS] = Mark((held.seconds,), _known(held), held.how)
    return marks


def _known(held: Held) -> str:
    return held_seconds(held) + (" stated" if held.how == "stated" else "")


def _of_tasters(found: Tasters) -> Sheet:
    rows: list[_Headed] = [(str(n), numbered(w, str(n)), {}) for n, w in enumerate(found.wines, 1)]
    for r in found.rated:
        rows[r.wine - 1][2][r.field] = _several(r.values.values(), r.spread, field=r.field)
    title = f"{len(found.tasters)} tasters: {', '.join(found.tasters)}"
    return _sheet(title, rows, single=False, extra=("A dot a taster, a bar at their mean.",))


def _of_repeats(found: Repeats) -> Sheet:
    rows: list[_Headed] = []
    for wine in found.wines:
        marks = {}
        for field, values in wine.values.items():
            there = [value for value in values if value is not None]
            mean = sum(there) / len(there)
            marks[field] = Mark(tuple(sorted(there)), how="timed" if field == SECONDS else "", mean=mean)
        rows.append(("", f"{wine.wine} ({len(wine.pours)} pours)", marks))
    return _sheet("Repeat pours", rows, single=False, extra=("A dot a pour, a bar at their mean.",))


def _several(values: Iterable[float], of: Spread, *, field: str) -> Mark:
    return Mark(tuple(sorted(values)), how="timed" if field == SECONDS else "", mean=of.mean)


def _sheet(title: str, rows: Sequence[_Headed], *, single: bool, extra: tuple[str, ...] = ()) -> Sheet:
    there = {field for _, _, marks in rows for field in marks}
    scores = sorted(field for field in there if field.startswith(SCORE))
    order = [*SHOWN_TERMS, *LEVELS, *scores, SECONDS]
    columns = tuple(_column(field, [m for _, _, m in rows]) for field in order if field in there)
    kept = tuple(
        Row(number, heading, tuple(marks.get(c.field) for c in columns)) for number, heading, marks in rows
    )
    how = {mark.how for row in kept for mark in row.marks if mark}
    foot = [_PLACE, *extra, _MISSING]
    if "stated" in how or "open" in how:
        foot.append(
            "Finish: filled, timed by cue; hatched, stated; open at its end, the clock was never stopped."
        )
    if "timed" in how:
        foot.append(CLOCK_LINE)
    return Sheet(title, _described(title, columns, kept), columns, kept, tuple(foot), single)


def _column(field: str, rows: Sequence[Mapping[str, Mark]]) -> Column:
    if field in TERMS:
        return Column(field, label(field), "text")
    if field in LEVELS:
        return Column(field, label(field), "level")
    kind: Kind = "seconds" if field == SECONDS else "points"
    values = [value for marks in rows if field in marks for value in marks[field].values]
    out_of = float(field.partition("/")[2]) if kind == "points" else 1.0
    return Column(field, label(field), kind, _round_end(max([1.0, out_of, *values])))


def _round_end(most: float) -> float:
    """The next number that a scale ends at well: one or a half of a power of ten times 1 to 10."""
    power = 10.0 ** math.floor(math.log10(most))
    return power * math.ceil(most / power * 2 - 1e-9) / 2


def _described(title: str, columns: Sequence[Column], rows: Sequence[Row]) -> str:
    """The whole picture in words, for who can't see it: what is said of each row."""
    lines = [f"{title}."]
    for row in rows:
        told = []
        for column, mark in zip(columns, row.marks, strict=True):
            if mark is None:
                told.append(f"{column.heading} not said")
            elif mark.how or not mark.values:
                values = mark.words or ", ".join(f"{v:.2f}" for v in mark.values)
                told.append(f"{column.heading} {values}")
            else:
                told.append(f"{column.heading} {', '.join(f'{v:g}' for v in mark.values)}")
        lines.append(f"{(row.number + ' ').lstrip()}{row.heading}: {'; '.join(told)}.")
    return " ".join(lines)
