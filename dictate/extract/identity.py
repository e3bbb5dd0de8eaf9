"""Who the wine is: position, code, producer, name, origin, grapes, vintage, colour, style."""

from __future__ import annotations

from collections.abc import Iterator

from dictate.extract.parsed import Parsed
from dictate.language.mentions import Mention
from dictate.language.numbers import Number
from dictate.language.patterns import compile_any
from dictate.values import Reading

_POSITION = frozenset(["number", "wine", "no", "position"])
_CODED = ("code", "coded")  # of "sample twelve, code B six" the code
_CODE = frozenset(["code", "glass", "sample", "bag", "decanter", "coded", "flask"])
_GUESS = compile_any(["thinks", "could be", "might be", "i 'd guess|say", "my guess", "not going to guess", "maybe|perhaps", "may be", "guessing", "i 'd go", "my money", "if i had to"])
_PRODUCER = compile_any(
    [
        "the? producer|grower|maker|estate|winery|house|domaine is|was|'s|called", "producer|grower|maker",
        "made|grown|bottled by", "by", "the? label says|reads|is|'s", ", of the?", "from the? house|estate|cellars|cellar|people at|of", "from",
    ]
)  # fmt: skip
_NAME = compile_any(["the? cuvée|cuvee|bottling|label|wine called|named|is|'s", "called|named", "the? cuvée|cuvee|bottling"])
_ESTATE = frozenset(
    "quinta chateau château domaine weingut bodega bodegas cantina tenuta castello estate vineyard vineyards cellars"
    " winery wines cave caves clos mas cascina azienda podere finca hacienda casa schloss villa maison fattoria"
    " kellerei herdade adega celler vina farm hill ridge creek brothers sons".split()
)
_LABEL = frozenset(
    "gran grand reserva reserve riserva crianza joven cru classico superiore brut extra vin vino jaune spatlese auslese"
    " kabinett trocken halbtrocken premier villages spumante superior cuvee vintage nv blanc rouge rosso bianco tinto"
    " blanco dolce secco tardive vendanges selection old vines vieilles vignes the last one rare".split()
)
_SMALL = frozenset(["of", "and", "da", "de", "do", "di", "del", "della", "the", "la", "le", "von", "van", "du", "des", "&", "y", "e", "et", "dos", "das", "am", "auf", "los", "las", "el", "den", "der"])
_NOT_NAMES = frozenset(
    "next wine number the a an is it it's this that so right okay ok and last one first now here we have from with of"
    " vintage code glass blind still red white producer's i".split()
)


def _pause_before(parsed: Parsed, place: int) -> bool:
    return place == 0 or bool(parsed.tokens[place - 1].pause)


def _position(parsed: Parsed) -> Iterator[Reading]:
    for number in parsed.numbers:
        if number.kind == "year" or number.value > 999 or number.value < 1 or number.value != int(number.value):
            continue
        before = parsed.tokens[number.first - 1].text if number.first else ""
        then = [t.text for t in parsed.tokens[number.last : number.last + 2]]
        # "the fourth wine", but "the second wine of the estate" is a lesser label
        if number.kind == "ordinal" and then[:1] in (["wine"], ["glass"]) and then[1:] not in (["of"], ["from"]):
            yield parsed.reading("wine.position", int(number.value), first=number.first, last=number.last + 1, scope="said")
            return
        if before in _POSITION and not parsed.tokens[number.first - 1].pause:
            yield parsed.reading(
                "wine.position", int(number.value), first=number.first - 1, last=number.last, scope="said"
            )
            return


def _number_from(parsed: Parsed, place: int) -> Number | None:
    return next((n for n in parsed.numbers if n.first == place), None)


def _code(parsed: Parsed) -> Iterator[Reading]:
    """ "glass B seven" -> "B7"; "code K forty four" -> "K44"; "sample twelve" -> "12"."""
    places = [p for p, t in enumerate(parsed.tokens[:-1]) if t.text in _CODE and not t.pause]
    for place in sorted(places, key=lambda p: parsed.tokens[p].text not in _CODED):
        at = place + 1
        if parsed.tokens[at].text in ("is", "number", "'s"):
            at += 1
        text = ""
        while at < len(parsed.tokens) and len(text) < 6:
            piece = parsed.tokens[at].text
            number = _number_from(parsed, at)
            if number and number.value == int(number.value):
                text += str(int(number.value))
                at = number.last
            elif len(piece) == 1 and piece.isalpha() and piece not in ("a", "i") or (piece == "a" and not text and _number_from(parsed, at + 1)):
                text += piece.upper()
                at += 1
            else:
                break
            if parsed.tokens[at - 1].pause:
                break
        if text:
            yield parsed.reading("wine.code", text, first=place, last=at, scope="said")
            return


