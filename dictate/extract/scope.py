"""Scope first: which mentions are said of this wine, now, and which are denied, expected, past,
future, of another wine, doubtful, quoted or figurative. Rules are data (`scope.toml`); the reason
stays with the mention. Method after ConText (Harkema et al. 2009, J. Biomed. Inform. 42: 839-851)."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from dictate.extract.answers import RULE as ANSWERED
from dictate.extract.answers import answered_lists, said_once_more, trailing_nays
from dictate.extract.bare import RULE, SUFFIX, bare_denials, suffixed
from dictate.extract.others import RULE as NAMED
from dictate.extract.questions import ASKED, open_questions
from dictate.extract.selfrepair import repaired
from dictate.language.patterns import Line, compile_any
from dictate.language.tokens import Token, clauses_of
from dictate.values import Scope

# a later or weaker rule never overrides one of these for the same token
_STRENGTH: dict[Scope, int] = {
    "said": 0, "doubtful": 1, "figurative": 2, "future": 3, "expected": 3, "past": 4,
    "quoted": 4, "other": 5, "denied": 6,
}  # fmt: skip
_WAYS = (
    "forward",
    "onward",
    "backward",
    "clausebefore",
    "clause",
    "breath",
    "before",
    "both",
    "itself",
    "release",
    "pseudo",
)
_SHARED = re.compile(r"@(\w+)")  # a table of words that patterns share: "@see"
_OR = ("or", "nor")
_T = TypeVar("_T")
_WIDEST = 30  # tokens of the longest span that a pattern matches
_NEVER = 1 << 60  # a place behind all tokens
_FAR = 14  # tokens; further back nothing is meant
_TAILS = frozenset(
    "at here now to in it any anymore either this today all on really yet also for of though them"
    " altogether entirely completely totally sadly alas mercifully thankfully anywhere whatsoever myself"
    " so far tonight again unfortunately frankly i".split()
)
_LEADS = frozenset("and but well so no or though there it i they now still just".split())


@dataclass(frozen=True, slots=True)
class ScopeRule:
    """A named rule: what it makes of the tokens it reaches, and which way it reaches."""

    name: str
    scope: Scope
    way: str
    pattern: re.Pattern[str]
    example: str
    of: tuple[Scope, ...] = ()  # a release or pseudo rule: the scopes that it touches (none: all)


@dataclass(frozen=True, slots=True)
class Mark:
    """The scope of one token, and the rule that gave it."""

    scope: Scope = "said"
    rule: str = ""


_OTHER_NAME = ScopeRule(NAMED, "other", "breath", compile_any(()), "the Barolo had [violets]")


def scope_rules(data: Mapping[str, Any]) -> tuple[ScopeRule, ...]:
    """The plain data of `scope.toml` compiled. Raises KeyError or ValueError on a malformed rule."""
    words: Mapping[str, str] = data.get("words", {})
    rules = []
    for rule in data["rule"]:
        if rule["way"] not in _WAYS or rule["scope"] not in _STRENGTH:
            raise ValueError(f"scope.toml: {rule['id']}: unknown way or scope")
        rules.append(
            ScopeRule(
                rule["id"],
                rule["scope"],
                rule["way"],
                compile_any([_SHARED.sub(lambda m: words[m[1]], p) for p in rule["patterns"]]),
                rule["example"],
                tuple(rule.get("of", ())),
            )
        )
    return tuple(rules)


class _Marks:
    def __init__(self, tokens: Sequence[Token]) -> None:
        self.tokens = tokens
        self.marks = [Mark() for _ in tokens]
        self._weaker: dict[int, list[int]] = {}  # by strength: the next place that may hold a weaker mark

    def put(self, first: int, last: int, *, rule: ScopeRule) -> None:
        """Marks tokens [first, last) that hold a weaker scope; what was found as strong once is passed
        over ever after (union-find), so that long reaches of many rules stay linear."""
        strength = _STRENGTH[rule.scope]
        ahead = self._weaker.setdefault(strength, list(range(len(self.marks) + 1)))
        place, mark = _find(ahead, max(0, first)), Mark(rule.scope, rule.name)
        while place < min(last, len(self.marks)):
            if strength > _STRENGTH[self.marks[place].scope]:
                self.marks[place] = mark
            ahead[place] = place + 1
            place = _find(ahead, place)


def _find(ahead: list[int], place: int) -> int:
    """The first place from here on that is not passed over; paths are halved on the way."""
    if place >= len(ahead):
        return place
    while ahead[place] != place:
        ahead[place] = ahead[ahead[place]]
        place = ahead[place]
    return place


class _Clauses:
    """Tokens, and where the clause of each begins and ends."""

    def __init__(self, tokens: Sequence[Token]) -> None:
        self.tokens = tokens
        self._ends = [end for _, end in clauses_of(tokens)]
        self._starts = [0, *self._ends]

    def end(self, place: int) -> int:
        """The first token behind the clause of `place`."""
        at = bisect_right(self._starts, place) - 1
        return self._ends[at] if at < len(self._ends) else len(self.tokens)

    def start(self, place: int) -> int:
        """The first token of the clause of `place`."""
        return self._starts[bisect_right(self._starts, min(place, len(self.tokens) - 1)) - 1]


def _list_end(clauses: _Clauses, place: int) -> int:
    """The end of a denied list: "no oak, vanilla or toast" goes on to "toast"; "no oak, lovely
    fruit" ends at "oak". It goes on over commas only when an "or" closes the list."""
    tokens, end = clauses.tokens, clauses.end(place)
    reach = end
    while reach < len(tokens) and tokens[reach - 1].pause == ",":
        nxt = clauses.end(reach)
        if nxt - reach > 4:
            break
        if any(t.text in _OR for t in tokens[reach:nxt]):
            return nxt
        reach = nxt
    return end


