"""The order of tasting, and why each wine stands where it does. Pure.

OIV/CONCOURS 332A/2009, 1.1 and Art. 6 (history): by class, within a class by vintage, sugar, oak. It does not
say which end comes first: younger before older, less sugar before more, no oak before oak are common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dictate.lexicon.entries import Lexicon
from dictate.plan.kinds import Kind, PlanTable, kind_of
from dictate.values import ListedWine

_Key = tuple[int, tuple[int, int], tuple[int, float], int, int]


@dataclass(frozen=True, slots=True)
class Placed:
    """A wine at its place: `listed` counts the list's rows from 1, `why` holds it against the wine before."""

    wine: ListedWine
    listed: int
    kind: Kind
    why: str


def in_order(wines: Sequence[ListedWine], table: PlanTable, *, lexicon: Lexicon) -> tuple[Placed, ...]:
    """All wines of the list, once each, in the order of tasting; what no rule tells apart stays as listed."""
    kinds = [kind_of(wine, table, lexicon=lexicon) for wine in wines]
    keys = [_key(wine, kind, index) for index, (wine, kind) in enumerate(zip(wines, kinds, strict=True))]
    order = sorted(range(len(wines)), key=keys.__getitem__)
    placed = []
    for place, index in enumerate(order):
        before = order[place - 1] if place else None
        why = (
            f"{kinds[index].wine_class.name} first"
            if before is None
            else _why(wines[before], wines[index], kinds=(kinds[before], kinds[index]))
        )
        placed.append(Placed(wines[index], index + 1, kinds[index], why))
    return tuple(placed)


def _key(wine: ListedWine, kind: Kind, index: int) -> _Key:
    return kind.wine_class.place, _age(wine), _sugar(wine), _oak(wine), index


def _age(wine: ListedWine) -> tuple[int, int]:
    """Without a vintage first, then the youngest; a vintage not listed last."""
    if wine.vintage is None:
        return 2, 0
    return (0, 0) if wine.vintage == "NV" else (1, -wine.vintage)


def _sugar(wine: ListedWine) -> tuple[int, float]:
    return (1, 0.0) if wine.sugar is None else (0, wine.sugar)


def _oak(wine: ListedWine) -> int:
    return 1 if wine.oak is None else 2 * int(wine.oak)  # not listed: between the two


def _why(before: ListedWine, wine: ListedWine, *, kinds: tuple[Kind, Kind]) -> str:
    """The first rule that tells two neighbours apart."""
    earlier, later = (kind.wine_class for kind in kinds)
    if earlier != later:
        return f"{later.name} after {earlier.name}"
    if _age(before) != _age(wine):
        return f"{_vintage(wine)} after {_vintage(before)}"
    if _sugar(before) != _sugar(wine):
        return f"{_grams(wine)} after {_grams(before)}"
    if _oak(before) != _oak(wine):
        return f"{_wood(wine)} after {_wood(before)}"
    return "as listed"


def _vintage(wine: ListedWine) -> str:
    return "no vintage listed" if wine.vintage is None else str(wine.vintage)


def _grams(wine: ListedWine) -> str:
    return "no sugar listed" if wine.sugar is None else f"{wine.sugar:g} g/L"


def _wood(wine: ListedWine) -> str:
    return "oak not listed" if wine.oak is None else "oak" if wine.oak else "no oak"
