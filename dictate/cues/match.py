"""Where a pattern of the cue table stands in words, with what is in front of it and behind it. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from dictate.cues.grammar import CueTable, Rule, Tokens
from dictate.language.pauses import paused_behind
from dictate.language.tokens import Token, tokenise
from dictate.values import CueKind, Word

# while the notes are paused all else that sounds like a cue is talk
IN_PAUSE: tuple[CueKind, ...] = (
    "pause_on",
    "pause_off",
    "begin",
    "end",
    "private_on",
    "private_off",
    "missing",
)

# tokens behind a pause that may still tell of the words in front: "the last wine" - "number 9, was"
_BEYOND = 4
_SUBJECTS = frozenset({"it", "this", "i", "we", "you", "he", "she", "they", "there"})


@dataclass(frozen=True, slots=True)
class Match:
    """Tokens [first, last) are a cue by `rule`."""

    first: int
    last: int
    rule: Rule


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

    def any_ends(self, phrases: Iterable[Tokens], place: int) -> bool:
        """Whether one of the phrases ends right before this token."""
        return any(self.stands(p, place - len(p)) for p in phrases if place >= len(p))

    def only_fillers(self, first: int, last: int, *, rule: Rule) -> bool:
        """Whether tokens [first, last) are fillers of the rule, or none."""
        place = first
        while place < last:
            size = next((len(f) for f in rule.fillers if self.stands(f, place)), 0)
            if not size:
                return False
            place += size
        return place <= last

    def sentence(self, place: int) -> Iterator[int]:
        """The tokens from here to the end of the sentence or the breath; where a breath without a full stop
        stands right in front, the first few behind it. Behind a further such breath the next token alone,
        and nothing where another clause begins ("the last wine, number nine, it was open")."""
        paused = self._unended(place)
        last = min(place + _BEYOND if paused else len(self.tokens), len(self.tokens))
        first = place
        while place < last and (place == first or self.breaks[place] < 2 or self._unended(place)):
            if place > first and self.breaks[place] and self.texts[place] in _SUBJECTS:
                return
            yield place
            if place > first and self.breaks[place] >= 2:
                return
            place += 1

    def _unended(self, place: int) -> bool:
        """A breath stands here, and no full stop."""
        return self.breaks[place] == 3 and self.tokens[place - 1].pause not in list(".?!;")

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
    if rule.position == 0:  # privacy: a comma the recogniser left out must not let words through
        return not line.any_ends(rule.blocked_before, place)
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
    return not line.any_ends(rule.blocked_before, start)


def _behind(line: Line, match: Match, *, clock: bool) -> bool:
    """What follows lets the rule fire."""
    rule, last = match.rule, match.last
    if not rule.question and line.tokens[last - 1].pause == "?":
        return False
    if rule.needs_after and not line.any_stands(rule.needs_after, last):
        return False
    if line.breaks[last] < rule.after and not _other_cue(line, rule, last):
        return False
    if last == len(line.tokens):
        return True
    if rule.blocked_later and any(line.any_stands(rule.blocked_later, p) for p in line.sentence(last)):
        return False
    if line.breaks[last] == 0 and line.any_stands(rule.blocked_after, last):
        return False
    place = last
    while place < len(line.tokens) and (line.texts[place],) in line.table.hesitations:
        place += 1
    soon = line.same_breath(last) or line.gap_s(last) < line.table.reach_s
    if soon and line.any_stands(rule.blocked_across, place):
        return False
    near = line.same_breath(last) or (not clock and soon)
    return not (near and line.any_stands(rule.blocked_beyond, place))


def _other_cue(line: Line, rule: Rule, place: int) -> bool:
    """Another cue is said right here, without a pause ("spitting now it's gone")."""
    others = (r for r in line.table.rules if r.kind != rule.kind)
    return rule.after == 1 and any(line.any_stands(r.phrases, place) for r in others)


@dataclass(frozen=True, slots=True)
class State:
    """What the cues before have set: a finish clock runs; the notes are paused; off the record."""

    clock: bool = False
    paused: bool = False
    private: bool = False

    def behind(self, kind: CueKind) -> State:
        """What a cue changes. Nothing but the way back on the record ends privacy."""
        return State(
            clock=kind == "away" or (self.clock and kind not in ("gone", "begin", "end")),
            paused=paused_behind(kind, self.paused),
            private=kind == "private_on" or (self.private and kind != "private_off"),
        )

    def open_to(self, rule: Rule) -> bool:
        """Whether a rule can fire now."""
        if self.private:
            return rule.kind == "private_off"
        if self.paused and rule.kind not in IN_PAUSE:
            return False
        return (self.clock or not rule.needs_clock) and (self.paused or not rule.needs_pause)


def match_at(line: Line, place: int, *, state: State, fresh: int = 0) -> Match | None:
    """The cue that begins at this token, the longest phrase first, or None. `fresh`: the token behind the
    last cue."""
    if not line.starts_word(place):
        return None
    rules = (r for r in line.table.rules if state.open_to(r))
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
        if fits and _before(line, match.rule, place, fresh) and _behind(line, match, clock=state.clock):
            return match
    return None