def _reach(clauses: _Clauses, first: int, last: int, rule: ScopeRule, stop: int) -> tuple[int, int]:
    """The token span that a rule matched at [first, last) reaches."""
    if rule.way == "backward":
        return 0, first
    if rule.way == "clausebefore":
        return clauses.start(first), last
    if rule.way == "clause":
        return clauses.start(first), clauses.end(last - 1)
    if rule.way == "before":
        return 0, first
    if rule.way == "itself":
        return first, last
    if rule.way == "both":
        start = clauses.start(first)
        if first - start <= 2 and start > 0:  # ", I wouldn't swear to it": of the clause before
            start = clauses.start(start - 1)
        return start, clauses.end(last - 1)
    tokens = clauses.tokens
    already_over = bool(tokens[last - 1].pause) and rule.scope == "denied"
    if rule.way == "forward":
        end = last if already_over else _list_end(clauses, last)
    elif rule.way == "onward":
        end = len(tokens)
    else:  # breath
        end = len(tokens)
        first = clauses.start(first)
    return (first if rule.way == "breath" else last), min(stop, end)


def _next(places: Sequence[int], place: int) -> int:
    """The first of some places, in order, from one on; beyond all tokens where there is none."""
    at = bisect_left(places, place)
    return places[at] if at < len(places) else _NEVER


def _near(
    items: Sequence[_T], first: int, *, last: int, span: Callable[[_T], tuple[int, int]]
) -> Sequence[_T]:
    """Those of some items, in order of their spans, that may touch [first, last)."""
    low = bisect_left(items, first - _WIDEST, key=lambda i: span(i)[0])
    return items[low : bisect_left(items, last, key=lambda i: span(i)[0])]