def _vintage(parsed: Parsed) -> Iterator[Reading]:
    for a, b in parsed.line.spans(compile_any(["non vintage", "nv", "n v", "no vintage", "multi vintage"])):
        yield parsed.reading("wine.vintage", "NV", first=a, last=b, scope="said")
        return
    for number in parsed.numbers:
        if number.kind == "year" and number.value <= 2100 and number.value == int(number.value):
            yield parsed.reading("wine.vintage", int(number.value), first=number.first, last=number.last, scope="said")
            return


def _lexicon_identity(parsed: Parsed) -> Iterator[Reading]:
    guess = any(True for _ in parsed.line.spans(_GUESS))
    origins = [m for m in parsed.mentions if m.of("origin")]
    for mention in parsed.mentions:
        grape, style, colour = mention.of("grape"), mention.of("style"), mention.of("colour")
        # naming a wine compares it with nothing ("the last one, Sauternes"): only a denial counts
        denied = parsed.scope(mention.first, mention.last).scope == "denied"
        scope, rule = ("doubtful", "guess") if guess else ("denied" if denied else "said", "")
        if grape and not mention.of("origin"):
            yield parsed.reading("wine.grapes", grape.term, first=mention.first, last=mention.last, scope=scope, rule=rule, family=grape.family)  # type: ignore[arg-type]
        if style:
            yield parsed.reading("wine.style", style.term, first=mention.first, last=mention.last, scope=scope, rule=rule)  # type: ignore[arg-type]
        if colour:
            yield parsed.reading("wine.colour", colour.term, first=mention.first, last=mention.last, scope=scope, rule=rule)  # type: ignore[arg-type]
    for mention in origins:
        yield from _grape_in_place(parsed, mention)
    # the narrowest place named: a country only where nothing else is
    ranked = sorted(origins, key=lambda m: _breadth(m))
    if ranked and not guess:
        mention = ranked[0]
        entry = mention.of("origin")
        assert entry is not None
        yield parsed.reading("wine.origin", entry.term, first=mention.first, last=mention.last, scope="said", family=entry.family)


def _grape_in_place(parsed: Parsed, mention: Mention) -> Iterator[Reading]:
    """ "Picpoul de Pinet", "Lambrusco di Sorbara": the place's name says the grape."""
    size = mention.last - mention.first
    if size < 3 or parsed.tokens[mention.first + 1].text not in ("de", "di", "d'", "du", "del", "von"):
        return
    grape = mention.of("grape") or next((e for e in parsed.first_word(mention) if e.kind == "grape"), None)
    if grape:
        yield parsed.reading("wine.grapes", grape.term, first=mention.first, last=mention.first + 1, scope="said", family=grape.family)


def _breadth(mention: object) -> tuple[int, int]:
    entry = mention.of("origin")  # type: ignore[attr-defined]
    country = entry.term.casefold() == entry.family.casefold()
    return (1 if country else 0, mention.first)  # type: ignore[attr-defined]


def _free(parsed: Parsed, first: int, last: int) -> tuple[int, int]:
    """The part of [first, last) before any lexicon place, grape, number or pause."""
    end = first
    busy = {p for m in parsed.mentions if m.of("origin") or m.of("grape") for p in range(m.first, m.last) if m.last - m.first > 1 or not _inside_name(parsed, m.first)}
    busy |= {p for n in parsed.numbers if n.kind == "year" for p in range(n.first, n.last)}
    while end < last and end not in busy:
        end += 1
        if parsed.tokens[end - 1].pause:
            break
    return first, end


def _inside_name(parsed: Parsed, place: int) -> bool:
    """A one-word place amid a name ("Quinta do Douro Velho") is part of the name."""
    return 0 < place < len(parsed.tokens) - 1 and not parsed.tokens[place].pause and _capital(parsed, place - 1) and _capital(parsed, place + 1)


