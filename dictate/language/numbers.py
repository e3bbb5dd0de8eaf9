"""Numbers found in tokens, and what each is a number of. Ranges and hedges: `quantities.py`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from dictate.language.numerals import FIRST_YEAR, LAST_YEAR, NumeralKind, read_numerals
from dictate.language.quantities import read_quantities
from dictate.language.tokens import Token
from dictate.language.units import Use

__all__ = ["FIRST_YEAR", "LAST_YEAR", "Number", "read_numbers"]


@dataclass(frozen=True, slots=True)
class Number:
    """Tokens [first, last) say `value`.

    `use` and `unit` tell what it counts (`units.py`), "" where nothing says; `short`: a year said
    without its century.
    """

    first: int
    last: int
    value: float
    kind: NumeralKind = "cardinal"
    figures: bool = False  # written in figures
    use: Use | Literal[""] = ""
    unit: str = ""
    short: bool = False


def read_numbers(tokens: Sequence[Token]) -> tuple[Number, ...]:
    """All numbers, in order, none overlapping, each end of a range by itself.

    A year is a figure or phrase from 1800 to 2150 said as a year ("twenty eighteen", "two thousand
    and nine", "2018", "oh nine") that counts nothing else; a year in two halves that is money is that
    money ("eighteen ninety nine a bottle"). Everything else is a cardinal or an ordinal. Checked
    against `num2words` and the normaliser of the Whisper paper in `tests/outside/test_numbers.py`.
    """
    quantities = iter(read_quantities(tokens))
    around = next(quantities, None)
    found: list[Number] = []
    for n in read_numerals(tokens):
        while around and around.last <= n.first:
            around = next(quantities, None)
        inside = around is not None and around.first <= n.first
        if around is None or not inside:
            found.append(Number(n.first, n.last, n.value, n.kind, n.figures, short=n.short))
            continue
        if n.kind == "ordinal" and around.first < n.first and around.use != "position":
            continue  # the "second" of "a twelve second finish" is its unit
        value, kind = n.value, n.kind
        if around.use == "year" and around.high and around.first < n.first:
            value, kind = around.high, "year"  # "twenty twenty eight to thirty five"
        if around.use == "price" and n.pair:
            value, kind = around.value, "cardinal"
        elif kind == "year" and around.use not in ("year", "position", "code"):
            kind = "cardinal"
        found.append(Number(n.first, n.last, value, kind, n.figures, around.use, around.unit, n.short))
    return tuple(found)
