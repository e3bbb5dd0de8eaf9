"""What was found of a session's clocks, held against the truth: pure functions for bench_clock.py."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dictate.values import CueKind, Word
from tests.bench.clocks import Clock
from tests.speech.synth import Line

NEAR_S = 0.75  # a found cue whose onset is farther than this from the true one is another
WRONG_S = 0.5  # a number that is farther off than this is wrong
PLAIN_S = 2.0  # how far off the plain recogniser may write a cue's words: it is told where to look


@dataclass(frozen=True, slots=True)
class FoundCue:
    """A cue that the program found; `onset_s` and `confidence` as timed in the samples."""

    kind: CueKind
    text: str
    onset_s: float
    confidence: float


@dataclass(frozen=True, slots=True)
class FoundFinish:
    """A note's timed finish, as the note has it."""

    seconds: float
    from_s: float
    to_s: float
    confidence: float


@dataclass(frozen=True, slots=True)
class JudgedCue:
    """A true cue, and the one found for it."""

    line: Line
    found: FoundCue | None


@dataclass(frozen=True, slots=True)
class JudgedClock:
    """A true clock, the two cues of it, and the number for it."""

    clock: Clock
    voice: str
    away: FoundCue | None
    gone: FoundCue | None
    finish: FoundFinish | None

    @property
    def error_s(self) -> float | None:
        """How far off the number is (never negative), or None where there is none."""
        return None if self.finish is None else abs(self.finish.seconds - self.clock.seconds)


@dataclass(frozen=True, slots=True)
class Judged:
    """A session: every true cue, every clock, and what was found that is not so."""

    cues: tuple[JudgedCue, ...]
    clocks: tuple[JudgedClock, ...]
    false: tuple[FoundCue, ...]
    imagined: tuple[FoundFinish, ...]  # finishes that lie over no clock, or beside another for it


def judge(
    lines: Sequence[Line],
    clocks: Sequence[Clock],
    *,
    voice: str,
    cues: Sequence[FoundCue],
    finishes: Sequence[FoundFinish],
) -> Judged:
    """Pairs cues by kind and time (nearest first, each once, at most NEAR_S apart), finishes with the clocks
    that they overlap most."""
    true = [line for line in lines if line.cue]
    pairs = _paired(true, cues)
    judged = tuple(JudgedCue(line, pairs.get(n)) for n, line in enumerate(true))
    by_onset = {(j.line.cue, j.line.start_s): j.found for j in judged}
    taken = {id(f) for f in pairs.values()}
    numbers, imagined = _finishes(clocks, finishes)
    return Judged(
        judged,
        tuple(
            JudgedClock(
                c, voice, by_onset["away", c.away_s], by_onset["gone", c.gone_s], finish=numbers.get(n)
            )
            for n, c in enumerate(clocks)
        ),
        tuple(f for f in cues if id(f) not in taken),
        tuple(imagined),
    )


def _paired(true: Sequence[Line], cues: Sequence[FoundCue]) -> dict[int, FoundCue]:
    """Which found cue belongs to which true one (by its place)."""
    near = sorted(
        (abs(f.onset_s - line.start_s), n, m)
        for n, line in enumerate(true)
        for m, f in enumerate(cues)
        if f.kind == line.cue and abs(f.onset_s - line.start_s) <= NEAR_S
    )
    pairs: dict[int, FoundCue] = {}
    used: set[int] = set()
    for _, n, m in near:
        if n not in pairs and m not in used:
            pairs[n] = cues[m]
            used.add(m)
    return pairs


def _finishes(
    clocks: Sequence[Clock], finishes: Sequence[FoundFinish]
) -> tuple[dict[int, FoundFinish], list[FoundFinish]]:
    """The finish of each clock (by its place), and those of none."""
    over = sorted(
        ((_overlap_s(c, f), n, m) for n, c in enumerate(clocks) for m, f in enumerate(finishes)),
        key=lambda row: -row[0],
    )
    pairs: dict[int, FoundFinish] = {}
    used: set[int] = set()
    for shared_s, n, m in over:
        if shared_s > 0 and n not in pairs and m not in used:
            pairs[n] = finishes[m]
            used.add(m)
    return pairs, [f for m, f in enumerate(finishes) if m not in used]


def _overlap_s(clock: Clock, finish: FoundFinish) -> float:
    return min(clock.gone_s, finish.to_s) - max(clock.away_s, finish.from_s)


def plain_clock(clock: Clock, *, words: Sequence[Word]) -> tuple[float | None, float | None]:
    """When the plain recogniser says that the away and the gone cue begin (seconds), None where it did not
    write the cue's words within PLAIN_S of the true onset. Where it wrote them twice: the nearest."""
    texts = [_letters(w.text) for w in words]

    def begin_s(phrase: str, true_s: float) -> float | None:
        wanted = [_letters(p) for p in phrase.split()]
        starts = [
            words[n].start_s
            for n in range(len(texts) - len(wanted) + 1)
            if texts[n : n + len(wanted)] == wanted and abs(words[n].start_s - true_s) <= PLAIN_S
        ]
        return min(starts, key=lambda s: abs(s - true_s), default=None)

    return begin_s(clock.away_cue, clock.away_s), begin_s(clock.gone_cue, clock.gone_s)


def _letters(text: str) -> str:
    return "".join(c for c in text.lower() if c.isalpha())


def heard_near(words: Sequence[Word], at_s: float, *, within_s: float = 2.0) -> str:
    """The words recognised around a time, with their seconds from it: "gold (-1.2) rim (-0.8)"."""
    near = (w for w in words if w.end_s > at_s - within_s and w.start_s < at_s + within_s)
    return " ".join(f"{w.text.strip()} ({w.start_s - at_s:+.1f})" for w in near) or "nothing"
