"""Levels: words of degree bound to the thing they measure, clause by clause."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import replace

from dictate.extract.leveltable import Attribute, LevelTable
from dictate.extract.parsed import Context, Parsed
from dictate.extract.said_of import FOREIGN, Hit, of_the_noun, one_order
from dictate.extract.selfrepair import SELF_REPAIR
from dictate.extract.strengths import strengths_behind
from dictate.extract.topics import NIL, commented, denied_things, names_a_stranger, says_none, topic_of
from dictate.values import Reading, Scope

NONE = "none"  # a rule: how "tannin? None." and "no tannin" were read
_NEGATORS = frozenset(
    ["not", "isn't", "aren't", "doesn't", "don't", "can't", "no", "won't", "never", "hardly", "barely",
     "scarcely", "without", "wasn't", "zero", "nothing", "anything", "cannot", "none", "nil",
     "neither", "nor", "far", "nowhere", "didn't"]
)  # fmt: skip
_TASTED = frozenset(
    ["sweet", "dry", "sharp", "hot", "bitter", "sour", "light", "heavy", "tart", "warm", "soft"]
)
_STRENGTHS = frozenset(["strong", "faint", "delicate"])  # "faint smoke": the smoke's, not the nose's
_AROUND = 8  # hits to either side of one that may be of its clause's order of speaking
_NAMING = frozenset(["descriptor", "texture", "origin", "grape", "fault"])
_ADVERBS = frozenset(["very", "really", "quite", "rather", "fairly", "pretty"])
_NOT_OF_TEN = frozenset(
    ["alcohol", "length", "sweetness"]
)  # "alcohol nine" is by volume, "length nine" seconds
_ARTICLES = frozenset(["a", "an"])
_DEGREES = frozenset("that medium moderate average".split())
_LINKS = frozenset("'s is at a an are about around say".split())
_OUT_OF = (("out", "of"), ("on",), ("over",), ("of",))
_TO = (("to",), ("or",), ("going", "on"), ("verging", "on"), ("or", "even"))  # from one degree to another
_NOT_DEPTH = frozenset("bubble bubbles bead beads legs tears sediment deposit crystals foam sized".split())
# comparatives that are of one thing only
_STEPS = {
    "body": frozenset(["fuller", "heavier"]),
    "depth": frozenset(["deeper", "darker", "paler"]),
    "sweetness": frozenset(["sweeter"]),
    "length": frozenset(["longer", "shorter"]),
}
_STEPS_OF_ONE = frozenset(word for words in _STEPS.values() for word in words)
# words of degree that by themselves, on the palate, speak of the body
_OF_BODY = frozenset(["light", "full", "weight", "lighter", "fuller", "heavier"])


def _hits(parsed: Parsed, table: LevelTable) -> list[Hit]:
    stage, line = parsed.phrase.stage, parsed.line
    found: list[Hit] = []
    for attribute in table.attributes:
        if stage == "nose" and attribute.name == "flavour_intensity":
            continue
        if stage == "palate" and attribute.name == "intensity":
            continue
        found += [Hit(a, b, "noun", attribute=attribute) for a, b in line.spans(attribute.nouns)]
        named = [a for a, _ in line.spans(attribute.nouns)]
        clauses = {parsed.clause_at(place) for place in named}
        anywhere = stage in attribute.stages and (named or not attribute.bound)
        # "finish long" in a chain of the palate: named, its adjectives count in that clause
        if anywhere or clauses:
            for value, pattern in attribute.words:
                found += [
                    Hit(a, b, "word", value, attribute)
                    for a, b in line.spans(pattern)
                    if anywhere or parsed.clause_at(a) in clauses
                ]
    for kind, valued in (("scale", table.scale), ("quantity", table.quantity), ("step", table.step)):
        for value, pattern in valued:
            for a, b in line.spans(pattern):
                of_body = stage == "palate" and kind == "scale" and parsed.said_within(a, b, texts=_OF_BODY)
                found.append(Hit(a, b, kind, value, default="body" if of_body else ""))
    found += _figures(parsed, [h for h in found if h.kind == "noun"])
    best = _understated(parsed, of_the_noun(parsed, _best(parsed, found), found=found), table)
    return _ranges(parsed, best)


def _understated(parsed: Parsed, hits: Sequence[Hit], table: LevelTable) -> list[Hit]:
    """ "hardly sweet", "not that high": the words in front turn the degree."""
    ends = {last: (first, one) for one in table.understated for first, last in parsed.line.spans(one.said)}
    made = []
    for hit in hits:
        if hit.kind in ("word", "scale") and hit.first in ends:
            first, one = ends[hit.first]
            if not any(t.pause for t in parsed.tokens[first : hit.first]):
                hit = replace(hit, first=first, value=one.of(hit.value, hit.attribute))
        made.append(hit)
    return made


def _ranges(parsed: Parsed, hits: Sequence[Hit]) -> list[Hit]:
    """ "between medium and full", "medium plus to high": two degrees of one thing make their middle."""
    made: list[Hit] = []
    for hit in hits:
        last = made[-1] if made else None
        degrees = last and hit.kind in ("scale", "word") and last.kind in ("scale", "word")
        if last and degrees and (last.attribute is hit.attribute or not (last.attribute and hit.attribute)):
            link = tuple(t.text for t in parsed.tokens[last.last : hit.first])
            apart = any(t.pause for t in parsed.tokens[last.last - 1 : hit.first])
            between = last.first > 0 and parsed.tokens[last.first - 1].text == "between"
            if not apart and (link in _TO or (link == ("and",) and between)):
                worded = last if last.attribute else hit
                middle = round((last.value + hit.value) / 2, 2)
                made[-1] = replace(worded, first=last.first, last=hit.last, value=middle)
                continue
        made.append(hit)
    return made


def _figures(parsed: Parsed, nouns: Sequence[Hit]) -> list[Hit]:
    """Levels in figures: "intensity seven out of ten", and "acidity seven" said right behind the noun."""
    found = []
    for number, scale in zip(parsed.numbers, (*parsed.numbers[1:], None), strict=False):
        between = tuple(t.text for t in parsed.tokens[number.last : scale.first]) if scale else ()
        if scale and between in _OUT_OF and scale.value in (5, 10, 100) and number.value <= scale.value:
            found.append(Hit(number.first, scale.last, "scale", 10 * number.value / scale.value))
            continue
        start = number.first
        while start > 0 and parsed.tokens[start - 1].text in _LINKS and not parsed.tokens[start - 1].pause:
            start -= 1  # "acid's a six", "tannin about an eight"
        noun = next((n for n in nouns if n.last == start), None)
        of_ten = parsed.said_within(start, number.first, texts=_ARTICLES)  # "sweetness about a four"
        attribute = noun.attribute if noun is not None else None
        named = attribute is not None and (of_ten or attribute.name not in _NOT_OF_TEN)
        ends = number.last == len(parsed.tokens) or bool(parsed.tokens[number.last - 1].pause)
        plain = number.kind == "cardinal" and number.use in ("", "count")
        if named and ends and plain and number.value <= 10:
            found.append(Hit(number.first, number.last, "scale", number.value))
    return found


def _shadowed(parsed: Parsed, hit: Hit) -> bool:
    """Part of a longer lexicon word ("bitter orange"), or a taste or strength before one ("sweet cherry")."""
    around = parsed.mention_at.get(hit.first)
    wider = around is not None and hit.last <= around.last and around.last - around.first > hit.size
    if around and wider and any(e.kind in _NAMING for e in around.entries):
        return True
    over = parsed.mention_at.get(hit.last - 1)
    if over and hit.first < over.first and over.last > hit.last and over.of("descriptor"):
        return True  # "a bit bitter orange"
    behind = parsed.mention_at.get(hit.last)
    smelt = parsed.phrase.stage == "nose"
    degree = hit.kind == "word" or (smelt and hit.kind == "scale")
    if degree and behind and behind.first == hit.last and behind.of("descriptor"):
        *adverbs, token = parsed.tokens[hit.first : hit.last]
        told = _STRENGTHS if smelt else _TASTED
        return token.text in told and not token.pause and all(t.text in _ADVERBS for t in adverbs)
    return False


def _best(parsed: Parsed, found: list[Hit]) -> list[Hit]:
    """Non-overlapping hits: the longest first, an attribute's own word before a bare degree."""
    rank = {"word": 0, "noun": 1, "step": 2, "quantity": 3, "scale": 4}
    taken: list[Hit] = []
    places: set[int] = set()
    for hit in sorted(found, key=lambda h: (-h.size, rank[h.kind], h.first)):
        span = range(hit.first, hit.last)
        if places.isdisjoint(span) and not _shadowed(parsed, hit):
            taken.append(hit)
            places.update(span)
    return sorted(taken, key=lambda h: h.first)


