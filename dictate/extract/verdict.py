"""Score, drinking window; and the finish where its seconds are stated, not timed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from dictate.extract.parsed import Parsed
from dictate.extract.selfrepair import SELF_REPAIR
from dictate.language.amounts import Quantity
from dictate.language.numbers import Number
from dictate.language.patterns import compile_any
from dictate.values import Reading, Scope

_POINTS = frozenset(["point", "points", "marks", "pts"])
_OVER = ("on", "of", "over", "from")  # as other languages count: "seventeen on twenty"
_SCALES = (5, 10, 20, 100)
_SCORES = frozenset(["score", "mark", "marks", "points", "rating"])
_STARS = frozenset(["star", "stars"])
_NOT_A_SCORE = frozenset(
    "year years month months day days week weeks second seconds minutes hours o'clock caudalies dollar"
    " dollars pound pounds euro euros quid rand bucks percent per % gram grams kilos litre litres degrees"
    " bottle bottles case cases people of times more thousand hundred million".split()
)
# what a number may count and be a score; a price, a length, a code, a set phrase never is
_SCORE_USES = frozenset(["count", "score", "year", "ordinal"])
_TO = frozenset(["to", "until", "till", "through", "by", "and", "til", "beyond", "before"])
_FROM = frozenset(["from", "between", "after", "starting", "in"])
_DRINK = compile_any(
    [
        "drink|drinks|drinking|drunk|keep|keeps|hold|holds|last|lasts|live|improve|go|good|best|peak",
        "ready|window|cellar|open|opening|start|broach|wait|leave|from|between|until|till|through|later",
    ]
)
_LATEST = compile_any(
    [
        "no|not later than", "not beyond|after|past", "by",
        "can|could|will|'ll|may|might|should wait|keep|hold|last|live|go|sit|stay until|till|to",
        "can|could|may|might|should keep|hold|forget|leave|cellar it|this|them in_the_cellar? until|till|to",
    ]
)  # fmt: skip
_CALLED = compile_any(["call|make it|that", "or rather", "no ,"])
_WAIT = compile_any(
    [
        "hold|cellar|store|bury|rest it|this|them|these until|till",
        "^ hold|cellar|store until|till",
        "leave|wait",
        "shan't|won't|wouldn't|don't|not open|touch|drink",
        "needs",
        "hold off",
        "lay it down",
        "not before",
    ]
)
_LASTS = frozenset(["for", "lasts", "lasted", "lasting", "a", "full", "good", "whole", "one"])
LONGEST_S = 600.0  # no finish is longer
_TO_WAIT = frozenset(
    ["give", "wait", "hang", "hold", "just", "need"]
)  # "give me ten seconds": said to the room


def _next(parsed: Parsed, number: Number) -> str:
    if number.last >= len(parsed.tokens) or parsed.tokens[number.last - 1].pause:
        return ""
    return parsed.tokens[number.last].text


def _before(parsed: Parsed, number: Number | Quantity, back: int = 1) -> str:
    place = number.first - back
    return parsed.tokens[place].text if place >= 0 else ""


def read_score(parsed: Parsed) -> list[Reading]:
    """ "ninety five points", "seventeen out of twenty", "four stars", and a bare number of 50 to 100
    in the verdict that counts nothing else. The last said holds."""
    if parsed.phrase.stage not in ("verdict", "finish"):
        return []
    found: list[Reading] = []
    used: set[int] = set()
    for number, following in zip(parsed.numbers, (*parsed.numbers[1:], None), strict=False):
        if number.first in used or number.kind == "year" or number.use not in _SCORE_USES:
            continue
        span = _score_range(parsed, number)
        if span and following:
            used.add(following.first)
            usual = 5.0 if span.unit == "star" else 100.0 if span.middle > 20 else None
            last, out_of = span.last, span.out_of or usual
            found.append(
                parsed.reading("verdict.score", span.middle, first=span.first, last=last, out_of=out_of)
            )
            continue
        out_of, last = _scale(parsed, number, following)
        if following and out_of and last > number.last:
            used.add(following.first)
        if _before(parsed, number) == "quality":
            continue  # "quality eight out of ten" is a level
        word = _next(parsed, number)
        if found and out_of is None and any(b == number.first for _, b in parsed.line.spans(_CALLED)):
            found.append(
                replace(
                    found[-1],
                    value=number.value,
                    scope="said",
                    rule="",
                    first=_word(parsed, number.first),
                    last=_word(parsed, number.last - 1) + 1,
                )
            )  # "five out of ten, call it four"
            continue
        moved = {_before(parsed, number, back) for back in (2, 3, 4)} & _SCORES and _before(
            parsed, number
        ) in ("to", "at", "is", "'s")
        named = moved or word in _POINTS or word in _STARS or out_of is not None
        if not named and not _bare_score(parsed, number, following):
            continue
        if word in _STARS:
            out_of = out_of or 5.0
        mark = parsed.scope(number.first, number.last)
        found.append(
            parsed.reading(
                "verdict.score", number.value, first=number.first, last=last,
                scope=mark.scope, rule=mark.rule, out_of=out_of or (100.0 if number.value > 20 else None),
            )
        )  # fmt: skip
    return found


def _word(parsed: Parsed, place: int) -> int:
    return parsed.tokens[place].word


def _scale(parsed: Parsed, number: Number, following: Number | None) -> tuple[float | None, int]:
    tokens = parsed.tokens
    place = number.last
    if place < len(tokens) and tokens[place].text in (*_POINTS, *_STARS):
        place += 1
    if [t.text for t in tokens[place : place + 2]] in (["that", "'s"], ["that", "is"]):
        place += 2  # "eighteen and a half, that's out of twenty"
    if (
        following
        and [t.text for t in tokens[place : place + 2]] == ["out", "of"]
        and following.first == place + 2
    ):
        return following.value, following.last
    link = tokens[place].text if place < len(tokens) else ""
    if link in _OVER and following and following.first == place + 2 and tokens[place + 1].text == "the":
        place += 1  # "eighty eight on the hundred point scale"
    if following and link in _OVER and following.first == place + 1 and following.value in _SCALES:
        return following.value, following.last
    if following and following.first == number.last and following.figures and number.figures:
        return (following.value, following.last) if following.value in _SCALES else (None, number.last)
    return None, number.last


def _score_range(parsed: Parsed, number: Number) -> Quantity | None:
    """ "ninety two to ninety four", with or without "points": its middle counts, as of seconds."""
    span = next((q for q in parsed.quantities if q.first == number.first and q.high is not None), None)
    if span is None or parsed.tokens[number.last - 1].pause == ",":
        return None  # "ninety one, ninety two": the last said holds
    bare = span.use == "count" and _bare_score(parsed, replace(number, last=span.last), None)
    return span if bare or span.use == "score" else None


def _bare_score(parsed: Parsed, number: Number, following: Number | None) -> bool:
    if parsed.phrase.stage != "verdict" or not 50 <= number.value <= 100 or number.kind != "cardinal":
        return False
    if _next(parsed, number) in _NOT_A_SCORE or _before(parsed, number) in (
        "under",
        "over",
        "for",
        "age",
        "another",
    ):
        return False
    adjoining = following is not None and following.first == number.last
    earlier = any(n.last == number.first and not parsed.tokens[n.last - 1].pause for n in parsed.numbers)
    return not earlier and not (adjoining and not parsed.tokens[number.last - 1].pause)


def read_window(parsed: Parsed) -> list[Reading]:
    """Drinking window in years: "from 2026 through to 2031", "until 2034", "2026 to 2032"."""
    if parsed.phrase.stage not in ("verdict", "finish"):
        return []
    years = [_ahead(n) for n in parsed.numbers if n.kind == "year" and _ahead(n).value >= 1950]
    if not years or not (_DRINK.search(parsed.line.text) or _spans_years(parsed, years)):
        return []
    found: list[Reading] = []
    for place, year in enumerate(years):
        if (
            place
            and parsed.scope(years[place - 1].first, years[place - 1].last).rule == SELF_REPAIR
            and found
        ):
            found.append(_year(parsed, found[-1].field, year))  # "from 2026, no, 2027"
            continue
        before = {_before(parsed, year, back) for back in (1, 2, 3)}
        near = _before(parsed, year)
        if any(b == year.first for _, b in parsed.line.spans(_LATEST)):
            found.append(_year(parsed, "verdict.drink_to", year, scope="said"))
            continue
        if place == 0 and near in ("before", "until", "till", "to") and _WAIT.search(parsed.line.text):
            found.append(_year(parsed, "verdict.drink_from", year, scope="said"))
            continue
        if near in _TO or (before & _TO and near != "from" and not before & {"from", "between"}):
            field = "verdict.drink_to"
        elif place == 0 and (before & _FROM or len(years) > 1):
            field = "verdict.drink_from"
        elif place > 0:
            field = "verdict.drink_to"
        else:
            continue
        if field == "verdict.drink_to" and place == 0 and near == "and":
            continue
        found.append(_year(parsed, field, year))
    return found


def _spans_years(parsed: Parsed, years: Sequence[Number]) -> bool:
    """ "2026 to 2036", and nothing else."""
    if len(years) != 2 or parsed.phrase.stage != "verdict":
        return False
    return [t.text for t in parsed.tokens[years[0].last : years[1].first]] in (["to"], ["through"], ["till"])


def _ahead(year: Number) -> Number:
    """A year said without its century, as one to come: "until '38"."""
    return replace(year, value=year.value + 100) if year.short and year.value < 1975 else year


def _year(parsed: Parsed, field: str, year: Number, *, scope: Scope | None = None) -> Reading:
    mark = parsed.scope(year.first, year.last)
    scope = scope or ("said" if mark.scope in ("future", "expected", "other") else mark.scope)
    return parsed.reading(
        field, int(year.value), first=year.first, last=year.last, scope=scope, rule=mark.rule
    )


def read_stated_seconds(parsed: Parsed) -> list[Reading]:
    """ "a good fifteen seconds": the length of the finish in words. A range gives its middle; one
    caudalie is one second (glossaries; see trade-facts section 4)."""
    if parsed.phrase.stage not in ("finish", "palate", "verdict"):
        return []
    for said in parsed.quantities:
        if said.use != "duration" or said.middle > LONGEST_S:
            continue
        if said.factor > 1 and not _lasts(parsed, said):
            continue
        waits = {_before(parsed, said, back) for back in (1, 2)} & _TO_WAIT
        if waits and not (said.hedge and waits == {"just"}) and not _would_give(parsed, said):
            continue  # but "just under a minute"
        return [parsed.reading("finish.seconds", said.middle, first=said.first, last=said.last)]
    return []


def _would_give(parsed: Parsed, said: Quantity) -> bool:
    """ "I'd give it six seconds" tells a finish; "give me ten seconds", "give it a minute" do not."""
    before = [_before(parsed, said, back) for back in (1, 2, 3, 4)]
    return before[:2] == ["it", "give"] and before[2] in ("'d", "would", "i")


def _lasts(parsed: Parsed, said: Quantity) -> bool:
    """Minutes are a finish's where it is said to last them; "swirled it five minutes" is no finish."""
    if parsed.phrase.stage != "finish":
        return False
    part = said.middle % 60 != 0
    return part or said.hedge != "" or _before(parsed, said) in _LASTS
