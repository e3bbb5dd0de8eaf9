"""A comparison as the rows of one CSV: plain numbers, empty where nothing was said, no cell a formula."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from dictate.compare.reading import DESCRIPTORS, LEVELS, TERMS
from dictate.compare.values import Beside, Comparison, Repeats, Spread, Tasters, Told, Years
from dictate.csvsafe import safe_cell
from dictate.export import clean

_Value = str | float | int | None
_Row = Mapping[str, _Value]


def as_rows(comparison: Comparison) -> list[list[str]]:
    """Heads and rows as text. Side by side and over the years it is one row a note; of tasters and repeat
    pours the first column, `table`, tells the kinds of row apart."""
    match comparison:
        case Beside():
            rows: Iterable[_Row] = (
                {"number": number, **_note(told)} for number, told in enumerate(comparison.glasses, 1)
            )
            heads: Sequence[str] = ["number", *_NOTE]
        case Years():
            rows = (
                {"wine": w.wine, "vintage": y.vintage, "tasted": y.tasted, "age": y.age, **_note(y.told)}
                for w in comparison.wines
                for y in w.years
            )
            heads = ["wine", "vintage", "tasted", "age", *_NOTE]
        case Tasters():
            rows, heads = _taster_rows(comparison), [*_TASTERS, *map(_by, comparison.tasters)]
        case Repeats():
            rows, heads = _repeat_rows(comparison), _REPEATS
    return [
        [safe_cell(head) for head in heads],
        *([_cell(row.get(head)) for head in heads] for row in rows),
    ]


_FINISH = ("finish.seconds", "finish.how", "finish.sign", "verdict.points", "verdict.out_of")
_NOTE = ("id", "title", *TERMS, *LEVELS, *_FINISH, *DESCRIPTORS)
_SPREAD = ("n", "mean", "sd", "lowest", "highest")
_TASTERS = (
    *("table", "wine", "title", "field", "taster", *_SPREAD, "kendall_w", "icc_2_1", "icc_2_k"),
    *("difference", "distance", "remark"),
)
_REPEATS = ("table", "wine", "field", "wines", "pours", "freedom", "mean", "s", "r", "values", "remark")


def _cell(value: _Value) -> str:
    if value is None:
        return ""
    # repr of a float reads back to the same; a negative number is a number and no formula
    return safe_cell(clean(value)) if isinstance(value, str) else repr(value)


def _note(told: Told) -> dict[str, _Value]:
    row: dict[str, _Value] = {"id": told.glass.id, "title": told.glass.title, **told.terms}
    row |= {path: said.level for path, said in told.levels.items()}
    row |= {path: "; ".join(told.descriptors.get(path, ())) or None for path in DESCRIPTORS}
    if told.held:
        row |= {
            "finish.seconds": told.held.seconds,
            "finish.how": told.held.how,
            "finish.sign": told.held.sign,
        }
    if told.score:
        row |= {"verdict.points": told.score.points, "verdict.out_of": told.score.out_of}
    return row


def _spread(of: Spread) -> dict[str, _Value]:
    return {name: getattr(of, name) for name in _SPREAD}


def _by(taster: str) -> str:
    return f"by {taster}"


def _taster_rows(found: Tasters) -> Iterator[_Row]:
    for r in found.rated:
        by = {_by(taster): value for taster, value in r.values.items()}
        title = found.wines[r.wine - 1]
        yield {"table": "wine", "wine": r.wine, "title": title, "field": r.field, **_spread(r.spread), **by}
    for a in found.agreement:
        icc = {"icc_2_1": a.icc.single, "icc_2_k": a.icc.average} if a.icc else {}
        row: _Row = {"table": "agreement", "field": a.field, "n": a.wines, "kendall_w": a.kendall_w, **icc}
        yield {**row, "remark": a.why}
    for apart in found.apart:
        yield {
            "table": "apart",
            "field": apart.field,
            "taster": apart.taster,
            "n": apart.n,
            "difference": apart.difference,
            "distance": apart.distance,
        }
    for o in found.outlying:
        for taster in o.named:
            yield {"table": "score apart", "wine": o.wine, "taster": taster, "mean": o.mean}
    for one in found.left_out:
        yield {"table": "left out", "title": one.title, "remark": one.reason}


def _repeat_rows(found: Repeats) -> Iterator[_Row]:
    for f in found.fields:
        row: _Row = {"field": f.field, "wines": f.wines, "pours": f.pours, "freedom": f.freedom}
        yield {"table": "repeatability", **row, "mean": f.mean, "s": f.sd, "r": f.limit}
    for wine in found.wines:
        for field, values in wine.values.items():
            told = "; ".join("" if value is None else repr(value) for value in values)
            row = {"table": "pours", "wine": wine.wine, "field": field, "pours": len(wine.pours)}
            yield {**row, "values": told}
    for one in found.left_out:
        yield {"table": "left out", "wine": one.title, "remark": one.reason}