def mark_scopes(
    tokens: Sequence[Token], rules: Sequence[ScopeRule], *, anchors: frozenset[int] = frozenset(),
    others: Sequence[tuple[int, int]] = (),
) -> tuple[Mark, ...]:  # fmt: skip
    """One mark a token; `others`: where another wine is called by its name. Pure; a phrase is one breath
    at most, so that a note takes linear time."""
    line = Line(tokens)
    marks, clauses = _Marks(tokens), _Clauses(tokens)
    spans = [(rule, span) for rule in rules for span in line.spans(rule.pattern)]
    spans += [(_OTHER_NAME, span) for span in others]
    excuses = sorted((span, rule.of) for rule, span in spans if rule.way == "pseudo")
    ahead = sorted(span for rule, span in spans if rule.way == "forward" and rule.scope == "denied")
    releases = [(span[0], rule.of) for rule, span in spans if rule.way == "release"]
    any_stops = sorted(place for place, of in releases if not of)
    own_stops = {scope: sorted(place for place, of in releases if scope in of) for scope in _STRENGTH}
    for rule, (first, last) in spans:
        if rule.way in ("pseudo", "release"):
            continue
        if any(
            ((a <= first and last <= b) or (first < b and a < last and b - a > last - first))
            and (not of or rule.scope in of)
            for (a, b), of in _near(excuses, first, last=last, span=lambda e: e[0])
        ):
            continue
        # "none of the oak" denies the oak, not what came before
        inside = any(a <= first and last < b for a, b in _near(ahead, first, last=last, span=lambda e: e))
        if rule.way == "backward" and (inside or not _ends_there(tokens, last)):
            continue
        # "I'd expect there is": what follows at once belongs to the rule, not to a new thought
        stops = (_next(any_stops, last), _next(own_stops[rule.scope], last + 1))
        start, end = _reach(clauses, first, last, rule, min(stops))
        if rule.way == "backward":
            start = _antecedent(clauses, marks.marks, first, anchors)
        marks.put(start, end, rule=rule)
    for first, _ in bare_denials(tokens, anchors):
        for at in range(_antecedent(clauses, marks.marks, first, anchors), first):
            marks.marks[at] = Mark("denied", RULE)
    for start, end in (*answered_lists(tokens, anchors), *trailing_nays(tokens, anchors)):
        marks.marks[start:end] = [Mark("denied", ANSWERED)] * (end - start)
    for place in suffixed(tokens, anchors):
        marks.marks[place] = Mark("denied", SUFFIX)
    denied = frozenset(place for place in anchors if marks.marks[place].scope == "denied")
    for start, end in said_once_more(tokens, denied):
        marks.marks[start:end] = [Mark("denied", ANSWERED)] * (end - start)
    for start, end, name in repaired(tokens):
        for at in range(start, end):
            if marks.marks[at].scope == "said":
                marks.marks[at] = Mark("denied", name)
    for start, end in open_questions(tokens):
        for at in range(start, end):
            if marks.marks[at].scope == "said":
                marks.marks[at] = Mark("doubtful", ASKED)
    return tuple(marks.marks)


def looks_back(tokens: Sequence[Token], rules: Sequence[ScopeRule]) -> str:
    """The rule by which a phrase begins with a denial of what was said before it ("... and there
    isn't any", "can't find it"), or "". A breath taken in mid-sentence parts the two."""
    line = Line(tokens)
    for rule in rules:
        if rule.way != "backward" or rule.scope != "denied":
            continue
        for first, last in line.spans(rule.pattern):
            led = all(t.text in _LEADS for t in tokens[:first])
            if led and _ends_there(tokens, last):
                return rule.name
    return ""


def _ends_there(tokens: Sequence[Token], last: int) -> bool:
    """ "there isn't any" looks back only where nothing follows that it could be said of."""
    if last >= len(tokens) or tokens[last - 1].pause:
        return True
    more = last + 1 < len(tokens) and not tokens[last].pause and tokens[last + 1].text not in _TAILS
    return tokens[last].text in _TAILS and not (tokens[last].text in ("any", "all") and more)


def _antecedent(clauses: _Clauses, marks: Sequence[Mark], place: int, anchors: frozenset[int]) -> int:
    """How far back "there isn't any" reaches: its own clause's beginning, or over clauses that only
    lead on ("given the level in the bottle") to the nearest with a thing in it (an anchor), and over
    all that was expected or remembered."""
    tokens, start = clauses.tokens, clauses.start(place)
    # "but lemon would be too strong a word": of its own thing
    named = bool(anchors.intersection(range(max(start, place - _FAR), place)))
    if place - start >= 1 and (named or tokens[start].text not in ("and", "but", "i", "there", "it", "they")):
        return start
    before = start
    while before > 0:
        previous = clauses.start(before - 1)
        span = range(previous, before)
        hoped = any(marks[p].scope in ("expected", "past") for p in span)
        found = bool(anchors.intersection(span))
        if (
            not hoped
            and before < start
            and any(marks[p].scope in ("expected", "past") for p in range(before, start))
        ):
            break  # all that was hoped for is passed
        if any(marks[p].scope == "denied" for p in span):
            break  # "not cloying, not a bit of it": said once more
        before = previous
        if found and not hoped:
            break  # the thing itself: "violet, I looked for it, absent"
        if not hoped and start - previous > _FAR:
            return clauses.start(start - 1) if start else 0
    return before
