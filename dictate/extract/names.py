"""How the wine is called: its producer and its own name, by what stands before them or by capitals."""

from __future__ import annotations

from collections.abc import Iterator

from dictate.extract.parsed import Parsed
from dictate.language.patterns import compile_any
from dictate.values import Reading, Scope

_PRODUCER = compile_any(
    [
        "the? producer|grower|maker|estate|winery|house|domaine is|was|'s|called", "producer|grower|maker",
        "the? people|folks|guys|outfit|family are|is? called|named", "winery|estate|family|familie|famille",
        "made|grown|bottled by", "by", "the? label says|reads|is|'s", ", of the?",
        "from the? house|estate|cellars|cellar|people at|of",
        "from|by a|an|the|some|this * *? called|named", "from",
    ]
)  # fmt: skip
_IS_PRODUCER = compile_any(["is|are|'s|was the winery|producer|grower|estate|house|maker|makers|people"])
_NAME = compile_any(
    [
        "the? cuvée|cuvee|bottling|label|wine is|'s? called|named",
        "the? cuvée|cuvee|bottling|label|wine is|'s",
        "called|named",
        "the? cuvée|cuvee|bottling",
    ]
)
_ESTATE = frozenset(
    "quinta chateau domaine weingut bodega bodegas cantina tenuta castello estate vineyard"
    " vineyards cellars winery wines cave caves clos mas cascina azienda podere finca hacienda casa"
    " schloss villa maison fattoria kellerei herdade adega celler vina farm hill ridge creek brothers"
    " sons".split()
)
_LABEL = frozenset(
    "gran grand reserva reserve riserva crianza joven cru classico superiore brut extra vin vino jaune"
    " spatlese auslese kabinett trocken halbtrocken premier villages spumante superior cuvee vintage nv"
    " blanc rouge rosso bianco tinto blanco dolce secco tardive vendanges selection old vines vieilles"
    " vignes the last one rare".split()
)
_SMALL = frozenset(
    "of and da de do di del della the la le von van du des & y e et dos das am auf los las el den der".split()
)
_OWN_NAME = frozenset("winery estate family familie famille".split())
_MADE = frozenset("produced bottled crafted vinified imported fermented raised aged".split())
_TURNS = frozenset("the this that it they we i he she is it's".split())
_NOT_NAMES = frozenset(
    "next wine number the a an is it this that so right okay ok and last one first now here we have"
    " from with of vintage code glass blind still red white i".split()
)


def _free(parsed: Parsed, first: int, last: int) -> tuple[int, int]:
    """The part of [first, last) before any lexicon place, grape, number or pause."""
    end = first
    busy = {
        p
        for m in parsed.mentions
        if any(m.of(kind) for kind in ("origin", "grape", "producer", "wine"))
        for p in range(m.first, m.last)
        if m.last - m.first > 1 or not _inside_name(parsed, m.first)
    }
    busy |= {p for n in parsed.numbers if n.kind == "year" for p in range(n.first, n.last)}
    while end < last and end not in busy:
        end += 1
        if parsed.tokens[end - 1].pause:
            break
    return first, end


def _inside_name(parsed: Parsed, place: int) -> bool:
    """A one-word place amid a name ("Quinta do Douro Velho") is part of the name."""
    return (
        0 < place < len(parsed.tokens) - 1
        and not parsed.tokens[place].pause
        and _capital(parsed, place - 1)
        and _capital(parsed, place + 1)
    )


def _capital(parsed: Parsed, place: int) -> bool:
    word = parsed.phrase.words[parsed.tokens[place].word].text.lstrip("\"'(")
    return word[:1].isupper()


def read_known(parsed: Parsed, *, guess: bool) -> Iterator[Reading]:
    """Producers and wines that the lexicon knows (a taster's own words, a prepared list), spelt as
    there. Not where the same words are a place, a grape, a style or a colour; a `guess` is doubtful."""
    for mention in parsed.mentions:
        if any(mention.of(kind) for kind in ("grape", "origin", "style", "colour")):
            continue
        denied = parsed.scope(mention.first, mention.last).scope == "denied"
        scope: Scope = "doubtful" if guess else "denied" if denied else "said"
        for kind, field in (("producer", "wine.producer"), ("wine", "wine.name")):
            if entry := mention.of(kind):
                yield parsed.reading(
                    field, entry.term, first=mention.first, last=mention.last, scope=scope, rule="known name"
                )


def read_names(parsed: Parsed, *, guess: bool) -> list[Reading]:
    """The wine's producer and own name: those known, else by what stands before them or by capitals."""
    known = list(read_known(parsed, guess=guess))
    fields = {r.field for r in known}
    spans = [(r.first, r.last) for r in known]
    others = [*read_producer(parsed), *read_name(parsed)]
    houses = {r.value for r in others if r.field == "wine.producer"}  # "a crowd called Anemos Terrace"
    others = [r for r in others if r.field != "wine.name" or r.value not in houses]
    return known + [
        r for r in others
        if r.field not in fields and not any(r.first < last and first < r.last for first, last in spans)
    ]  # fmt: skip


