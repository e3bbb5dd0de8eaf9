"""What a word of degree is said of: the thing right behind it, or the one in front of "is"."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from dictate.extract.leveltable import Attribute
from dictate.extract.parsed import Parsed

# what a word of degree may be said of, that is measured by no table of its own
FOREIGN = frozenset(
    "fruit fruits oak spice perfume flavour flavours flavor flavors rim edge meniscus dosage".split()
)
_BETWEEN = frozenset("the a and with is 's are its um uh er erm".split())
_IS = frozenset("is 's are 're was were feels feel seems seem looks stays remains".split())
_LINKING = _IS | frozenset(
    "very quite rather fairly pretty really a bit touch little so too just still all".split()
)
_TANNIN, _DRY = frozenset(["tannin", "tannins", "grip"]), frozenset(["dry", "drier", "dryish"])
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
    starts = frozenset(first for first, _ in degrees)
    made = []
    for hit in best:
        own = hit.kind != "word" or hit.attribute is None or (hit.size > 1 and _holds(hit, found))
        subject = None if own else _subject(parsed, hit, nouns=nouns, degrees=starts)
        if subject is not None and not _may_tell(hit, nouns.get(subject)):
            degree = degrees.get((hit.first, hit.last))
            if degree is None or subject not in nouns:
                continue
            hit = degree
        made.append(hit)
    return made


def _holds(hit: Hit, found: Sequence[Hit]) -> bool:
    """ "full body": the thing stands in the word of degree itself."""
    return any(
        h.kind == "noun" and h.attribute is hit.attribute and hit.first <= h.first and h.last <= hit.last
        for h in found
    )


def _subject(
    parsed: Parsed, hit: Hit, *, nouns: Mapping[int, Attribute | None], degrees: frozenset[int]
) -> int | None:
    """The token of the thing that a word of degree is said of: in front of "is", or right behind it."""
    tokens = parsed.tokens
    place = hit.first - 1
    while place >= 0 and tokens[place].text in _LINKING and not tokens[place].pause:
        place -= 1
    linked = any(t.text in _IS for t in tokens[place + 1 : hit.first])
    if _dry_tannin(parsed, hit, place):
        return place
    thing = place >= 0 and not tokens[place].pause and (place in nouns or tokens[place].text in FOREIGN)
    if thing and linked:
        return place
    behind = hit.last if hit.last < len(tokens) and not tokens[hit.last - 1].pause else None
    if behind is not None and (behind in nouns or tokens[behind].text in FOREIGN):
        # "dry acidity medium": the acidity has its degree behind it
        return None if behind + 1 in degrees and not tokens[behind].pause else behind
    return place if thing and place == hit.first - 1 else None


def _dry_tannin(parsed: Parsed, hit: Hit, place: int) -> bool:
    """ "tannins a bit dry": no sugar is meant; in "high tannin very dry" the tannin has its degree."""
    tokens = parsed.tokens
    if hit.attribute is None or hit.attribute.name != "sweetness" or place < 0 or tokens[place].pause:
        return False
    leads = place == 0 or bool(tokens[place - 1].pause) or tokens[place - 1].text in _BETWEEN
    return leads and tokens[place].text in _TANNIN and tokens[hit.last - 1].text in _DRY


def _may_tell(hit: Hit, of: Attribute | None) -> bool:
    """Whether a word of one thing tells that thing though it is said of another: the finish is a place, and
    what is bitter or concentrated is so whatever is called it."""
    mine = hit.attribute
    if mine is None or mine is of:
        return True
    return mine.name in _OF_ANY or (of is not None and of.name in _PLACES)


def one_order(parsed: Parsed, hits: Sequence[Hit]) -> Iterator[tuple[int, int, list[Hit]]]:
    """Clauses as tokens [first, last), each with its hits. Where the recogniser put pauses between things and
    their degrees ("medium, acidity, high, tannin."), the run of them that goes by turns is one clause: only
    the whole tells which comes first."""
    by_clause: dict[tuple[int, int], list[Hit]] = {}
    for hit in hits:
        by_clause.setdefault(parsed.clause_at(hit.first), []).append(hit)
    run: list[tuple[int, int, list[Hit]]] = []
    for first, last in (*parsed.clauses, (0, 0)):
        mine = by_clause.get((first, last), []) if last else []
        told = {place for hit in mine for place in range(hit.first, hit.last)}
        rest = {t.text for place, t in enumerate(parsed.tokens[first:last], first) if place not in told}
        if mine and rest <= _BETWEEN and all(hit.kind in ("noun", "scale") for hit in mine):
            run.append((first, last, mine))
            continue
        yield from _as_one(run)
        run = []
        if last:
            yield first, last, mine


def _as_one(run: Sequence[tuple[int, int, list[Hit]]]) -> Sequence[tuple[int, int, list[Hit]]]:
    hits = [hit for _, _, mine in run for hit in mine]
    kinds = [hit.kind for hit in hits]
    turns = len(hits) >= 4 and len(hits) % 2 == 0 and all(a != b for a, b in pairwise(kinds))
    broken = any(len(mine) == 1 for _, _, mine in run)
    return [(run[0][0], run[-1][1], hits)] if turns and broken else run
