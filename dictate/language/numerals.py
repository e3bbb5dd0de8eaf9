"""Numerals as spoken or as figures, found in tokens: what value some words say, not what it counts.

Cardinals ("two thousand and nine"), decimals, fractions, ordinals, years in pairs ("twenty eighteen").
`numbers.py` tells what each one is a number of.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from dictate.language.tokens import Token
from dictate.language.units import CURRENCY, unit_at

NumeralKind = Literal["year", "cardinal", "ordinal"]
_UNITS = "zero one two three four five six seven eight nine".split()
_TEENS = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
_ORDINALS = "first second third fourth fifth sixth seventh eighth ninth".split()
_TEENTHS = (
    "tenth eleventh twelfth thirteenth fourteenth fifteenth sixteenth seventeenth eighteenth nineteenth"
)
UNIT = {w: i for i, w in enumerate(_UNITS)} | {"oh": 0, "nought": 0, "naught": 0, "nil": 0}
SPOKEN = (*_UNITS, *_TEENS)  # from 0
TEEN = {w: i + 10 for i, w in enumerate(_TEENS)}
TEN = {w: 20 + 10 * i for i, w in enumerate(_TENS)} | {"fourty": 40}
SCALE = {"thousand": 1_000, "million": 1_000_000}
# an ordinal by the cardinal word in its place: "twenty first" is said as "twenty one"
_AS_CARDINAL = (
    dict(zip(_ORDINALS, _UNITS[1:], strict=True))
    | dict(zip(_TEENTHS.split(), _TEENS, strict=True))
    | {w[:-1] + "ieth": w for w in _TENS}
    | {"hundredth": "hundred", "thousandth": "thousand", "millionth": "million"}
)
DECADE = {w[:-1] + "ies": v for w, v in TEN.items() if w != "fourty"}
_OH = ("oh", "o", "nought", "naught", "ought", "aught")
_STARTERS = frozenset({*UNIT, *TEEN, *TEN, *_AS_CARDINAL, *DECADE, *_OH, "a", "point", "twentyone"})
_FIGURE = re.compile(r"(\d+(?:[.,]\d+)*)(st|nd|rd|th|s)?$")
_PARTS = {"half": (1, 2), "halves": (1, 2), "third": (1, 3), "thirds": (1, 3), "quarter": (1, 4),
          "quarters": (1, 4)}  # fmt: skip
FIRST_YEAR, LAST_YEAR = 1800, 2150
LONGEST = 15  # figures; a longer run is no number that a taster says, and past 308 it is infinite
PIVOT = 35  # '34 is 2034, '35 is 1935: no vintage lies ahead, and few wines of ninety years are poured
_NO_LENGTH = ("finish", "length", "aftertaste", "tail", "persistence", "count", "linger")


@dataclass(frozen=True, slots=True)
class Numeral:
    """Tokens [first, last) say `value`. `pair`: a year said in two halves; `short`: without its century."""

    first: int
    last: int
    value: float
    kind: NumeralKind = "cardinal"
    figures: bool = False
    pair: bool = False
    short: bool = False


class _Scan:
    """A cursor over tokens from `place` to the next pause, or to `stop`."""

    def __init__(self, tokens: Sequence[Token], place: int, stop: int | None = None) -> None:
        self.tokens, self.place, self.start = tokens, place, place
        self.stop = len(tokens) if stop is None else stop

    def peek(self, ahead: int = 0) -> str:
        place = self.place + ahead
        if place >= self.stop or any(
            self.tokens[p].pause for p in range(max(self.start, place - 1 - ahead), place)
        ):
            return ""
        text = self.tokens[place].text
        # within an ordinal's run its last word counts as the cardinal
        return _AS_CARDINAL.get(text, text) if place == self.stop - 1 < len(self.tokens) else text

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

    def hundreds(self) -> int | None:
        """ "a hundred and five", "fifteen hundred", "twelve", "one oh four"."""
        start = self.place
        value: int | None
        if self.peek() == "a" and self.peek(1) == "hundred":
            self.place += 1
            value = 1
        else:
            value = self.below_hundred()
        if not value:
            return value
        if value < 10 and self.place == start + 1 and self.peek() == "oh" and UNIT.get(self.peek(1)):
            self.place += 2
            return value * 100 + UNIT[self.peek(-1)]
        if self.peek() != "hundred":
            return value
        self.place += 1
        here = self.place
        if self.peek() == "and":
            self.place += 1
        more = self.below_hundred()
        if more is None or self.peek() == "hundred":
            self.place, more = here, 0
        return value * 100 + more


def _year(scan: _Scan) -> int | None:
    """ "twenty eighteen", "nineteen ninety six", "twenty oh nine", "nineteen hundred and five"."""
    century = {"eighteen": 18, "nineteen": 19, "twenty": 20, "twentyone": 21}.get(scan.peek())
    if century is None:
        return None
    then, after = scan.peek(1), scan.peek(2)
    if then in _OH and UNIT.get(after):
        scan.place += 3
        return century * 100 + UNIT[after]
    if then in TEEN or then in TEN:
        scan.place += 1
        rest = scan.below_hundred()
        return century * 100 + (rest or 0)
    if then == "hundred" and century == 20:
        return None
    return scan.hundreds() if then == "hundred" else None


def _cardinal(scan: _Scan) -> int | None:
    """ "two thousand and nine", "a hundred and five thousand, two hundred"."""
    total, least, here, found = 0, 10**9, scan.place, False
    if scan.peek() == "a" and scan.peek(1) in SCALE:
        least = SCALE[scan.peek(1)]
        total, found = least, True
        scan.place += 2
        here = scan.place
    while True:
        if found and scan.peek() == "and":
            scan.place += 1
        part = scan.hundreds()
        if part is None:
            break
        scale = SCALE.get(scan.peek(), 1)
        if scale >= least:  # "one thousand, two thousand": another number
            break
        total, least, found = total + part * scale, scale, True
        scan.place += scale > 1
        here = scan.place
        if scale == 1:
            break
    scan.place = here
    return total if found else None


def _fraction(scan: _Scan, value: float) -> float:
    """The part behind a whole number: "point seven five", "and a half", "and three quarters"."""
    if scan.peek() == "point" and (scan.peek(1) in UNIT or scan.peek(1).isdecimal()):
        scan.place += 1
        digits = ""
        while scan.peek() in UNIT or scan.peek().isdecimal():
            digits += str(UNIT.get(scan.peek(), scan.peek()))
            scan.place += 1
        return float(f"{int(value)}.{digits}")
    if scan.peek() == "point" and (scan.peek(1) in TEN or scan.peek(1) in TEEN):
        scan.place += 1
        return float(f"{int(value)}.{scan.below_hundred()}")
    if scan.peek() != "and":
        return value
    part = scan.peek(1) if scan.peek(1) in ("half",) else scan.peek(2)
    count = {"a": 1, "one": 1, "half": 1, "two": 2, "three": 3}.get(scan.peek(1))
    if count is None or part not in _PARTS or scan.peek(2 + (part == scan.peek(2))) == "dozen":
        return value
    top, bottom = _PARTS[part]
    if count * top >= bottom:
        return value
    scan.place += 2 if part == scan.peek(1) else 3
    return value + count * top / bottom


def _written_part(scan: _Scan) -> float | None:
    """ "1/2", "3/4" written in one word; "17/20" is a score."""
    above, below = scan.peek(), scan.peek(1)
    if not (above.isdecimal() and below in ("2", "3", "4", "8") and len(above) == 1):
        return None
    tokens = scan.tokens
    slashed = tokens[scan.place + 1].before == "/" and tokens[scan.place + 1].word == tokens[scan.place].word
    if not slashed or not 0 < int(above) < int(below):
        return None
    scan.place += 2
    return int(above) / int(below)


def _no_number(tokens: Sequence[Token], place: int) -> int:
    """Where a time of day or a date that begins at these figures ends ("10:30", "5/10/2019"); 0 for none."""
    signs = []
    last = place + 1
    while last < len(tokens) and tokens[last].word == tokens[place].word and tokens[last].text.isdecimal():
        signs.append(tokens[last].before)
        last += 1
    if signs[:1] == [":"] or signs == ["/", "/"] or signs == ["-", "-"]:
        return last
    return 0


def _figures(scan: _Scan) -> Numeral | None:
    match = _FIGURE.match(scan.peek())
    if not match or _no_number(scan.tokens, scan.place):
        return None
    tokens, start = scan.tokens, scan.place
    part = _written_part(scan)
    if part is not None:
        return Numeral(start, scan.place, part, figures=True)
    text, tail = match.groups()
    grouped = re.fullmatch(r"\d{1,3}(,\d{3})+(\.\d+)?", text)
    text = text.replace(",", "") if grouped else text.replace(",", ".")
    if text.count(".") > 1 or len(text) > LONGEST:
        return None
    then = tokens[start + 1] if start + 1 < len(tokens) else None
    joined = then is not None and then.word == tokens[start].word and then.before in ("-", "–")
    if text in ("18", "19", "20") and then and joined and re.fullmatch(r"[0-9]{2}", then.text):
        unit = unit_at(tokens, start + 2)
        if unit is None and int(text) < 21 and not then.behind:
            scan.place += 2  # written "20-34": a year said in two halves; but "20-25 seconds"
            return Numeral(
                start, scan.place, int(text) * 100 + int(then.text), "year", figures=True, pair=True
            )
    scan.place += 1
    apostrophe = tokens[start].before.endswith("'") and not tail and not _decade(scan)
    if apostrophe and re.fullmatch(r"[0-9]{2}", text):
        return Numeral(start, scan.place, expand_year(int(text)), "year", figures=True, short=True)
    value = float(text)
    if not tail:
        scale = {"hundred": 100, **SCALE}.get(scan.peek())
        if scale and value < 10_000:
            scan.place += 1
            value *= scale
        part = _written_part(scan) if value == int(value) else None
        value = value + part if part is not None else _fraction(scan, value)
    kind: NumeralKind = "ordinal" if tail and tail != "s" else "cardinal"
    plain = scan.place == start + 1
    if kind == "cardinal" and plain and not tail and re.fullmatch(r"(1[89]|20|21)\d\d", text):
        kind = "year"
    return Numeral(start, scan.place, value, kind, figures=True)


def _decade(scan: _Scan) -> bool:
    """ "'90's"."""
    return scan.peek() == "s" and scan.tokens[scan.place].word == scan.tokens[scan.place - 1].word


def expand_year(short: int) -> int:
    """A vintage of two figures: 18 -> 2018, 96 -> 1996 (`PIVOT` says where the century turns)."""
    return short + (2000 if short < PIVOT else 1900)


def _short_year(scan: _Scan) -> Numeral | None:
    """ "oh nine", "nought eight"; but "oh nine of them", "oh two seconds", "oh point five"."""
    start = scan.place
    unit = UNIT.get(scan.peek(1))
    if scan.peek() not in _OH or not unit or scan.peek(1) == "oh":
        return None
    ends = scan.peek(2)
    more = ends in (*UNIT, *TEEN, *TEN, *SCALE, "hundred", "of", "or", "to", "and", "point", "more", "would")
    if more or (not scan.tokens[start + 1].pause and unit_at(scan.tokens, start + 2)):
        return None
    return Numeral(start, start + 2, 2000 + unit, "year", short=True)


def _ordinal(tokens: Sequence[Token], place: int) -> Numeral | None:
    """ "third", "twenty first", "two hundred and fifth"; but "a twelve second finish" counts seconds."""
    last = place
    while last < min(place + 12, len(tokens)) and tokens[last].text not in _AS_CARDINAL:
        text = tokens[last].text
        known = text in UNIT or text in TEEN or text in TEN or text in SCALE or text in ("hundred", "and")
        if not known or tokens[last].pause:
            return None
        last += 1
    if last >= min(place + 12, len(tokens)):
        return None
    if tokens[last].text == "second" and last > place:
        then = tokens[last + 1].text if last + 1 < len(tokens) else ""
        if then in _NO_LENGTH or (place and tokens[place - 1].text in ("a", "about", "good")):
            return None
    scan = _Scan(tokens, place, last + 1)
    value = _cardinal(scan)
    if value is None or scan.place != last + 1:
        return None
    return Numeral(place, last + 1, value, "ordinal")


def _parts_of(scan: _Scan) -> float | None:
    """ "three quarters", "two thirds"."""
    count, part = {"two": 2, "three": 3}.get(scan.peek()), scan.peek(1)
    if not count or part not in ("thirds", "quarters") or count >= _PARTS[part][1]:
        return None
    scan.place += 2
    return count / _PARTS[part][1]


def _spoken(tokens: Sequence[Token], place: int) -> Numeral | None:
    scan = _Scan(tokens, place)
    if scan.peek() in DECADE:
        return Numeral(place, place + 1, DECADE[scan.peek()])
    short = _short_year(scan)
    if short:
        return short
    year = _year(scan)
    if year is not None:
        hundred = tokens[place + 1].text == "hundred"
        unit = unit_at(tokens, scan.place) if not tokens[scan.place - 1].pause else None
        if unit is None or hundred or unit[0].unit in CURRENCY:
            return Numeral(place, scan.place, year, "year", pair=not hundred)
        scan.place = place + 1  # "nineteen twenty seconds": two numbers, no year
        return Numeral(place, place + 1, year // 100)
    part = _parts_of(scan)
    if part is not None:
        return Numeral(place, scan.place, part)
    led = place == 0 or bool(tokens[place - 1].pause) or tokens[place - 1].text not in (*UNIT, *TEEN, *TEN)
    if (scan.peek() == "point" and led) or (scan.peek() == "oh" and scan.peek(1) == "point"):
        scan.place += scan.peek() == "oh"  # "point five of a gram"
        here = scan.place
        value = _fraction(scan, 0.0)
        return Numeral(place, scan.place, value) if scan.place > here else None
    whole = _cardinal(scan)
    if whole is None:
        return None
    if scan.peek() == "dozen":
        scan.place += 1
        return Numeral(place, scan.place, 12.0 * whole)
    value = _fraction(scan, float(whole))
    spoken_year = FIRST_YEAR <= value <= LAST_YEAR and value == int(value)
    return Numeral(place, scan.place, value, "year" if spoken_year else "cardinal")


def numeral_at(tokens: Sequence[Token], place: int) -> Numeral | None:
    """The numeral that begins at this token, the longest reading of it, or None."""
    text = tokens[place].text
    if text[:1].isdecimal():
        return _figures(_Scan(tokens, place))
    if text not in _STARTERS:
        return None
    return _ordinal(tokens, place) or _spoken(tokens, place)


def read_numerals(tokens: Sequence[Token]) -> tuple[Numeral, ...]:
    """All numerals, in order, none overlapping; time linear in the tokens."""
    found: list[Numeral] = []
    place = 0
    while place < len(tokens):
        numeral = numeral_at(tokens, place)
        if numeral:
            found.append(numeral)
        skip = _no_number(tokens, place) if tokens[place].text[:1].isdecimal() else 0
        place = numeral.last if numeral else skip or place + 1
    return tuple(found)
