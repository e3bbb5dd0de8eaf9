"""Scope first: which mentions are said of this wine, now, and which are denied, expected, past,
future, of another wine, doubtful, quoted or figurative. Rules are data (`scope.toml`); the reason
stays with the mention. Method after ConText (Harkema et al. 2009, J. Biomed. Inform. 42: 839-851)."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from dictate.extract.answers import RULE as ANSWERED
from dictate.extract.answers import answered_lists
from dictate.extract.bare import RULE, bare_denials
from dictate.extract.selfrepair import repaired
from dictate.language.patterns import Line, compile_any
from dictate.language.tokens import Token
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
    "release",
    "pseudo",
)
_OR = ("or", "nor")
_FAR = 14  # tokens; further back nothing is meant
_TAILS = frozenset(
    "at here now to in it any anymore either this today all on really yet also for of though them".split()
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


def scope_rules(data: Mapping[str, Any]) -> tuple[ScopeRule, ...]:
    """The plain data of `scope.toml` compiled. Raises KeyError or ValueError on a malformed rule."""
    rules = []
    for rule in data["rule"]:
        if rule["way"] not in _WAYS or rule["scope"] not in _STRENGTH:
            raise ValueError(f"scope.toml: {rule['id']}: unknown way or scope")
        rules.append(
            ScopeRule(
                rule["id"],
                rule["scope"],
                rule["way"],
                compile_any(rule["patterns"]),
                rule["example"],
                tuple(rule.get("of", ())),
            )
        )
    return tuple(rules)


class _Marks:
    def __init__(self, tokens: Sequence[Token]) -> None:
        self.tokens = tokens
        self.marks = [Mark() for _ in tokens]

    def put(self, first: int, last: int, *, rule: ScopeRule) -> None:
        for place in range(max(0, first), min(last, len(self.marks))):
            if _STRENGTH[rule.scope] > _STRENGTH[self.marks[place].scope]:
                self.marks[place] = Mark(rule.scope, rule.name)


def _clause_end(tokens: Sequence[Token], place: int) -> int:
    while place < len(tokens):
        if tokens[place].pause:
            return place + 1
        place += 1
    return len(tokens)


def _clause_start(tokens: Sequence[Token], place: int) -> int:
    while place > 0 and not tokens[place - 1].pause:
        place -= 1
    return place


def _list_end(tokens: Sequence[Token], place: int) -> int:
    """The end of a denied list: "no oak, vanilla or toast" goes on to "toast"; "no oak, lovely
    fruit" ends at "oak". It goes on over commas only when an "or" closes the list."""
    end = _clause_end(tokens, place)
    reach = end
    while reach < len(tokens) and tokens[reach - 1].pause == ",":
        nxt = _clause_end(tokens, reach)
        if nxt - reach > 4:
            break
        if any(t.text in _OR for t in tokens[reach:nxt]):
            return nxt
        reach = nxt
    return end


def _reach(
    tokens: Sequence[Token], first: int, last: int, rule: ScopeRule, stops: Sequence[int]
) -> tuple[int, int]:
    """The token span that a rule matched at [first, last) reaches."""
    if rule.way == "backward":
        return 0, first
    if rule.way == "clausebefore":
        return _clause_start(tokens, first), last
    if rule.way == "clause":
        return _clause_start(tokens, first), _clause_end(tokens, last - 1)
    if rule.way == "before":
        return 0, first
    if rule.way == "both":
        start = _clause_start(tokens, first)
        if first - start <= 2 and start > 0:  # ", I wouldn't swear to it": of the clause before
            start = _clause_start(tokens, start - 1)
        return start, _clause_end(tokens, last - 1)
    already_over = bool(tokens[last - 1].pause) and rule.scope == "denied"
    if rule.way == "forward":
        end = last if already_over else _list_end(tokens, last)
    elif rule.way == "onward":
        end = len(tokens)
    else:  # breath
        end = len(tokens)
        first = _clause_start(tokens, first)
    stop = next((s for s in stops if s >= last and s < end), end)
    return (first if rule.way == "breath" else last), stop


def mark_scopes(
    tokens: Sequence[Token], rules: Sequence[ScopeRule], *, anchors: frozenset[int] = frozenset()
) -> tuple[Mark, ...]:
    """One mark a token. Pure; a phrase is one breath at most, so that a note takes linear time."""
    line = Line(tokens)
    marks = _Marks(tokens)
    spans = [(rule, span) for rule in rules for span in line.spans(rule.pattern)]
    excuses = [(span, rule.of) for rule, span in spans if rule.way == "pseudo"]
    ahead = [span for rule, span in spans if rule.way == "forward" and rule.scope == "denied"]
    releases = sorted(
        ((span[0], rule.of) for rule, span in spans if rule.way == "release"), key=lambda r: r[0]
    )
    for rule, (first, last) in spans:
        if rule.way in ("pseudo", "release"):
            continue
        pseudo = [span for span, of in excuses if not of or rule.scope in of]
        if any(
            (a <= first and last <= b) or (first < b and a < last and b - a > last - first) for a, b in pseudo
        ):
            continue
        # "none of the oak" denies the oak, not what came before
        inside = any(a <= first and last < b for a, b in ahead)
        if rule.way == "backward" and (inside or not _ends_there(tokens, last)):
            continue
        # "I'd expect there is": what follows at once belongs to the rule, not to a new thought
        stops = [place for place, of in releases if not of or (rule.scope in of and place > last)]
        start, end = _reach(tokens, first, last, rule, stops)
        if rule.way == "backward":
            start = _antecedent(tokens, marks.marks, first, anchors)
        marks.put(start, end, rule=rule)
    for first, _ in bare_denials(tokens, anchors):
        for at in range(_antecedent(tokens, marks.marks, first, anchors), first):
            marks.marks[at] = Mark("denied", RULE)
    for start, end in answered_lists(tokens, anchors):
        marks.marks[start:end] = [Mark("denied", ANSWERED)] * (end - start)
    for start, end, name in repaired(tokens):
        for at in range(start, end):
            if marks.marks[at].scope == "said":
                marks.marks[at] = Mark("denied", name)
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
    return last >= len(tokens) or bool(tokens[last - 1].pause) or tokens[last].text in _TAILS


def _antecedent(tokens: Sequence[Token], marks: Sequence[Mark], place: int, anchors: frozenset[int]) -> int:
    """How far back "there isn't any" reaches: its own clause's beginning, or over clauses that only
    lead on ("given the level in the bottle") to the nearest with a thing in it (an anchor), and over
    all that was expected or remembered."""
    start = _clause_start(tokens, place)
    if place - start >= 1 and tokens[start].text not in ("and", "but", "i", "there", "it", "they"):
        return start
    before = start
    while before > 0:
        previous = _clause_start(tokens, before - 1)
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
            return _clause_start(tokens, start - 1) if start else 0
    return before
