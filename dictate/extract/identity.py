"""Who the wine is: position, code, producer, name, origin, grapes, vintage, colour, style."""

from __future__ import annotations

import re
from collections.abc import Iterator

from dictate.extract.names import read_names
from dictate.extract.parsed import Parsed
from dictate.extract.selfrepair import SELF_REPAIR
from dictate.language.mentions import Mention
from dictate.language.numbers import Number
from dictate.language.passing_names import in_passing
from dictate.language.patterns import compile_any
from dictate.language.places import non_vintage_spans
from dictate.lexicon.entries import Entry
from dictate.values import Reading, Scope

_POSITION = frozenset(["number", "wine", "no", "position"])
_CODED = ("code", "coded")  # of "sample twelve, code B six" the code
_CODE = frozenset(["code", "glass", "sample", "bag", "decanter", "coded", "flask"])
_CODE_ALONE = re.compile(r"[b-hj-z]\d{1,2}")
_SHORT_CLAUSE = 6  # tokens
_MOST_WINES = 100  # of a tasting
_LISTED_AT = compile_any(
    ["^ and? # on|of|in the|my|our? sheet|list|card|order|programme|program|line-up|lineup"]
)
_NUMBERED = frozenset("clone bin lot block plot parcel row cask barrel tank vat no vineyard vitamin".split())
_GUESS = compile_any(
    [
        "thinks", "could be", "might be", "i 'd guess|say", "my guess", "not going to guess",
        "maybe|perhaps", "may be", "guessing", "i 'd go", "my money", "if i had to",
    ]
)  # fmt: skip
_ARTICLES = frozenset(["a", "an", "this"])
_COMPARED = frozenset("like than of as not almost nearly from".split())
_MEANT = compile_any(["i said|put … ,? i meant|mean"])
# what may stand in the clause of a style that is named by itself
_BESIDE_STYLE = frozenset(
    ["it", "'s", "is", "a", "an", "fully", "so", "well", "right", "okay", "this", "one", "wine"]
)


def _position(parsed: Parsed) -> Iterator[Reading]:
    for first, last in parsed.line.spans(_LISTED_AT):  # "six on the sheet"
        number = _number_from(parsed, first)
        if number is not None and number.last < last and number.kind == "cardinal":
            yield parsed.reading("wine.position", int(number.value), first=first, last=last, scope="said")
            return
    number = _number_from(parsed, 0)
    alone = number is not None and parsed.clauses[0] == (0, number.last) and len(parsed.clauses) > 1
    counts = number is not None and (number.kind, number.use) == ("cardinal", "count")
    if alone and counts and number and 0 < number.value < _MOST_WINES:
        yield parsed.reading("wine.position", int(number.value), first=0, last=number.last, scope="said")
        return  # "next wine, fifteen, that's a Baga"
    taken_back = [n.first for n in parsed.numbers if parsed.scope(n.first, n.last).rule == SELF_REPAIR]
    for number in parsed.numbers:
        if number.first in taken_back and number.first != parsed.numbers[-1].first:
            continue  # "number three, no, sorry, number four"
        led = parsed.tokens[number.first - 1].text if number.first else ""
        if number.use != "position" or not (number.kind == "ordinal" or led in _POSITION):
            continue
        # "the fourth wine"; "number four"
        ordinal = number.kind == "ordinal"
        first, last = number.first - (not ordinal), number.last + ordinal
        yield parsed.reading("wine.position", int(number.value), first=first, last=last, scope="said")
        return


def _number_from(parsed: Parsed, place: int) -> Number | None:
    return next((n for n in parsed.numbers if n.first == place), None)


def _code(parsed: Parsed) -> Iterator[Reading]:
    """ "glass B seven" -> "B7"; "code K forty four" -> "K44"; "sample twelve" -> "12"."""
    places = [p for p, t in enumerate(parsed.tokens[:-1]) if t.text in _CODE and not t.pause]
    for place in sorted(places, key=lambda p: parsed.tokens[p].text not in _CODED):
        at = place + 1
        if parsed.tokens[at].text == "number" and parsed.tokens[place].text not in _CODED:
            continue  # "glass number two" is its place
        if parsed.tokens[at].text in ("is", "number", "'s"):
            at += 1
        text = ""
        while at < len(parsed.tokens) and len(text) < 6:
            piece = parsed.tokens[at].text
            number = _number_from(parsed, at)
            if number and number.value == int(number.value):
                text += f"{int(number.value) % 100:02d}" if number.short else str(int(number.value))
                at = number.last
            elif (len(piece) == 1 and piece.isalpha() and piece not in ("a", "i")) or (
                piece == "a" and not text and _number_from(parsed, at + 1)
            ):
                text += piece.upper()
                at += 1
            else:
                break
            if parsed.tokens[at - 1].pause:
                break
        if text:
            yield parsed.reading("wine.code", text, first=place, last=at, scope="said")
            return
    yield from _code_alone(parsed)