def read_producer(parsed: Parsed) -> Iterator[Reading]:
    """The producer: behind "from", "made by" and the like; else what capitals or an estate's word name."""
    for _, start in parsed.line.spans(_PRODUCER):
        end = parsed.clause_end(start)
        end = next((p for p in range(start + 1, end - 1) if _turns(parsed, p)), end)
        if start >= len(parsed.tokens) or (start and parsed.tokens[start - 1].pause == "."):
            continue
        if parsed.tokens[start - 1].pause and not _short_clause(parsed, start - 1):
            continue
        bare = parsed.tokens[start - 1].text in _OWN_NAME and not _capital(parsed, start)
        if bare or (parsed.tokens[start - 1].text == "by" and _passive(parsed, start - 2)):
            continue
        while start < end and parsed.tokens[start].text in (
            "a",
            "the",
            "is",
            "'s",
            "it",
            "called",
            "our",
            "someone",
            "producer",
            "grower",
        ):
            start += 1
        first, last = _free(parsed, start, end)
        while last > first and parsed.tokens[last - 1].text in (*_SMALL, "in", "near", "at"):
            last -= 1
        if last > first and last - first <= 6:
            yield parsed.reading(
                "wine.producer", parsed.text(first, last), first=first, last=last, scope="said"
            )
            return
    behind = next(_named_behind(parsed), None)
    if behind is not None:
        yield behind
        return
    yield from _named_by_capitals(parsed)


def _named_behind(parsed: Parsed) -> Iterator[Reading]:
    """ "Two Kettles is the winery"."""
    for place, _ in parsed.line.spans(_IS_PRODUCER):
        first, last = parsed.clause_at(place)[0], place
        if 0 < last - first <= 5 and _capital(parsed, first):
            yield parsed.reading(
                "wine.producer", parsed.text(first, last), first=first, last=last, scope="said"
            )
            return


def _passive(parsed: Parsed, place: int) -> bool:
    """ "confused by the prickle" names nobody; "produced by Heron and Rake" does."""
    text = parsed.tokens[place].text if place >= 0 else ""
    return text.endswith("ed") and text not in _MADE


def _turns(parsed: Parsed, place: int) -> bool:
    """ "from Boot Hollow and the bottling is ...": another thing begins here."""
    return parsed.tokens[place].text in ("and", "but") and parsed.tokens[place + 1].text in _TURNS


def _short_clause(parsed: Parsed, place: int) -> bool:
    """ "the producer, Heron and Rake": a comma said where a colon is meant."""
    first, last = parsed.clause_at(place)
    return last - first <= 2


def _named_by_capitals(parsed: Parsed) -> Iterator[Reading]:
    """A clause all of capitals or with a word for an estate, that the lexicon does not know."""
    taken = {
        p
        for m in parsed.mentions
        if any(m.of(k) for k in ("grape", "origin", "style", "colour"))
        for p in range(m.first, m.last)
    }
    taken |= {p for n in parsed.numbers for p in range(n.first, n.last)}
    ranked = sorted(
        parsed.clauses, key=lambda c: (not any(t.text in _ESTATE for t in parsed.tokens[slice(*c)]), -c[0])
    )
    for first, last in ranked:
        while first < last and parsed.tokens[first].text in ("the", "a", "from", "and", "of"):
            first += 1
        tokens = parsed.tokens[first:last]
        estate = any(t.text in _ESTATE for t in tokens)
        if not tokens or tokens[0].text in _NOT_NAMES or len(tokens) > 6:
            continue
        if all(t.text in _LABEL for t in tokens):
            continue
        named = set(range(first, last))
        if named <= taken or (named & taken and not (estate and len(tokens) > 2)):
            continue  # "Dry Creek Valley" is a place
        capitals = all(_capital(parsed, p) or parsed.tokens[p].text in _SMALL for p in range(first, last))
        if capitals and (estate or (len(tokens) >= 2 and _capital(parsed, first))):
            yield parsed.reading(
                "wine.producer",
                parsed.text(first, last),
                first=first,
                last=last,
                scope="said",
                rule="capitals",
            )
            return


def read_name(parsed: Parsed) -> Iterator[Reading]:
    """The wine's own name, behind "called" or "cuvée", up to who made it."""
    for _, start in parsed.line.spans(_NAME):
        end = parsed.clause_end(start)
        end = next((p for p in range(start + 1, end) if parsed.tokens[p].text in ("from", "by")), end)
        first, last = _free(parsed, start, end)
        if first < len(parsed.tokens) and parsed.tokens[first].text in _NOT_NAMES - _SMALL - {"last", "old"}:
            continue  # "next wine is number eight"
        if last > first and last - first <= 5:
            yield parsed.reading("wine.name", parsed.text(first, last), first=first, last=last, scope="said")
            return
