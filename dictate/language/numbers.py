"""Numbers as spoken or as figures, found in tokens: cardinals, decimals, halves, years, ordinals."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from dictate.language.tokens import Token

Kind = Literal["year", "cardinal", "ordinal"]
_UNITS = "zero one two three four five six seven eight nine".split()
_TEENS = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
_ORDINALS = "zeroth first second third fourth fifth sixth seventh eighth ninth tenth".split()
UNIT = {w: i for i, w in enumerate(_UNITS)} | {"oh": 0, "nought": 0, "nil": 0}
TEEN = {w: i + 10 for i, w in enumerate(_TEENS)}
TEN = {w: 20 + 10 * i for i, w in enumerate(_TENS)} | {"fourty": 40}
ORDINAL = {w: i for i, w in enumerate(_ORDINALS) if i}
_FIGURE = re.compile(r"(\d+(?:[.,]\d+)*)(st|nd|rd|th|s)?$")
FIRST_YEAR, LAST_YEAR = 1800, 2150
LONGEST = 15  # figures; a longer run is no number that a taster says, and past 308 it is infinite


@dataclass(frozen=True, slots=True)
class Number:
    """Tokens [first, last) say `value`."""

    first: int
    last: int
    value: float
    kind: Kind = "cardinal"
    figures: bool = False  # written in figures


class _Scan:
    """A cursor over tokens; a pause in the way ends a number."""

    def __init__(self, tokens: Sequence[Token], place: int) -> None:
        self.tokens, self.place, self.start = tokens, place, place

    def peek(self, ahead: int = 0) -> str:
        place = self.place + ahead
        if place >= len(self.tokens):
            return ""
        if any(self.tokens[p].pause for p in range(max(self.start, place - 1 - ahead), place)):
            return ""
        return self.tokens[place].text

    def below_hundred(self) -> int | None:
        word, then = self.peek(), self.peek(1)
        if word in TEN:
            self.place += 1
            unit = UNIT.get(then)
            if unit and then != "oh":
                self.place += 1
                return TEN[word] + unit
            return TEN[word]
        value = TEEN.get(word, UNIT.get(word) if word not in ("oh", "nil") else None)
        if value is not None:
            self.place += 1
        return value


def _year(scan: _Scan) -> int | None:
    """ "twenty eighteen", "nineteen ninety six", "twenty oh nine", "nineteen hundred"."""
    century = {"eighteen": 18, "nineteen": 19, "twenty": 20, "twentyone": 21}.get(scan.peek())
    if century is None:
        return None
    then, after = scan.peek(1), scan.peek(2)
    if then == "oh" and UNIT.get(after):
        scan.place += 3
        return century * 100 + UNIT[after]
    if then in TEEN or then in TEN:
        scan.place += 1
        rest = scan.below_hundred()
        return century * 100 + (rest or 0)
    if then == "hundred" and century != 20:
        scan.place += 2
        return century * 100
    return None


def _spoken_cardinal(scan: _Scan) -> float | None:
    """ "two thousand and nine", "a hundred and five", "thirteen and a half", "seven point five"."""
    start = scan.place
    if scan.peek() == "a" and scan.peek(1) in ("hundred", "thousand"):
        scan.place += 1
        value: int | None = 1
    else:
        value = scan.below_hundred()
    if value is None:
        scan.place = start
        return None
    total, part = 0, value
    while scan.peek() in ("hundred", "thousand") and part < 10_000:  # "hundred hundred ..." has an end
        if scan.peek() == "hundred":
            part *= 100
        else:
            total, part = part * 1000, 0
        scan.place += 1
        here = scan.place
        if scan.peek() == "and":
            scan.place += 1
        more = scan.below_hundred()
        if more is None:
            scan.place = here
            continue
        if scan.peek() == "hundred":
            part = more
        else:
            part += more
    return _fraction(scan, float(total + part))


def _fraction(scan: _Scan, value: float) -> float:
    if scan.peek() == "point" and (scan.peek(1) in UNIT or scan.peek(1).isdecimal()):
        scan.place += 1
        digits = ""
        while scan.peek() in UNIT or scan.peek().isdecimal():
            digits += str(UNIT.get(scan.peek(), scan.peek()))
            scan.place += 1
        return float(f"{int(value)}.{digits}")
    if (scan.peek(), scan.peek(1), scan.peek(2)) == ("and", "a", "half"):
        scan.place += 3
        return value + 0.5
    if (scan.peek(), scan.peek(1)) == ("and", "half"):
        scan.place += 2
        return value + 0.5
    return value


def _figures(scan: _Scan) -> Number | None:
    match = _FIGURE.match(scan.peek())
    if not match:
        return None
    text, tail = match.groups()
    grouped = re.fullmatch(r"\d{1,3}(,\d{3})+(\.\d+)?", text)
    text = text.replace(",", "") if grouped else text.replace(",", ".")
    if text.count(".") > 1 or len(text) > LONGEST:
        return None
    then = scan.tokens[scan.place + 1] if scan.place + 1 < len(scan.tokens) else None
    one_word = then is not None and then.word == scan.tokens[scan.place].word
    if text in ("18", "19", "20") and then and one_word and re.fullmatch(r"\d\d", then.text):
        scan.place += 2  # written "20-34": a year said in two halves
        return Number(scan.start, scan.place, int(text) * 100 + int(then.text), "year", figures=True)
    scan.place += 1
    value = float(text) if tail else _fraction(scan, float(text))
    kind: Kind = "ordinal" if tail and tail != "s" else "cardinal"
    if kind == "cardinal" and value == int(value) and re.fullmatch(r"(1[89]|20|21)\d\d", text):
        kind = "year"
    return Number(scan.start, scan.place, value, kind, figures=True)


def _number_at(tokens: Sequence[Token], place: int) -> Number | None:
    scan = _Scan(tokens, place)
    found = _figures(scan)
    if found:
        return found
    if scan.peek() in ORDINAL:
        return Number(place, place + 1, ORDINAL[scan.peek()], "ordinal")
    year = _year(scan)
    if year is not None:
        return Number(place, scan.place, year, "year")
    value = _spoken_cardinal(scan)
    if value is None:
        return None
    spoken_year = FIRST_YEAR <= value <= LAST_YEAR and value == int(value)
    return Number(place, scan.place, value, "year" if spoken_year else "cardinal")


def read_numbers(tokens: Sequence[Token]) -> tuple[Number, ...]:
    """All numbers, in order, none overlapping.

    A year is a figure or phrase from 1800 to 2150 said as a year ("twenty eighteen", "two thousand
    and nine", "2018"); everything else is a cardinal. Checked against `num2words` and the
    normaliser of the Whisper paper in `tests/outside/test_numbers.py`.
    """
    found: list[Number] = []
    place = 0
    while place < len(tokens):
        number = _number_at(tokens, place)
        if number:
            found.append(number)
        place = number.last if number else place + 1
    return tuple(found)
