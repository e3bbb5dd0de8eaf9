"""One number with what it counts: its unit, the scale it is out of, or what the words around say it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from dictate.language.hedges import Hedge, hedge_behind
from dictate.language.numerals import PIVOT, Numeral, expand_year, read_numerals
from dictate.language.places import is_idiom, position_at, priced, short_vintage
from dictate.language.tokens import Token
from dictate.language.units import Unit, Use, sign_of, unit_at

_SCALES = (5, 10, 20, 100)
_WEIGHED = ("sugar", "acid", "concentration", "mass")
_ON = ("on", "of", "over")  # as other languages count: "seventeen on twenty"
_ALCOHOL = ("alcohol", "abv")
_JOINING = ("of", "is", "at", "'s", "about", "around", "was", "near", "=", "roughly", "say", "just", "like")
_SUGARS = ("residual", "sugar", "sugars", "rs", "dosage", "sweetness", "sweet", "brut", "dry")
_ACIDS = ("acidity", "acid", "acids", "ta", "tartaric", "sulphuric", "sulfuric")
_CODED = ("code", "coded", "sample", "glass", "bag", "number", "wine")
_REACH = 6  # tokens around grams in which sugar or acid is named


@dataclass(frozen=True, slots=True)
class Quantity:
    """Tokens [first, last) say `value` (to `high`, of a range) in `unit`; its hedge stands outside.

    `unit`: "s" (also minutes), "year", "month", "week", "day", "hour", "point", "star", "%", "g/L", "g",
    "mg/L", "pH", "°", an ISO 4217 code, or "" where none was said. A year `short` of its century ("'09")
    has the likeliest one.
    """

    first: int
    last: int
    value: float
    use: Use
    unit: str = ""
    high: float | None = None
    out_of: float | None = None
    hedge: Hedge = ""
    short: bool = False
    figures: bool = False
    factor: float = 1.0  # `value` by the number said: 60 for minutes

    @property
    def middle(self) -> float:
        """The value, or the middle of the range."""
        return self.value if self.high is None else (self.value + self.high) / 2


class Amounts:
    """Goes through the numerals once; `at` holds those that begin at a token."""

    def __init__(self, tokens: Sequence[Token]) -> None:
        self.tokens = tokens
        self.at = {n.first: n for n in read_numerals(tokens)}

    def text(self, place: int) -> str:
        """The token there, "" beyond either end."""
        return self.tokens[place].text if 0 <= place < len(self.tokens) else ""

    def runs(self, place: int) -> bool:
        """Whether speech runs on into this token: no pause in front of it, and it is there."""
        return 0 < place < len(self.tokens) and not self.tokens[place - 1].pause

    def unit(self, place: int) -> tuple[Unit, int] | None:
        """The unit that speech runs on into, and where it ends."""
        return unit_at(self.tokens, place) if self.runs(place) else None

    def next_numeral(self, place: int) -> Numeral | None:
        """The numeral that speech runs on into."""
        return self.at.get(place) if self.runs(place) else None

    # --- the number itself

    def amount(self, place: int) -> Numeral | None:
        """A numeral, or small words in its place: "half a", "a couple of", "half a dozen", "a" minute."""
        if place in self.at:
            return self.at[place]
        if self.text(place) not in ("a", "half", "whole", "full"):
            return None
        words = [self.text(p) if p == place or self.runs(p) else "" for p in range(place, place + 4)]
        for said, value in _SMALL:
            if tuple(words[: len(said)]) == said:
                last = place + len(said)
                found = self.unit(last)
                if value in (2.0, 6.0, 12.0) or (found and found[0].use != "things"):
                    return Numeral(place, last, value)
        if words[0] in ("a", "whole", "full") and words[1] in ("minute", "decade", "gram", "tenner", "fiver"):
            return Numeral(place, place + 1, 1.0)
        return None

    def pair(self, number: Numeral) -> tuple[float, int] | None:
        """ "twelve fifty", "thirteen five", "eighteen ninety nine": a whole and its hundredths or tenth."""
        if number.pair:
            return number.value // 100 + number.value % 100 / 100, number.last
        part = self.next_numeral(number.last)
        if part is None or number.kind != "cardinal" or part.kind == "ordinal" or number.value >= 1000:
            return None
        if number.figures != part.figures or number.value != int(number.value):
            return None
        cents = part.value % 100 if part.short else part.value
        if not 0 < cents < 100 or cents != int(cents):
            return None
        tenth = cents < 10 and not part.short
        return number.value + cents / (10 if tenth else 100), part.last

    # --- what it counts

    def mid_hedge(self, place: int) -> tuple[Hedge, int]:
        """ "eighty-odd grams", "twelve or so seconds"."""
        if not self.runs(place):
            return "", place
        hedge, last = hedge_behind(self.tokens, place)
        return (hedge, last) if hedge and self.unit(last) else ("", place)

    def measured(self, number: Numeral) -> Quantity | None:
        """The number with its unit behind, or around it as signs."""
        base = Quantity(number.first, number.last, number.value, "count", figures=number.figures)
        sign = sign_of(self.tokens, number.first, last=number.last)
        if sign:
            return replace(base, use="price", unit=sign.unit)
        if number.kind == "ordinal":
            return None  # "the third point"
        hedge, place = self.mid_hedge(number.last)
        if self.text(place) == "of" and self.text(place + 1) in ("a", "an") and number.value < 1:
            place += 2  # "three quarters of a minute"
        found = self.unit(place)
        pair = self.pair(number)
        if found is None and pair and (part := self.unit(pair[1])) and part[0].use in ("percent", "price"):
            cents = pair[0] if not part[0].parts else number.value
            return replace(base, value=round(cents, 4), use=part[0].use, unit=part[0].unit, last=part[1])
        if found is None:
            return self.hundreds(number, base)
        unit, last = found
        if number.pair and unit.use == "price" and pair:
            number = replace(number, value=pair[0], kind="cardinal")
        if number.short or (unit.unit == "day" and self.text(number.first) == "one"):
            return None
        value = round(number.value * unit.factor, 6)
        made = replace(
            base, value=value, use=unit.use, unit=unit.unit, hedge=hedge, last=last, factor=unit.factor
        )  # fmt: skip
        return self.with_rest(made, unit)

    def hundreds(self, number: Numeral, base: Quantity) -> Quantity | None:
        """ "one forty grams" are a hundred and forty."""
        tens = self.next_numeral(number.last)
        if number.figures or number.value >= 5 or tens is None or not self.pair(number):
            return None
        part = self.unit(tens.last)
        if tens.value < 10 or not part or part[0].use not in _WEIGHED or position_at(self.tokens, number):
            return None
        value = (number.value * 100 + tens.value) * part[0].factor
        return replace(base, value=value, use=part[0].use, unit=part[0].unit, last=part[1])

    def with_rest(self, made: Quantity, unit: Unit) -> Quantity:
        """What follows the unit: "a minute and a half", "twelve pounds fifty", "a minute ten seconds"."""
        place = made.last
        if self.runs(place) and self.text(place) == "and" and self.text(place + 1) == "a":
            part = {"half": 0.5, "quarter": 0.25}.get(self.text(place + 2))
            if part and self.runs(place + 1) and self.runs(place + 2):
                return replace(made, value=round(made.value + part * unit.factor, 6), last=place + 3)
        joined = place + 1 if self.text(place) == "and" and self.runs(place) else place
        more = self.next_numeral(joined) if self.runs(joined) else None
        if more is None or more.kind != "cardinal" or not 0 < more.value < 100:
            return made
        then = self.unit(more.last)
        if unit.use == "price" and not unit.parts and more.value == int(more.value):
            if then and then[0].parts:
                return replace(made, value=round(made.value + more.value / 100, 6), last=then[1])
            if joined == place and then is None and more.value >= 10:
                return replace(made, value=round(made.value + more.value / 100, 6), last=more.last)
        if unit.factor == 60.0 and then and (then[0].unit, then[0].factor) == ("s", 1.0):
            return replace(made, value=made.value + more.value, last=then[1])
        return made

    def out_of(self, number: Numeral, counted: Quantity | None) -> Quantity | None:
        """ "seventeen and a half out of twenty", "17.5/20", "four stars out of five"."""
        stars = counted is not None and counted.use == "score"
        place = counted.last if counted and stars else number.last
        if counted and not stars and counted.use != "things":
            return None
        linked = (self.text(place), self.text(place + 1)) == ("out", "of") and self.runs(place + 1)
        if linked and self.runs(place):
            scale = self.next_numeral(place + 2)
            if scale and scale.kind == "cardinal" and not (self.unit(scale.last) and not stars):
                return self._scored(number, counted, scale)
        one_of = (self.text(number.first), self.text(place)) == ("one", "of")  # "one of five"
        if self.text(place) in _ON and self.runs(place) and not one_of:
            scale = self.next_numeral(place + 1)
            if scale and number.value <= scale.value in _SCALES and self.unit(scale.last) is None:
                return self._scored(number, counted, scale)
        scale = self.next_numeral(number.last)
        if scale and self._slashed(scale.first) and number.value <= scale.value:
            if self._slashed(number.first) or self._slashed(scale.last):
                return None  # a date
            return self._scored(number, counted, scale)
        return None

    def _slashed(self, place: int) -> bool:
        return self.runs(place) and self.tokens[place].before == "/"

    def _scored(self, number: Numeral, counted: Quantity | None, scale: Numeral) -> Quantity:
        unit = counted.unit if counted else "point"
        return Quantity(number.first, scale.last, number.value, "score", unit, out_of=scale.value,
                        figures=number.figures)  # fmt: skip

    # --- by what stands around it

    def around(self, number: Numeral) -> Quantity | None:
        """pH, total acidity and alcohol are named in front of their figure (alcohol also behind it)."""
        ahead = number.first - 1
        for _ in range(3):
            if self.runs(ahead + 1) and self.text(ahead) in _JOINING:
                ahead -= 1
        alcohol = self.text(ahead) in _ALCOHOL and self.tokens[ahead].pause == ","  # "alcohol, fourteen"
        if not self.runs(ahead + 1) and not alcohol:
            ahead = -1
        named = self.text(ahead)
        pair = self.pair(number) if number.value < 100 else None
        value, last = pair if pair else (number.value, number.last)
        made = Quantity(number.first, last, round(value, 4), "count", figures=number.figures)
        if number.kind != "cardinal":
            return None
        if named == "ph" and 2 <= value < 5:
            return replace(made, use="ph", unit="pH")
        total = named in ("acidity", "acid") and self.text(ahead - 1) == "total"
        if (named == "ta" or total) and value < 20:
            return replace(made, use="acid")
        behind = self.text(last) in _ALCOHOL and self.runs(last)
        if (named in _ALCOHOL or behind) and 4 <= value < 25:
            return replace(made, use="percent", unit="%", last=last)
        if pair and priced(self.tokens, number.first, last=last):
            return replace(made, use="price")
        return None

    def plain(self, number: Numeral) -> Quantity | None:
        """A number with no measure: a year, a position, a decade, a price without its money, or a count."""
        tokens, size = self.tokens, number.last - number.first
        made = Quantity(number.first, number.last, number.value, "count", figures=number.figures)
        if is_idiom(tokens, number):
            return None
        if _is_decade(tokens, number):
            last = number.last + (self.text(number.last) == "s" and tokens[number.last].before == "'")
            return replace(made, use="decade", value=_decade_of(number.value), last=last)
        written = self.text(number.first)
        if number.figures and size == 1 and written.endswith("s") and written[:-1].isdecimal():
            return replace(made, use="duration", unit="s")
        if _is_code(tokens, number):
            return replace(made, use="code", value=number.value % 100 if number.short else number.value)
        if number.kind == "ordinal":
            place = position_at(tokens, number)
            return replace(made, use="position" if place else "ordinal", last=place or number.last)
        if priced(tokens, number.first, last=number.last):
            pair = self.pair(number)
            return replace(
                made, use="price", value=round(pair[0], 4) if number.pair and pair else number.value
            )
        if position_at(tokens, number):
            return replace(made, use="position")
        if number.kind == "year":
            return replace(made, use="year", short=number.short)
        if short_vintage(tokens, number):
            return replace(made, use="year", value=expand_year(int(number.value)), short=True)
        return made

    def grams(self, made: Quantity) -> Quantity:
        """Grams of sugar or acid are per litre, as the trade says them, where either is named near by."""
        if made.unit not in ("g", "g/L") or made.use in ("sugar", "acid"):
            return made
        if self.text(made.last) == "of" and made.unit == "g":
            return made  # "two hundred grams of cheese"
        in_front = range(made.first - 1, max(-1, made.first - _REACH - 1), -1)
        for place in (*in_front, *range(made.last, made.last + _REACH)):
            if self.text(place) in _SUGARS:
                return replace(made, use="sugar", unit="g/L")
            if self.text(place) in _ACIDS:
                return replace(made, use="acid", unit="g/L")
        return made

    def one(self, number: Numeral) -> Quantity | None:
        """What this number is, by its unit, its scale or its surroundings; None in a set phrase."""
        counted = self.measured(number)
        scored = self.out_of(number, counted)
        if scored:
            return scored
        if counted:
            return self.grams(counted)
        return self.around(number) or self.plain(number)


_SMALL: tuple[tuple[tuple[str, ...], float], ...] = (
    (("half", "a", "dozen"), 6.0), (("a", "dozen"), 12.0), (("a", "couple", "of"), 2.0),
    (("a", "couple"), 2.0), (("half", "a"), 0.5), (("half", "an"), 0.5), (("half",), 0.5),
    (("a", "quarter", "of", "a"), 0.25), (("a", "hundred"), 100.0),
)  # fmt: skip


def _is_decade(tokens: Sequence[Token], number: Numeral) -> bool:
    written, value = tokens[number.first].text, number.value
    if number.last - number.first != 1 or value % 10 or not (20 <= value < 100 or 1800 <= value < 2100):
        return False
    if written.endswith("ies"):
        return True
    if number.figures and written.endswith("s"):
        return True
    then = tokens[number.last] if number.last < len(tokens) else None
    same = then is not None and then.word == tokens[number.first].word
    return bool(then and same and then.text == "s" and number.figures)


def _decade_of(value: float) -> float:
    """ "the nineties" are the 1990s, "the twenties" the 2020s."""
    return value if value >= 100 else value + (2000 if value < PIVOT else 1900)


def _is_code(tokens: Sequence[Token], number: Numeral) -> bool:
    """ "A-7", "B12": figures behind one or two letters in the same word; "code oh nine"."""
    led = tokens[number.first - 1] if number.first else None
    if number.short and not number.figures:
        return led is not None and not led.pause and led.text in _CODED
    if not number.figures or led is None:
        return False
    letters = led.text.isalpha() and len(led.text) <= 2 and led.text not in ("ph", "ta", "rs", "no", "nr")
    return letters and led.word == tokens[number.first].word