def _nearest_noun(nouns: Sequence[Hit], hit: Hit, *, degrees: Sequence[Hit]) -> list[Hit]:
    """The noun a word of degree belongs to: with one order of speaking all along a clause, but
    "the acid is high for so low an alcohol": a noun that has its degree takes no second one."""
    noun_first = nouns[0].first < degrees[0].first
    before = [n for n in nouns if n.last <= hit.first]
    after = [n for n in nouns if n.first >= hit.last]
    served = before and any(before[-1].last <= d.first < hit.first for d in degrees)
    if noun_first and before and not (served and after):
        return [before[-1]]
    if after:
        return [after[0]]
    return [before[-1]] if before else []


def _window(hit: Hit, clause: Sequence[Hit]) -> Sequence[Hit]:
    """The hits of a clause around one, so that a clause without end takes linear time."""
    at = bisect_left(clause, hit.first, key=lambda h: h.first)
    return clause[max(0, at - _AROUND) : at + _AROUND + 1]


def _bound(hit: Hit, clause: Sequence[Hit], focus: str, table: LevelTable, stage: str) -> list[Attribute]:
    nouns = [h for h in clause if h.kind == "noun"]
    degrees = [h for h in clause if h.kind in ("scale", "step")]
    if hit.kind == "quantity":
        near = [n for n in nouns if 0 <= n.first - hit.last <= 3]
        if near:
            return [n.attribute for n in near[:1] if n.attribute]
        focused = table.named(focus) if hit.value <= 1.2 and focus else None
        return [focused] if focused and not nouns else []
    if nouns and len(degrees) == 1:
        # "finish long, acidity medium plus": what has a word of its own needs no degree
        worded = {h.attribute.name for h in clause if h.kind == "word" and h.attribute}
        bare = [n.attribute for n in nouns if n.attribute and n.attribute.name not in worded]
        return bare or [n.attribute for n in nouns if n.attribute]
    if nouns:
        return [n.attribute for n in _nearest_noun(nouns, hit, degrees=degrees) if n.attribute]
    words = [h for h in clause if h.kind == "word" and h.attribute]
    name = words[-1].attribute.name if words and words[-1].attribute else focus
    if hit.kind == "scale" and (stage == "appearance" or focus == "length"):
        return []  # depth and length have words of their own: "the bubbles are big", "such a light wine"
    attribute = table.named(name or hit.default)
    return [attribute] if attribute else []


