"""The cue table as patterns, and where a pattern stands in words. Pure.

A cue is told from the same words in a sentence by what is in front of it (a breath, a sentence,
fillers), what is behind it, and whether a finish clock runs; `lexicon/rules/cues.toml` says it all.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, get_args

from dictate.language.tokens import Token, split_word, tokenise
from dictate.values import CueKind, Word

Tokens = tuple[str, ...]
_BREAKS = {"any": 0, "comma": 1, "pause": 1, "breath": 2, "bare": 3}
_LISTS = ("blocked_before", "blocked_after", "blocked_beyond", "needs_after")
_KEYS = {"kind", "name", "position", "after", "needs_clock", "phrases", "misheard", "fillers", "question",
         "example", "counter", *_LISTS}  # fmt: skip


class CueTableError(ValueError):
    """A cue table that cannot be used; the message names the rule and the key."""


@dataclass(frozen=True, slots=True)
class Rule:
    """One way of saying one cue. `position` and `after` are break strengths, 0 (none) to 3 (breath)."""

    kind: CueKind
    name: str
    phrases: tuple[Tokens, ...]  # the longest first
    fillers: tuple[Tokens, ...]
    position: int
    after: int
    needs_clock: bool = False
    question: bool = True
    blocked_before: tuple[Tokens, ...] = ()
    blocked_after: tuple[Tokens, ...] = ()
    blocked_beyond: tuple[Tokens, ...] = ()
    needs_after: tuple[Tokens, ...] = ()


@dataclass(frozen=True, slots=True)
class CueTable:
    """All rules, and the times (seconds) that make a pause. `spoken`: the phrases of each kind, as said."""

    rules: tuple[Rule, ...]
    hesitations: tuple[Tokens, ...]
    spoken: Mapping[CueKind, tuple[str, ...]]
    pause_s: float
    inner_s: float
    reach_s: float


@dataclass(frozen=True, slots=True)
class Match:
    """Tokens [first, last) are a cue by `rule`."""

    first: int
    last: int
    rule: Rule


def cut(text: str) -> Tokens:
    """A phrase as the tokeniser cuts it: "It's gone" -> ("it", "'s", "gone"); a bare "'s" stays one."""
    words = text.split()
    return tuple(p for w in words for p in ((w,) if w.startswith("'") else split_word(w)[0]))


def _phrases(texts: object, where: str) -> tuple[Tokens, ...]:
    if not isinstance(texts, list | tuple) or not all(isinstance(t, str) and cut(t) for t in texts):
        raise CueTableError(f"cues: {where}: must be a list of words")
    return tuple(sorted({cut(t) for t in texts}, key=lambda t: (-len(t), t)))


def _rule(data: Mapping[str, Any], fillers: Sequence[str], added: Sequence[str]) -> Rule:
    name = str(data.get("name", data.get("kind")))
    unknown = set(data) - _KEYS
    if unknown:
        raise CueTableError(f"cues: {name}: unknown key {min(unknown)!r}")
    if data.get("kind") not in get_args(CueKind):
        raise CueTableError(f"cues: {name}: kind must be one of {', '.join(get_args(CueKind))}")
    for key in ("position", "after"):
        if data.get(key) not in _BREAKS:
            raise CueTableError(f"cues: {name}: {key} must be one of {', '.join(_BREAKS)}")
    texts = [*data.get("phrases", ()), *data.get("misheard", ()), *added]
    if not texts:
        raise CueTableError(f"cues: {name}: needs phrases")
    return Rule(
        kind=data["kind"],
        name=name,
        phrases=_phrases(texts, f"{name}: phrases"),
        fillers=_phrases([*fillers, *data.get("fillers", ())], f"{name}: fillers"),
        position=_BREAKS[data["position"]],
        after=_BREAKS[data["after"]],
        needs_clock=bool(data.get("needs_clock", False)),
        question=bool(data.get("question", True)),
        **{key: _phrases(data.get(key, ()), f"{name}: {key}") for key in _LISTS},
    )


def cue_table(data: Mapping[str, Any], *, added: Mapping[str, Sequence[str]] | None = None) -> CueTable:
    """The table as in `lexicon/rules/cues.toml`, with a taster's own phrases (`added`: kind -> phrases).

    Added phrases join the first rule of their kind. Raises CueTableError on an unknown kind or key,
    a rule without phrases, or a list that holds something else than words.
    """
    added = dict(added or {})
    for kind in added:
        if kind not in get_args(CueKind):
            raise CueTableError(f"cues: {kind!r} is no cue; the cues are {', '.join(get_args(CueKind))}")
        _phrases(added[kind], kind)
    rules: list[Rule] = []
    spoken: dict[CueKind, tuple[str, ...]] = {}
    for item in data.get("rules", ()):
        own = () if item.get("kind") in spoken else added.get(item.get("kind"), ())
        rule = _rule(item, data.get("fillers", ()), own)
        rules.append(rule)
        said = (*spoken.get(rule.kind, ()), *own, *item.get("phrases", ()))
        spoken[rule.kind] = tuple(dict.fromkeys(said))
    return CueTable(
        tuple(rules),
        _phrases(data.get("hesitations", ()), "hesitations"),
        spoken,
        pause_s=float(data.get("pause_s", 0.3)),
        inner_s=float(data.get("inner_s", 0.6)),
        reach_s=float(data.get("reach_s", 1.0)),
    )


class Line:
    """Words as tokens with the strength of the break in front of each: 0 none, 1 comma, 2 stop, 3 breath."""

    def __init__(self, words: Sequence[Word], table: CueTable) -> None:
        self.words, self.table = words, table
        self.tokens: tuple[Token, ...] = tokenise(words)
        self.texts: Tokens = tuple(t.text for t in self.tokens)
        self.breaks = [self._break(place) for place in range(len(self.tokens) + 1)]

    def gap_s(self, place: int) -> float:
        """Seconds between the words of tokens place - 1 and place."""
        before, after = (self.words[self.tokens[p].word] for p in (place - 1, place))
        return after.start_s - before.end_s

    def same_breath(self, place: int) -> bool:
        """Whether tokens place - 1 and place are of one utterance."""
        before, after = (self.words[self.tokens[p].word] for p in (place - 1, place))
        return before.utterance == after.utterance

    def starts_word(self, place: int) -> bool:
        """Whether a word begins at this token (or the line ends)."""
        return place in (0, len(self.tokens)) or self.tokens[place].word != self.tokens[place - 1].word

    def _break(self, place: int) -> int:
        if place in (0, len(self.tokens)):
            return 3
        if not self.starts_word(place):
            return 0
        if not self.same_breath(place) or self.gap_s(place) >= self.table.pause_s:
            return 3
        mark = self.tokens[place - 1].pause
        return 2 if mark and mark in ".?!;" else 1 if mark else 0

    def stands(self, phrase: Tokens, place: int) -> bool:
        """Whether the phrase begins at this token."""
        return self.texts[place : place + len(phrase)] == phrase

    def any_stands(self, phrases: Iterable[Tokens], place: int) -> bool:
        """Whether one of the phrases begins at this token."""
        return any(self.stands(phrase, place) for phrase in phrases)

    def whole(self, first: int, last: int) -> bool:
        """Whether tokens [first, last) are said in one go: one utterance, no stop, no long gap."""
        inner = range(first + 1, last)
        return all(
            not self.starts_word(p)
            or (
                self.same_breath(p)
                and self.gap_s(p) < self.table.inner_s
                and self.tokens[p - 1].pause not in list(".?!;")
            )
            for p in inner
        )


def _before(line: Line, rule: Rule, place: int, fresh: int) -> bool:
    """Nothing but fillers from a break to here; `fresh` is where the last cue ended."""
    start = place
    while start != fresh and line.breaks[start] < max(rule.position, 1):
        sizes = (len(f) for f in rule.fillers if start >= len(f) and line.stands(f, start - len(f)))
        size = next(sizes, 0)
        if not size or start - size < fresh:
            return False
        start -= size
    hanging = start > fresh and not line.tokens[start - 1].pause
    if not hanging or not (line.same_breath(start) or line.gap_s(start) < line.table.inner_s):
        return True
    ends = (p for p in rule.blocked_before if start >= len(p))
    return not any(line.stands(p, start - len(p)) for p in ends)


def _behind(line: Line, rule: Rule, last: int, clock: bool) -> bool:
    """What follows token `last` lets the rule fire."""
    if not rule.question and line.tokens[last - 1].pause == "?":
        return False
    if rule.needs_after and not line.any_stands(rule.needs_after, last):
        return False
    if line.breaks[last] < rule.after and not _other_cue(line, rule, last):
        return False
    if last == len(line.tokens):
        return True
    if line.breaks[last] == 0 and line.any_stands(rule.blocked_after, last):
        return False
    place = last
    while place < len(line.tokens) and (line.texts[place],) in line.table.hesitations:
        place += 1
    near = line.same_breath(last) or (not clock and line.gap_s(last) < line.table.reach_s)
    return not (near and line.any_stands(rule.blocked_beyond, place))


def _other_cue(line: Line, rule: Rule, place: int) -> bool:
    """Another cue is said right here, without a pause ("spitting now it's gone")."""
    others = (r for r in line.table.rules if r.kind != rule.kind)
    return rule.after == 1 and any(line.any_stands(r.phrases, place) for r in others)


def match_at(line: Line, place: int, *, clock: bool, fresh: int = 0, private: bool = False) -> Match | None:
    """The cue that begins at this token, the longest phrase first, or None.

    `clock`: a finish clock runs; `fresh`: the token behind the last cue; `private`: only the way
    back on the record counts.
    """
    if not line.starts_word(place):
        return None
    rules = (
        r
        for r in line.table.rules
        if (r.kind == "private_off" or not private) and (clock or not r.needs_clock)
    )
    found = [
        Match(place, place + len(phrase), rule)
        for rule in rules
        for phrase in rule.phrases
        if line.stands(phrase, place)
    ]
    for match in sorted(found, key=lambda m: -m.last):
        # a word that runs on behind "off the record" must not make the speech public
        ends = line.starts_word(match.last) or match.rule.kind == "private_on"
        fits = ends and line.whole(match.first, match.last)
        if fits and _before(line, match.rule, place, fresh) and _behind(line, match.rule, match.last, clock):
            return match
    return None