def _code_alone(parsed: Parsed) -> Iterator[Reading]:
    """ "B7." where what should introduce it was misheard ("class B7"): it ends a short clause."""
    for first, last in parsed.clauses:
        if not 2 <= last - first <= _SHORT_CLAUSE:
            continue
        letter, figures = parsed.tokens[last - 2 : last]
        written = _CODE_ALONE.fullmatch(letter.text + figures.text) and letter.word == figures.word
        if written and (last - first == 2 or parsed.tokens[last - 3].text not in _NUMBERED):
            text = (letter.text + figures.text).upper()
            yield parsed.reading("wine.code", text, first=last - 2, last=last, scope="said")
            return


def _vintage(parsed: Parsed) -> Iterator[Reading]:
    for a, b in non_vintage_spans(parsed.line):
        yield parsed.reading("wine.vintage", "NV", first=a, last=b, scope="said")
        return
    years = [q for q in parsed.quantities if q.use == "year" and q.value <= 2100]
    meant = max((b for _, b in parsed.line.spans(_MEANT)), default=0)  # "I said 2019, I meant 2018"
    # one said in full before "the eighteen"
    for year in sorted(years, key=lambda q: (q.first < meant, q.short)):
        yield parsed.reading("wine.vintage", int(year.value), first=year.first, last=year.last, scope="said")
        return


def _lexicon_identity(parsed: Parsed, *, guess: bool) -> Iterator[Reading]:
    origins = [m for m in parsed.mentions if _meant(parsed, m, m.of("origin"))]
    for mention in parsed.mentions:
        grape, style, colour = mention.of("grape"), mention.of("style"), mention.of("colour")
        # naming a wine compares it with nothing ("the last one, Sauternes"): only a denial counts
        mark = parsed.scope(mention.first, mention.last)
        denied = mark.scope == "denied"
        scope: Scope = "doubtful" if guess else "denied" if denied else "said"
        rule = "guess" if guess else mark.rule if denied else ""
        if grape and not mention.of("origin") and _meant(parsed, mention, grape):
            yield parsed.reading(
                "wine.grapes",
                grape.term,
                first=mention.first,
                last=mention.last,
                scope=scope,
                rule=rule,
                family=grape.family,
            )
        if style and not (style.term == "still" and not _of_wine(parsed, mention)):
            yield parsed.reading(
                "wine.style", style.term, first=mention.first, last=mention.last, scope=scope, rule=rule
            )
        if colour:
            yield parsed.reading(
                "wine.colour", colour.term, first=mention.first, last=mention.last, scope=scope, rule=rule
            )
    for mention in origins:
        yield from _grape_in_place(parsed, mention)
    # the narrowest place named: a country only where nothing else is
    elsewhere = [m for m in origins if parsed.scope(m.first, m.last).scope == "denied"]
    named = [m for m in origins if m not in elsewhere]
    ranked = sorted(named, key=lambda m: (_is_kind(m) and len(named) > 1, _breadth(m)))
    for mention in elsewhere if not guess else ():  # "it isn't Rioja, it's Navarra"
        yield _origin(parsed, mention, "denied", parsed.scope(mention.first, mention.last).rule)
    if ranked and not guess:
        yield _origin(parsed, ranked[0], "said", "")
        for mention in filter(_is_kind, ranked[1:]):
            yield from _of_kind(parsed, mention)


def _is_kind(mention: Mention) -> bool:
    """Whether a name is of a kind of wine more than of a place: "a Fino from Jerez"."""
    entry = mention.of("origin")
    return entry is not None and entry.data.get("style") == "fortified"


def _of_kind(parsed: Parsed, mention: Mention) -> Iterator[Reading]:
    """What a kind of wine is, where its place is told beside it ("Port, from the Douro")."""
    entry = mention.of("origin")
    for what in ("style", "colour"):
        if entry is not None and what in entry.data:
            first, last = mention.first, mention.last
            value = str(entry.data[what])
            yield parsed.reading(
                f"wine.{what}", value, first=first, last=last, scope="said", source="inferred"
            )


def _origin(parsed: Parsed, mention: Mention, scope: Scope, rule: str) -> Reading:
    entry = mention.of("origin")
    assert entry is not None
    return parsed.reading(
        "wine.origin", entry.term, first=mention.first, last=mention.last, scope=scope, rule=rule,
        family=entry.family,
    )  # fmt: skip


def _grape_in_place(parsed: Parsed, mention: Mention) -> Iterator[Reading]:
    """ "Picpoul de Pinet", "Lambrusco di Sorbara": the place's name says the grape."""
    size = mention.last - mention.first
    if size < 3 or parsed.tokens[mention.first + 1].text not in ("de", "di", "du", "del", "von"):
        return
    grape = mention.of("grape") or next((e for e in parsed.first_word(mention) if e.kind == "grape"), None)
    if grape:
        yield parsed.reading(
            "wine.grapes",
            grape.term,
            first=mention.first,
            last=mention.first + 1,
            scope="said",
            family=grape.family,
        )


