"""A thing named first and its amount behind it ("tannin, loads", "acid: plenty", "bitterness? None."), and a
thing denied ("no tannin at all"). Topic and comment after Hockett (1958), A Course in Modern Linguistics."""

from __future__ import annotations

from collections.abc import Sequence

from dictate.extract.leveltable import Attribute
from dictate.extract.parsed import Parsed
from dictate.extract.said_of import FOREIGN, Hit
from dictate.language.fillers import HESITATIONS

_BESIDE = HESITATIONS | frozenset("the a and its it 's is as for to that now well so then on palate".split())
_COMMENT = frozenset(
    "of it them that there too yes yeah well oh really very pretty just i think in at all here is are 's"
    " again though thanks but and so quite definitely".split()
)
NIL = frozenset("none nil zero zilch nada nought nowt".split())
_NOTHING = (
    _COMMENT
    | NIL
    | frozenset(
        "whatsoever no nothing not any can could find see taste smell notice detect speak mention".split()
    )
)
_LIKED = frozenset("good lively fresh bright".split())
_DENYING = frozenset("no any zero without nor".split())
_ALWAYS_SOME = ("alcohol", "body")
_BACKWARD = ("there-isnt-any", "fronted", "bare-denial")
_BEHIND = frozenset("at whatsoever here to and or nor that of left there either but though i".split())
_MEASURED = "palate."  # the nose and the finish are places, not amounts


def topic_of(parsed: Parsed, hits: Sequence[Hit], *, first: int, last: int) -> Attribute | None:
    """What a clause [first, last) names and says nothing of: "tannin," """
    nouns = [h for h in hits if h.kind == "noun" and h.attribute]
    if len(nouns) != 1 or len(hits) != 1 or not _amount(nouns[0].attribute):
        return None
    rest = (t.text for p, t in enumerate(parsed.tokens[first:last], first) if not _in(nouns[0], p))
    return nouns[0].attribute if set(rest) <= _BESIDE else None


def commented(
    parsed: Parsed, hit: Hit, *, hits: Sequence[Hit], topic: Attribute | None, span: tuple[int, int]
) -> Attribute | None:
    """The thing whose amount a quantity tells from behind it: in the clause before (`topic`), or right
    before it in its own clause `span`. Nothing else stands in the clause."""
    first, last = span
    if parsed.tokens[hit.last - 1].text in _LIKED:
        return None  # "the acidity is good": no amount
    if topic is None:
        noun = next((h for h in hits if h.kind == "noun" and first <= h.first < hit.first), None)
        between = parsed.tokens[noun.last : hit.first] if noun else ()
        if noun is None or noun.attribute is None or not {t.text for t in between} <= _COMMENT:
            return None
        if len(hits) != 2 or not _amount(noun.attribute):
            return None
        topic, first = noun.attribute, noun.last
    rest = {t.text for p, t in enumerate(parsed.tokens[first:last], first) if not _in(hit, p)}
    return topic if rest <= _COMMENT else None


def names_a_stranger(parsed: Parsed, span: tuple[int, int]) -> bool:
    """Whether a clause only names a thing that has no level: "fruit?", "the oak,"."""
    first, last = span
    named = {p for p in range(first, last) if p in parsed.mention_at or parsed.tokens[p].text in FOREIGN}
    rest = {parsed.tokens[p].text for p in range(first, last) if p not in named}
    return 0 < len(named) <= 3 and parsed.tokens[last - 1].pause == "?" and rest <= _BESIDE


def says_none(parsed: Parsed, hits: Sequence[Hit], *, topic: Attribute | None, span: tuple[int, int]) -> (
    tuple[Attribute, int, int] | None
):  # fmt: skip
    """The thing, and the tokens, of a clause that answers "none" to the one before, or in itself ("tannin
    none")."""
    first, last = span
    nouns = [h for h in hits if h.kind == "noun"]
    if topic is None and len(nouns) == len(hits) == 1 and _amount(nouns[0].attribute):
        topic, first = nouns[0].attribute, nouns[0].last
    elif hits:
        return None
    texts = {t.text for t in parsed.tokens[first:last]}
    if topic is None or first >= last or not texts & NIL or not texts <= _NOTHING:
        return None
    return topic, first, last


def denied_things(parsed: Parsed, hits: Sequence[Hit]) -> list[Hit]:
    """Nouns of a clause without any word of degree that are denied: "no tannin to speak of"."""
    if any(h.kind != "noun" for h in hits):
        return []
    return [h for h in hits if _amount(h.attribute) and _is_denied(parsed, h)]


def _is_denied(parsed: Parsed, noun: Hit) -> bool:
    mark = parsed.scope(noun.first, noun.last)
    clause = range(*parsed.clause_at(noun.first))
    if noun.attribute and noun.attribute.name in _ALWAYS_SOME and mark.rule in _BACKWARD:
        return False  # "alcohol you don't notice"
    if mark.scope != "denied" or any(p in parsed.mention_at for p in clause if not _in(noun, p)):
        return False
    place = noun.last
    ends = place >= len(parsed.tokens) or bool(parsed.tokens[place - 1].pause)
    if not ends and parsed.tokens[place].text not in _BEHIND:
        return mark.rule in _BACKWARD
    before = parsed.tokens[noun.first - 1].text if noun.first else ""
    return before in _DENYING or mark.rule in _BACKWARD


def _amount(attribute: Attribute | None) -> bool:
    return attribute is not None and attribute.field.startswith(_MEASURED)


def _in(hit: Hit, place: int) -> bool:
    return hit.first <= place < hit.last