def _scope_of(parsed: Parsed, hit: Hit) -> tuple[Scope, str]:
    """Scope of a hit; a word that holds its own negator ("not shy") is no denial."""
    mark = parsed.scope(hit.first, hit.last)
    own = any(t.text in _NEGATORS for t in parsed.tokens[hit.first : hit.last])
    if mark.scope == "denied" and own:
        return "said", ""
    if mark.scope == "figurative":  # "like biting a lemon" is no lemon, but it is acid
        return "said", ""
    return mark.scope, mark.rule


class _Levels:
    """Reads one phrase's clauses in order; keeps focus and the last level of it."""

    def __init__(
        self, parsed: Parsed, table: LevelTable, context: Context, *, everyday: frozenset[str]
    ) -> None:
        self.parsed, self.table, self.everyday = parsed, table, everyday
        self.focus, self.level, self.named = context.focus, context.level, context.named
        self.carried = context.level is not None  # the focus was told of in a phrase before
        self.readings: list[Reading] = []
        self.explicit: set[str] = set()
        self.topic: Attribute | None = None  # "tannin,": what the clause before only named
        self.pending: Hit | None = None  # "light, the body": the thing comes after its degree

    def _say(self, attribute: Attribute, value: float, hit: Hit, first: int, last: int) -> None:
        scope, rule = _scope_of(self.parsed, hit)
        before = self.focus
        bare = hit.kind != "word" and (first, last) == (hit.first, hit.last)
        if not (bare and scope == "denied" and rule != SELF_REPAIR):  # "not that high": of nothing named
            self.readings.append(
                self.parsed.reading(attribute.field, value, first=first, last=last, scope=scope, rule=rule)
            )
        if scope == "said" or rule == SELF_REPAIR:  # "pale, no, deeper than that" builds on "pale"
            self.focus, self.level, self.carried = attribute.name, value, False
        else:  # "it should be full bodied, but it's medium": still of the body
            self.focus, self.level = attribute.name, None
        self.named = self.named and self.focus == before

    def _of_a_stranger(self, hit: Hit, hits: Sequence[Hit]) -> bool:
        """ "hardly any tan in", "tenor low": of a thing that no table knows, not of what was named before."""
        if any(h.kind in ("noun", "word") for h in hits):
            return False
        first, last = self.parsed.clause_at(hit.first)
        place = hit.last if hit.kind == "quantity" else first
        if not first <= place < last or any(h.first <= place < h.last for h in hits):
            return False
        text = self.parsed.tokens[place].text
        if text in FOREIGN:
            return True  # "not much fruit left"
        if hit.kind == "step" and hit.last in self.parsed.mention_at and not self.parsed.tokens[place].pause:
            return True  # "a bit more cherry"
        return text.isalpha() and text not in self.everyday and place not in self.parsed.mention_at

    def _stepped(self, hit: Hit, attribute: Attribute) -> float | None:
        """The level that a comparative moves to; None where it is of another thing."""
        if self.level is None or attribute.name != self.focus:
            return None
        of_one = self.parsed.said_within(hit.first, hit.last, texts=_STEPS_OF_ONE)
        own = _STEPS.get(attribute.name, frozenset())
        if of_one and not self.parsed.said_within(hit.first, hit.last, texts=own):
            return None  # "acidity medium. Fuller.": of no acidity
        if self._beside_another(hit):
            return None  # "mid gold, a bit deeper than I thought"
        return min(10.0, max(0.0, self.level + hit.value))

    def _beside_another(self, hit: Hit) -> bool:
        """ "than I thought", "than the last": compared with another thing, not with what was said before."""
        tokens, place = self.parsed.tokens, hit.last
        follows = place + 1 < len(tokens) and tokens[place].text == "than" and not tokens[place - 1].pause
        return follows and tokens[place + 1].text not in _DEGREES

    def _without_degree(self, hits: Sequence[Hit], topic: Attribute | None, span: tuple[int, int]) -> None:
        """ "tannin? None." is the level none; "no tannin" denies it: no level, but listed as absent."""
        none = says_none(self.parsed, hits, topic=topic, span=span)
        if none:
            self.readings = [r for r in self.readings if (r.field, r.rule) != (none[0].field, NONE)]
            self._read(none[0], first=none[1], last=none[2], scope="said")
        for hit in denied_things(self.parsed, hits) if none is None else ():
            if hit.attribute:
                self._read(hit.attribute, first=hit.first, last=hit.last, scope="denied")

    def _read(self, attribute: Attribute, *, first: int, last: int, scope: Scope) -> None:
        self.readings.append(
            self.parsed.reading(attribute.field, 0.0, first=first, last=last, scope=scope, rule=NONE)
        )

    def clause(self, hits: Sequence[Hit], span: tuple[int, int]) -> None:
        topic, self.topic = self.topic, topic_of(self.parsed, hits, first=span[0], last=span[1])
        self._without_degree(hits, topic, span)
        if not hits and names_a_stranger(self.parsed, span):
            self.focus, self.level, self.named = "", None, False  # "fruit? Not much.": not of the nose
        pending, self.pending = self.pending, None
        nouns = [h for h in hits if h.kind == "noun" and h.attribute]
        if pending and nouns and len(nouns) == len(hits):
            for named in nouns:  # "medium, body and alcohol"
                if named.attribute:
                    self._say(named.attribute, pending.value, pending, pending.first, named.last)
            self.pending = pending
        if (
            pending and hits and all(h.kind == "step" for h in hits)
        ):  # "medium, no, a bit higher, the acidity"
            moved = pending.value + sum(h.value for h in hits)
            by = hits[-1]
            self.pending = replace(pending, value=min(10.0, max(0.0, moved)), first=by.first, last=by.last)
        for hit in hits:
            if hit.kind == "noun" and hit.attribute:
                if hit.attribute.name != self.focus:
                    self.focus, self.level = hit.attribute.name, None
                self.named, self.carried = True, False
                continue
            if hit.kind == "word" and hit.attribute:
                if hit.attribute.name in self.explicit and hit.attribute.name != "body":
                    continue  # "alcohol is very high, and it burns a little": the degree said holds
                self._say(hit.attribute, hit.value, hit, hit.first, hit.last)
                continue
            around = _window(hit, hits)
            told = hit.kind == "quantity" and commented(self.parsed, hit, hits=around, topic=topic, span=span)
            if told:
                self._say(told, hit.value, hit, hit.first, hit.last)
                continue
            if self._of_a_stranger(hit, around):
                self.focus, self.level, self.named = "", None, False
                continue
            # "dry. Medium plus.": nobody calls sweetness so that did not name it
            loose = hit.kind == "scale" and self.focus == "sweetness" and not self.named
            new = hit.default and self.carried  # "such a light wine", a breath behind "the acidity is low"
            focus = "" if loose or new else self.focus
            attributes = _bound(hit, around, focus, self.table, self.parsed.phrase.stage)
            if hit.kind == "scale" and (not attributes or hit.default):
                self.pending = hit
            for attribute in attributes:
                mine = [h for h in around if h.kind == "noun" and h.attribute is attribute]
                noun = min(mine, key=lambda n: abs(n.first - hit.first), default=None)
                value = self._stepped(hit, attribute) if hit.kind == "step" else hit.value
                if value is None:
                    continue
                if noun:
                    self.explicit.add(attribute.name)
                first = min(hit.first, noun.first) if noun else hit.first
                last = max(hit.last, noun.last) if noun else hit.last
                self._say(attribute, value, hit, first, last)


def read_levels(
    parsed: Parsed, table: LevelTable, *, context: Context, everyday: frozenset[str]
) -> tuple[list[Reading], Context]:
    """Level readings of one phrase in order of speech (the last said of a field holds), and the
    context for the next phrase. `everyday`: words that name no thing. Phrases of stage
    identity, aside and cue give none."""
    if parsed.phrase.stage in ("identity", "aside", "cue"):
        return [], context
    told = strengths_behind(parsed, table=table).values()
    busy = {place for one in told for place in range(one.first, one.last)}
    hits = [h for h in _hits(parsed, table) if h.first not in busy]  # "smoke, faint": not the nose
    state = _Levels(parsed, table, context, everyday=everyday)
    for first, last, mine in one_order(parsed, hits):
        if parsed.phrase.stage == "appearance" and parsed.said_within(first, last, texts=_NOT_DEPTH):
            continue
        lone = last - first == 1 and parsed.tokens[first].text not in NIL
        lone &= parsed.tokens[first].pause != "?"
        if mine or not lone:  # a lone "no," leaves what is waited for standing
            state.clause(mine, (first, last))
    return state.readings, Context(state.focus, state.level, context.values, state.named)
