"""What a word of degree is said of: the thing right behind it, or the one in front of "is"."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from dictate.extract.leveltable import Attribute
from dictate.extract.parsed import Parsed

# what a word of degree may be said of, that is measured by no table of its own
FOREIGN = frozenset("fruit fruits oak spice perfume flavour flavours flavor flavors".split())
_IS = frozenset("is 's are 're was were feels feel seems seem looks stays remains".split())
_LINKING = _IS | frozenset(
    "very quite rather fairly pretty really a bit touch little so too just still all".split()
)
_OF_ANY = frozenset(["bitterness", "flavour_intensity"])
_PLACES = frozenset(["length", "intensity"])  # the finish, the nose


@dataclass(frozen=True, slots=True)
class Hit:
    """A word of degree or a measurable thing at tokens [first, last)."""

    first: int
    last: int
    kind: str  # noun, word, scale, quantity, step
    value: float = 0.0
    attribute: Attribute | None = None
    default: str = ""  # what it measures where nothing near says

    @property
    def size(self) -> int:
        """How many tokens it is told in."""
        return self.last - self.first


def of_the_noun(parsed: Parsed, best: Sequence[Hit], *, found: Sequence[Hit]) -> list[Hit]:
    """A word of one thing said of another: "medium body and full tannin", "the alcohol is light" tell a
    degree of that; "the tannin is dry", "sweet fruit" tell nothing of sugar. `best`: hits that do not
    overlap; `found`: all of them."""
    degrees = {(h.first, h.last): h for h in found if h.kind in ("scale", "quantity")}
    nouns = {p: h.attribute for h in best if h.kind == "noun" for p in (h.first, h.last - 1)}
    made = []
    for hit in best:
        subject = _subject(parsed, hit, nouns) if hit.kind == "word" and hit.attribute else None
        if subject is not None and not _may_tell(hit, nouns.get(subject)):
            degree = degrees.get((hit.first, hit.last))
            if degree is None or subject not in nouns:
                continue
            hit = degree
        made.append(hit)
    return made


def _subject(parsed: Parsed, hit: Hit, nouns: Mapping[int, Attribute | None]) -> int | None:
    """The token of the thing that a word of degree is said of: right behind it, or in front of "is"."""
    tokens = parsed.tokens
    things = (
        *nouns,
        *(p for p in (hit.last, hit.last + 1) if p < len(tokens) and tokens[p].text in FOREIGN),
    )
    if hit.last in things and not tokens[hit.last - 1].pause:
        return hit.last
    place = hit.first - 1
    while place >= 0 and tokens[place].text in _LINKING and not tokens[place].pause:
        place -= 1
    linked = any(t.text in _IS for t in tokens[place + 1 : hit.first])
    thing = place >= 0 and not tokens[place].pause and (place in nouns or tokens[place].text in FOREIGN)
    return place if thing and (linked or place == hit.first - 1) else None


def _may_tell(hit: Hit, of: Attribute | None) -> bool:
    """Whether a word of one thing tells that thing though it is said of another: the finish is a place, and
    what is bitter or concentrated is so whatever is called it."""
    mine = hit.attribute
    if mine is None or mine is of:
        return True
    return mine.name in _OF_ANY or (of is not None and of.name in _PLACES)
