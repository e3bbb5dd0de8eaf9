"""What stands around a bare number: a position in the flight, a price, a vintage said short, a set phrase."""

from __future__ import annotations

from collections.abc import Sequence

from dictate.language.numerals import TEEN, TEN, UNIT, Numeral
from dictate.language.patterns import Line, compile_any
from dictate.language.tokens import Token

_NAMED = frozenset(["number", "wine", "no", "nr", "position", "glass", "sample", "num"])
_GLASSES = frozenset(["wine", "glass", "sample"])
_SERIES = frozenset(
    "flight tasting day evening night morning afternoon session series round set lineup".split()
)
# "number one priority": what is first in rank, not in the flight
_RANKED = frozenset(
    "priority choice reason thing fan rule pick favourite favorite problem concern seller".split()
)
_OWNED = frozenset(["my", "our", "your", "his", "her", "their", "a", "the"])
_PRICE_BEFORE = frozenset(
    "cost costs costing price priced retail retails retailing sell sells selling sold pay paid paying charge"
    " charging asking".split()
)
_PRICE_FILL = frozenset(
    ["at", "for", "about", "around", "is", "of", "'s", "it", "them", "just", "under", "over"]
)
_PRICE_BEHIND = tuple(
    tuple(words.split("_"))
    for words in "a_bottle per_bottle a_case per_case a_glass per_glass a_pop a_throw apiece retail landed"
    " ex_cellar ex_cellars in_bond duty_paid plus_vat plus_tax at_the_shop in_the_shop in_the_shops"
    " on_the_shelf on_the_list on_a_list".split()
)
# behind "one" it is a pronoun; in front of it too
_ONE_BEHIND = frozenset(
    "of would could can 'd 's is has had might should that who which day another time way i we you they where"
    " could for with from in on".split()
)
_ONE_BEFORE = frozenset(
    "the this that which no any each every another last next first second other good great big little new old"
    " only some".split()
)
_FOLDS = frozenset(["fold", "way", "dimensional", "tone", "off", "sided", "handed"])
_ORDINAL_PHRASES = frozenset("thoughts thought hand nature class world place glance nose".split())
# behind "the eighteen" these say that it counts something
_COUNTED = frozenset(
    "of or to and hundred thousand million other others more best that we i they grapes in day year".split()
)


def _text(tokens: Sequence[Token], place: int) -> str:
    return tokens[place].text if 0 <= place < len(tokens) else ""


def _led(tokens: Sequence[Token], place: int) -> str:
    """The token in front, unless there is a pause between."""
    return "" if place < 1 or tokens[place - 1].pause else tokens[place - 1].text


def _then(tokens: Sequence[Token], last: int, ahead: int = 0) -> str:
    """A token behind, unless there is a pause on the way to it."""
    if last + ahead >= len(tokens) or any(t.pause for t in tokens[last - 1 : last + ahead]):
        return ""
    return tokens[last + ahead].text


_NON_VINTAGE = compile_any(
    [
        "non vintage|vintages|vintaged", "nonvintage", "nv", "n v", "en vee", "no vintage",
        "without a? vintage", "multi|multiple vintage|vintages", "multivintage", "mv", "m v",
        "not vintage dated",
        "vintage is not given|stated|declared",
    ]
)  # fmt: skip


def non_vintage_spans(line: Line) -> tuple[tuple[int, int], ...]:
    """Token spans that say a wine has no vintage: "NV", "non-vintage"; "it's not an NV" says none."""
    return tuple(
        (a, b)
        for a, b in line.spans(_NON_VINTAGE)
        if not {_led(line.tokens, a), _led(line.tokens, a - 1) if _led(line.tokens, a) in ("a", "an") else ""}
        & {"not", "isn't", "never", "no"}
    )


def position_at(tokens: Sequence[Token], number: Numeral) -> int:
    """Where a position in the flight ends: "number twelve", "wine one oh four", "the third wine"; else 0.

    "The second wine of the estate" is a lesser label, "number one priority" a rank.
    """
    if number.value != int(number.value) or not 1 <= number.value <= 999:
        return 0
    then = _then(tokens, number.last)
    if number.kind == "ordinal":
        if then not in _GLASSES:
            return 0
        link, article, noun = (_then(tokens, number.last + 1, p) for p in range(3))
        if link in ("of", "from", "in"):
            in_flight = noun in _SERIES or article in _SERIES or article in (*TEEN, *TEN, *UNIT)
            return number.last + 1 if in_flight else 0
        return number.last + 1
    before = tokens[number.first - 1] if number.first else None
    # "No. 4"; "no, 92" is a correction
    written_no = number.figures and before is not None and before.text == "no" and before.pause in ("", ".")
    if number.kind != "cardinal" or not (written_no or _led(tokens, number.first) in _NAMED):
        return 0
    owner = _led(tokens, number.first - 1)
    owned = _text(tokens, number.first - 1) == "number" and owner in _OWNED
    if then in _RANKED or (owned and (bool(then) or owner not in ("a", "the"))):
        return 0
    return number.last


def priced(tokens: Sequence[Token], first: int, *, last: int) -> bool:
    """Whether the words around a number make it a price: "retails at twelve fifty", "ninety a bottle"."""
    for words in _PRICE_BEHIND:
        if all(_then(tokens, last, p) == word for p, word in enumerate(words)):
            return True
    place = first
    for _ in range(3):
        led = _led(tokens, place)
        if led in _PRICE_BEFORE:
            return True
        if led not in _PRICE_FILL:
            return False
        place -= 1
    return False


def short_vintage(tokens: Sequence[Token], number: Numeral) -> bool:
    """ "the eighteen", "this ninety-six": two figures behind an article with nothing counted behind."""
    value = number.value
    if number.kind != "cardinal" or value != int(value) or not 10 <= value <= 99:
        return False
    led, then = _led(tokens, number.first), _then(tokens, number.last)
    if led not in ("the", "this", "their", "his", "her"):  # "a ninety-two" is a score
        return False
    if _led(tokens, number.first - 1) in ("of", "all", "in", "over", "into", "out", "from", "between"):
        return False
    return (then not in _COUNTED and not then.endswith("s")) or then in ("is", "'s", "was", "has")


_STOPS = (".", "?", "!")


def _whole_sentence(tokens: Sequence[Token], number: Numeral) -> bool:
    """Does nothing but the number stand between two full stops (or the ends)?"""
    opens = number.first == 0 or tokens[number.first - 1].pause in _STOPS
    return opens and (number.last == len(tokens) or tokens[number.last - 1].pause in _STOPS)


def is_idiom(tokens: Sequence[Token], number: Numeral) -> bool:
    """Words of number that count nothing: "one of the best", "second to none", "two-fold", "for a second"."""
    if number.figures or number.last - number.first != 1:
        return False
    said, led, then = tokens[number.first].text, _led(tokens, number.first), _then(tokens, number.last)
    if then in _FOLDS:
        return True
    if said == "one" and led not in ("number", "wine", "glass", "sample", "position", "code"):
        return (
            led in _ONE_BEFORE
            or then in _ONE_BEHIND
            or (not led and not then and not _whole_sentence(tokens, number))
        )
    if said == "second":
        two = _then(tokens, number.last, 1)
        return (
            led in ("a", "split", "any", "every") or then in _ORDINAL_PHRASES or (then, two) == ("to", "none")
        )
    if said == "first":
        return (
            led == "at" or then in _ORDINAL_PHRASES or (then, _then(tokens, number.last, 1)) == ("of", "all")
        )
    return said == "nine" and led == "cloud"