def _capital(parsed: Parsed, place: int) -> bool:
    word = parsed.phrase.words[parsed.tokens[place].word].text.lstrip("\"'(")
    return word[:1].isupper()


def _producer(parsed: Parsed) -> Iterator[Reading]:
    for _, start in parsed.line.spans(_PRODUCER):
        end = next((b for a, b in parsed.clauses if a <= start < b), len(parsed.tokens))
        if start >= len(parsed.tokens) or (start and parsed.tokens[start - 1].pause == "."):
            continue
        if parsed.tokens[start - 1].pause and not _short_clause(parsed, start - 1):
            continue
        while start < end and parsed.tokens[start].text in ("a", "the", "is", "'s", "it", "called", "our", "someone", "producer", "grower"):
            start += 1
        first, last = _free(parsed, start, end)
        while last > first and parsed.tokens[last - 1].text in (*_SMALL, "in", "near", "at"):
            last -= 1
        if last > first and last - first <= 6:
            yield parsed.reading("wine.producer", parsed.text(first, last), first=first, last=last, scope="said")
            return
    yield from _named_by_capitals(parsed)


def _short_clause(parsed: Parsed, place: int) -> bool:
    """ "the producer, Heron and Rake": a comma said where a colon is meant."""
    first, last = next((c for c in parsed.clauses if c[0] <= place < c[1]), (place, place))
    return last - first <= 2


def _named_by_capitals(parsed: Parsed) -> Iterator[Reading]:
    """A clause all of capitals or with a word for an estate, that the lexicon does not know."""
    taken = {p for m in parsed.mentions if any(m.of(k) for k in ("grape", "origin", "style", "colour")) for p in range(m.first, m.last)}
    taken |= {p for n in parsed.numbers for p in range(n.first, n.last)}
    ranked = sorted(parsed.clauses, key=lambda c: (not any(t.text in _ESTATE for t in parsed.tokens[slice(*c)]), -c[0]))
    for first, last in ranked:
        while first < last and parsed.tokens[first].text in ("the", "a", "from", "and", "of"):
            first += 1
        tokens = parsed.tokens[first:last]
        estate = any(t.text in _ESTATE for t in tokens)
        if not tokens or tokens[0].text in _NOT_NAMES or len(tokens) > 6:
            continue
        if all(t.text in _LABEL for t in tokens):
            continue
        if set(range(first, last)) & taken and not (estate and len(tokens) > 2):
            continue
        capitals = all(_capital(parsed, p) or parsed.tokens[p].text in _SMALL for p in range(first, last))
        if capitals and (estate or (len(tokens) >= 2 and _capital(parsed, first))):
            yield parsed.reading("wine.producer", parsed.text(first, last), first=first, last=last, scope="said", rule="capitals")
            return


def _name(parsed: Parsed) -> Iterator[Reading]:
    for _, start in parsed.line.spans(_NAME):
        end = next((b for a, b in parsed.clauses if a <= start < b), len(parsed.tokens))
        first, last = _free(parsed, start, end)
        if last > first and last - first <= 5:
            yield parsed.reading("wine.name", parsed.text(first, last), first=first, last=last, scope="said")
            return


def read_identity(parsed: Parsed) -> list[Reading]:
    """Identity readings of a phrase of stage identity; elsewhere only "orange wine" and the like."""
    if parsed.phrase.stage == "identity":
        return [
            *_position(parsed), *_code(parsed), *_vintage(parsed), *_lexicon_identity(parsed),
            *_producer(parsed), *_name(parsed),
        ]  # fmt: skip
    if parsed.phrase.stage in ("appearance", "nose", "palate"):
        return list(_colour_named(parsed))
    return []


def _colour_named(parsed: Parsed) -> Iterator[Reading]:
    for mention in parsed.mentions:
        colour = mention.of("colour")
        then = parsed.tokens[mention.last].text if mention.last < len(parsed.tokens) else ""
        before = parsed.tokens[mention.first - 1].text if mention.first else ""
        if colour and then == "wine" and before in ("a", "an", "is", "'s") and colour.term != "red":
            yield parsed.reading("wine.colour", colour.term, first=mention.first, last=mention.last + 1)
