"""Quantities: numerals with what they count, ranges and hedges. "about fifteen to twenty seconds" is one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from dictate.language.amounts import Amounts, Quantity
from dictate.language.hedges import Hedge, hedge_before, hedge_behind
from dictate.language.numerals import Numeral
from dictate.language.tokens import Token

_LINKS = ("to", "or", "through", "till", "until")


class _Reader(Amounts):
    """Adds the other end of a range, and hedges."""

    def link(self, number: Numeral) -> Numeral | None:
        """The other end of a range that begins with this number: "to", "or", "between ... and", a hyphen;
        "six, seven seconds" with its unit behind both."""
        place = number.last
        if place >= len(self.tokens):
            return None
        spaced = self.tokens[place - 1].pause
        follows = self.at.get(place)
        if number.kind == "year" and follows and self.tokens[place].before in ("-", "–") and not spaced:
            return self.far_end(number, place)
        if follows and follows.kind == number.kind and not number.pair and spaced in ("", ",", "–"):
            hyphen = self.tokens[place].before.startswith(("-", "–")) and not spaced
            apart = bool(self.unit(follows.last)) and bool(spaced or not number.figures)
            near = number.value < follows.value <= 2 * number.value + 2
            if number.value < follows.value and (hyphen or spaced == "–" or (near and apart)):
                return follows
        if not self.runs(place) or not self.runs(place + 1):
            return None
        between = "between" in (self.text(number.first - 1), self.text(number.first - 2))
        if self.text(place) in _LINKS or (self.text(place) == "and" and between):
            return self.far_end(number, place + 1)
        return None

    def far_end(self, number: Numeral, place: int) -> Numeral | None:
        """The number at `place` if it can end a range: it is more, or a year without its century."""
        follows = self.amount(place)
        if follows is None:
            return None
        if number.kind == "year" and follows.kind == "cardinal":
            later = number.value // 100 * 100 + follows.value
            if 10 <= follows.value < 100 and later > number.value and not self.unit(follows.last):
                return replace(follows, value=later, kind="year")  # "twenty twenty eight to thirty five"
        same = follows.kind in (number.kind, "cardinal", "year")
        return follows if same and (follows.value > number.value or number.value < 1) else None

    def read(self, place: int) -> Quantity | None:
        number = self.amount(place)
        if number is None:
            return None
        other = self.link(number)
        first = self.one(number)
        if other is not None and (first is None or first.last <= other.first):
            last = self.one(other)
            made = _ranged(first, last, number)
        elif first is not None and (later := self.second_end(first)):
            made = later
        else:
            made = first
        if made is None:
            return None
        before = hedge_before(self.tokens, made.first)
        behind = hedge_behind(self.tokens, made.last)[0] if self.runs(made.last) else ""
        sign: Hedge = "over" if self.tokens[made.last - 1].behind.startswith("+") else ""
        return replace(made, hedge=made.hedge or before or sign or behind)

    def second_end(self, first: Quantity) -> Quantity | None:
        """ "ten euros to twelve euros", "13% to 14%", "a minute or two"."""
        link = self.text(first.last)
        if first.unit == "" or link not in ("to", "or") or not self.runs(first.last):
            return None
        other = self.amount(first.last + 1) if self.runs(first.last + 1) else None
        last = self.one(other) if other else None
        if last and last.use == "count" and last.unit == "" and link == "or" and last.value <= 10:
            last = replace(last, unit=first.unit, value=last.value * first.factor)
        if last is None or last.unit != first.unit or last.value <= first.value:
            return None
        return replace(first, last=last.last, high=last.value)


def _ranged(first: Quantity | None, last: Quantity | None, number: Numeral) -> Quantity | None:
    """A range: what the second end counts, the first does too; "€10-12" the other way round."""
    if last is None or last.use in ("position", "code", "ordinal", "decade", "time"):
        return first
    if first and first.use == "price" and last.use == "count" and first.last == number.last:
        last = replace(last, use="price", unit=first.unit)
    if first is not None and first.use not in ("count", last.use):
        return first
    if last.use == "year" and number.kind != "year":
        return first
    measured = first is not None and first.use == last.use and first.use != "count"
    value = first.value if first and measured else number.value * last.factor
    if value >= last.value:
        return first
    return replace(last, first=number.first, value=value, high=last.value)


def read_quantities(tokens: Sequence[Token]) -> tuple[Quantity, ...]:
    """All quantities, in order, none overlapping; numbers in set phrases ("one of the best") are none.

    Time linear in the tokens; any tokens are taken. Checked in `tests/language/test_quantities.py`.
    """
    reader = _Reader(tokens)
    found: list[Quantity] = []
    place = 0
    while place < len(tokens):
        made = reader.read(place)
        if made:
            found.append(made)
        numeral = reader.at.get(place)
        place = made.last if made else numeral.last if numeral else place + 1
    return tuple(found)