def _breadth(mention: Mention) -> tuple[int, int]:
    entry = mention.of("origin")
    country = entry is not None and entry.term.casefold() == entry.family.casefold()
    return (1 if country else 0, mention.first)


def read_identity(parsed: Parsed, *, own: frozenset[str] = frozenset()) -> list[Reading]:
    """Identity readings of a phrase of stage identity; elsewhere only "orange wine" and the like, and "this
    Chinon" where the wine was given no name (`own`)."""
    if parsed.phrase.stage == "identity":
        guess = any(True for _ in parsed.line.spans(_GUESS))
        places, codes = list(_position(parsed)), list(_code(parsed))
        codes = [
            r for r in codes if r.value not in [str(p.value) for p in places]
        ]  # "sample six, so number six"
        return [
            *places, *codes, *_vintage(parsed), *_lexicon_identity(parsed, guess=guess),
            *read_names(parsed, guess=guess),
        ]  # fmt: skip
    passing = [*_named_in_passing(parsed)] if not own else []
    if parsed.phrase.stage in ("appearance", "nose", "palate"):
        return [*passing, *_colour_named(parsed), *_style_named(parsed)]
    return passing


def _named_in_passing(parsed: Parsed) -> Iterator[Reading]:
    """ "this Chinon has strawberry", "full for a Muscadet": of a wine that was given no name."""
    for mention in parsed.mentions:
        if in_passing(parsed.tokens, mention) != "this":
            continue
        for kind, field in (("origin", "wine.origin"), ("grape", "wine.grapes")):
            entry = mention.of(kind)
            if entry and _meant(parsed, mention, entry):
                yield parsed.reading(
                    field,
                    entry.term,
                    first=mention.first,
                    last=mention.last,
                    family=entry.family,
                    rule="in passing",
                )
                break


def _meant(parsed: Parsed, mention: Mention, entry: Entry | None) -> bool:
    """Whether an ordinary word that is also a place or a grape ("orange", "noble") is meant as one:
    alone between pauses, or behind "from"."""
    if entry is None:
        return False
    said = " ".join(t.text for t in parsed.tokens[mention.first : mention.last])
    if not entry.data.get("risky") and said not in entry.data.get("ambiguous", ()):
        return True
    before = parsed.tokens[mention.first - 1] if mention.first else None
    alone = (before is None or bool(before.pause)) and bool(
        parsed.tokens[mention.last - 1].pause or mention.last == len(parsed.tokens)
    )
    return alone or (before is not None and before.text in ("from", "in", "of"))


def _of_wine(parsed: Parsed, mention: Mention) -> bool:
    """ "still wine", "a still red"; "still there" says nothing of the style."""
    then = parsed.tokens[mention.last].text if mention.last < len(parsed.tokens) else ""
    return then in ("wine", "wines", "white", "red", "rose") or bool(parsed.tokens[mention.last - 1].pause)


def _style_named(parsed: Parsed) -> Iterator[Reading]:
    """ "sparkling, fine beads", "it's a fizz": a clause of its own; "sparkling clarity" is no style."""
    for mention in parsed.mentions:
        style = mention.of("style")
        if style and style.term != "still":
            first, last = parsed.clause_at(mention.first)
            around = {
                t.text for t in (*parsed.tokens[first : mention.first], *parsed.tokens[mention.last : last])
            }
            if around <= _BESIDE_STYLE:
                yield parsed.reading("wine.style", style.term, first=mention.first, last=mention.last)


def _a_rose(parsed: Parsed, place: int) -> bool:
    """Whether "rosé" at a place names the glass ("a pale rosé", "for a rosé"): written so it is a noun, where
    "white" and "red" need their "wine". Not one that it is compared with ("like a rosé")."""
    if not parsed.tokens[place].accented:
        return False
    first, _ = parsed.clause_at(place)
    before = [t.text for t in parsed.tokens[max(first, place - 4) : place]]
    articles = [i for i, text in enumerate(before) if text in _ARTICLES]
    return bool(articles) and not _COMPARED & set(before[: articles[-1]][-1:])


def _colour_named(parsed: Parsed) -> Iterator[Reading]:
    for mention in parsed.mentions:
        colour = mention.of("colour")
        then = parsed.tokens[mention.last].text if mention.last < len(parsed.tokens) else ""
        before = parsed.tokens[mention.first - 1].text if mention.first else ""
        named = then == "wine" or parsed.tokens[mention.last - 1].text == "wine"
        if colour and not named and colour.term == "rosé" and _a_rose(parsed, mention.first):
            yield parsed.reading("wine.colour", colour.term, first=mention.first, last=mention.last)
        if colour and named and before in ("a", "an", "is", "'s") and colour.term != "red":
            yield parsed.reading(
                "wine.colour", colour.term, first=mention.first, last=mention.last + (then == "wine")
            )
