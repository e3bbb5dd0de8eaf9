"""The most likely stages of all clauses of a recording: a Viterbi search with memory over asides."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from dictate.values import Stage

ORDER: tuple[Stage, ...] = ("identity", "appearance", "nose", "palate", "finish", "verdict")
# costs of going from one stage to another, hand-set: a step forwards is usual, leaving out a stage
# costs its step and SKIP more, back to the glass happens
WITHIN_BREATH = 1.5  # a change without taking breath needs good reason
BEHIND_STOP = 0.5  # less where a sentence ended
GOES_ON = 3.0  # more where the words end what the breath before began
STEP, SKIP, BACK = 1.2, 0.4, 2.2
TO_ASIDE, FROM_ASIDE = 1.6, 0.1
# by stage: the wine is named in one breath, then looked at; who begins with another thing leaves out the rest
LEAVE_IDENTITY: dict[Stage, float] = {
    "appearance": 0.0,
    "nose": 0.7,
    "palate": 1.0,
    "finish": 1.2,
    "verdict": 1.4,
}


@dataclass(frozen=True, slots=True)
class Clause:
    """What the decoder knows of a clause: evidence, and whether it starts a breath or a wine."""

    evidence: Mapping[Stage, float] = field(default_factory=dict)
    new_breath: bool = True
    new_sentence: bool = False  # in the midst of a breath, behind a full stop
    goes_on: bool = False  # "is medium", behind "the acidity"
    new_wine: bool = False
    early: bool = False  # nothing of this wine was described before: only its name is left behind
    clock_running: bool = False
    timed: bool = False  # a cue of the clock: one is at the finish now
    # a correction: its stage is its own (of several the one that we were in last), and what follows goes on
    # as before
    apart: tuple[Stage, ...] = ()


State = tuple[int, bool]  # index into ORDER of the stage one is in, and whether this is an aside
_STATES: tuple[State, ...] = tuple((i, aside) for i in range(len(ORDER)) for aside in (False, True))


def _change(before: State, after: State, clause: Clause) -> float:
    cost = 0.0
    within = 0.0 if clause.new_breath else BEHIND_STOP if clause.new_sentence else WITHIN_BREATH
    if after[1] != before[1]:
        cost += (TO_ASIDE if after[1] else FROM_ASIDE) + within
    if after[1]:
        # an aside leaves the stage where it was
        return cost if after[0] == before[0] else 99.0
    if after[0] == before[0]:
        return cost
    if not before[1]:
        cost += within
    if clause.goes_on:
        cost += GOES_ON
    if ORDER[before[0]] == "identity" and (clause.early or ORDER[after[0]] == "appearance"):
        return cost + LEAVE_IDENTITY[ORDER[after[0]]]
    jump = after[0] - before[0]
    return cost + (BACK if jump < 0 else STEP * jump + (SKIP if jump > 1 and not clause.timed else 0.0))


def _fit(state: State, clause: Clause) -> float:
    if state[1]:
        return clause.evidence.get("aside", 0.0) - (2.0 if clause.clock_running else 0.0)
    stage = ORDER[state[0]]
    fit = clause.evidence.get(stage, 0.0)
    if stage == "finish" and (clause.clock_running or clause.timed):
        fit += 6.0
    return fit


def decode_stages(clauses: Sequence[Clause]) -> tuple[Stage, ...]:
    """The best stage for each clause, in order. Linear in the number of clauses."""
    # a wine that begins with a guess or a correction still begins
    in_chain = [not c.apart or c.new_wine for c in clauses]
    chained = iter(_decode_chain([c for c, among in zip(clauses, in_chain, strict=True) if among]))
    stages: list[Stage] = []
    last: dict[Stage, int] = {}  # where each stage was last
    for clause, among in zip(clauses, in_chain, strict=True):
        stage = next(chained) if among else "aside"
        if clause.new_wine:
            last.clear()
        if clause.apart:
            stage = max(clause.apart, key=lambda s: last.get(s, -1))
        last[stage] = len(stages)
        stages.append(stage)
    return tuple(stages)


def _decode_chain(clauses: Sequence[Clause]) -> tuple[Stage, ...]:
    if not clauses:
        return ()
    start = {(0, False): 0.0, (0, True): -1.0} | {(i, False): -0.8 for i in range(1, len(ORDER))}
    score = {s: start.get(s, -99.0) + _fit(s, clauses[0]) for s in _STATES}
    back: list[dict[State, State]] = []
    for clause in clauses[1:]:
        fresh: dict[State, float] = {}
        origin: dict[State, State] = {}
        for after in _STATES:
            best, value = _STATES[0], float("-inf")
            for before in _STATES:
                here = score[before] - (0.0 if clause.new_wine else _change(before, after, clause))
                if here > value:
                    best, value = before, here
            if clause.new_wine:
                value += 4.0 if after == (0, False) else 0.0
            fresh[after] = value + _fit(after, clause)
            origin[after] = best
        score = fresh
        back.append(origin)
    state = max(score, key=lambda s: score[s])
    path = [state]
    for origin in reversed(back):
        state = origin[state]
        path.append(state)
    return tuple("aside" if s[1] else ORDER[s[0]] for s in reversed(path))
