"""Which found cues are false, and how often: judged on cues and lines alone. Pure."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from dictate.cues import CueTable, cue_table, find_cues
from dictate.lexicon import load_table
from dictate.values import Cue, Word
from tests.speech.synth import Line

NEAR_S = 1.0  # a cue that was said is found at most that far from its line


@dataclass(frozen=True, slots=True)
class Judged:
    """A line in which no cue was said, and the cues found in it. `as_meant`: when it began the clock ran,
    or did not, as the recording wants it, and nothing was off the record."""

    say: str
    false: tuple[Cue, ...]
    as_meant: bool

    @property
    def counts(self) -> bool:
        """One in which nothing could be found because an earlier cue was missed or imagined does not."""
        return self.as_meant or bool(self.false)


def judge(lines: Sequence[Line], cues: Sequence[Cue], *, running: bool) -> tuple[Judged, ...]:
    """One a line of stage "sentence", in order; a false cue is laid to the line nearest to its onset, and
    one nearest to a cue line (a cue heard as another kind of cue) to none: a miss, not an invention."""
    said = said_cues(lines, cues)
    false: dict[int, list[Cue]] = {}
    for place, cue in enumerate(cues):
        if place not in said:
            near = min(range(len(lines)), key=lambda n: _distance(lines[n], cue.onset_s))
            false.setdefault(near, []).append(cue)
    judged = []
    for number, line in enumerate(lines):
        if line.stage == "sentence":
            # what is laid to this line is not part of the state in which it began
            before = [c for c in cues if c.onset_s < line.start_s and c not in false.get(number, ())]
            meant = state(before) == (running, False)
            judged.append(Judged(line.say, tuple(false.get(number, ())), meant))
    return tuple(judged)


def said_cues(lines: Sequence[Line], cues: Sequence[Cue]) -> set[int]:
    """Which of the cues were said: for each cue line the first of its kind near it."""
    said: set[int] = set()
    for line in lines:
        fitting = (
            n for n, c in enumerate(cues)
            if n not in said and c.kind == line.cue and _distance(line, c.onset_s) <= NEAR_S
        )  # fmt: skip
        said.update([n for n in [next(fitting, None)] if n is not None])
    return said


def _distance(line: Line, at_s: float) -> float:
    return max(line.start_s - at_s, at_s - line.end_s, 0.0)


def state(cues: Sequence[Cue]) -> tuple[bool, bool]:
    """Whether behind these cues a finish clock runs, and whether speech is off the record."""
    clock = private = False
    for cue in cues:
        clock = cue.kind == "away" or (clock and cue.kind not in ("gone", "begin", "end"))
        private = cue.kind == "private_on" or (private and cue.kind != "private_off")
    return clock, private


def cues_in_text(text: str, *, running: bool) -> tuple[Cue, ...]:
    """The cues that the grammar finds in a sentence heard without a mistake: alone, or between "Spitting
    now." and "All gone.", three seconds from both."""
    texts = ["Spitting now.", text, "All gone."] if running else [text]
    words: list[Word] = []
    for number, one in enumerate(texts):
        start_s = words[-1].end_s + 3 if words else 0.0
        for place, word in enumerate(one.split()):
            from_s = start_s + 0.4 * place
            words.append(Word(word, from_s, from_s + 0.4, 1.0, number))
    own = 1 if running else 0
    return tuple(c for c in find_cues(words, _table()).cues if c.words[0].utterance == own)


@lru_cache(maxsize=1)
def _table() -> CueTable:
    return cue_table(load_table("cues"))


def upper_bound(found: int, of: int) -> float:
    """One-sided 95 % upper bound of a share, `found` in `of`: exact binomial (Clopper and Pearson 1934)."""
    if found >= of:
        return 1.0

    def at_most(share: float) -> float:
        terms = (
            math.lgamma(of + 1) - math.lgamma(k + 1) - math.lgamma(of - k + 1)
            + k * math.log(share) + (of - k) * math.log1p(-share)
            for k in range(found + 1)
        )  # fmt: skip
        return sum(map(math.exp, terms))

    return _solve(at_most, 1.0)


def upper_rate(found: int, hours: float) -> float:
    """The one-sided 95 % upper bound of events an hour: exact Poisson (Garwood 1936)."""

    def at_most(mean: float) -> float:
        return sum(math.exp(k * math.log(mean) - mean - math.lgamma(k + 1)) for k in range(found + 1))

    return _solve(at_most, 10.0 * found + 20.0) / hours


def _solve(at_most: Callable[[float], float], high: float) -> float:
    """Where a falling probability is 0.05, by bisection from 0 to `high`."""
    low = 0.0
    for _ in range(100):
        middle = (low + high) / 2
        low, high = (middle, high) if at_most(middle) > 0.05 else (low, middle)
    return high
