"""The speaker puts himself right in the same breath: "cherry, no, plum"; "is that mint? No, ...".

Cut words, editing term, repair: the three parts of a self-repair after Levelt (1983), Cognition 14: 41-104.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from dictate.language.fillers import HESITATIONS
from dictate.language.patterns import Line, compile_any
from dictate.language.tokens import Token
from dictate.values import Reading

SELF_REPAIR = "self-repair"
ANSWERED_NO = "answered-no"
# editing terms between a pause and the repair
_EDITING = compile_any(
    [
        "no|nope|nah|sorry|correction|wait ,", "no|sorry|oh|hmm wait|hang_on|hold_on|scratch_that ,?",
        "or rather", "or let 's say", "hang|hold on ,", "make that", "correction", "scratch that",
    ]
)  # fmt: skip
# as often a filler as a repair ("lovely, I mean, cherry"): one short thing put right by another
_MEANT = compile_any(["i mean|meant !it !the !that !this !you !,"])
_SHORT = 2
_FILLERS = HESITATIONS | frozenset("or well actually wait sorry no".split())
_ASKS = frozenset("is are was were do does did could would can might".split())
_NAYS = ("no", "nope", "nah")
_DENIAL = compile_any(
    [
        "no|nope|nah",
        "not really|quite|at_all",
        "i|we don't think_so|believe_so",
        "i don't think it_is|there_is",
        "i doubt it",
        "hardly",
    ]
)


def _clause_start(tokens: Sequence[Token], place: int) -> int:
    while place > 0 and not tokens[place - 1].pause:
        place -= 1
    return place


def repaired(tokens: Sequence[Token]) -> Iterator[tuple[int, int, str]]:
    """Token spans taken back in the same breath, each with the name of what took it back."""
    line = Line(tokens)
    for first, last in line.spans(_EDITING):
        yield from _before(tokens, first, last)
    for first, last in line.spans(_MEANT):
        for start, end, rule in _before(tokens, first, last):
            if end - start <= _SHORT:
                yield start, end, rule
    denials = {a for a, _ in line.spans(_DENIAL)}
    start = 0
    for place, token in enumerate(tokens[:-1]):
        start = place if place and tokens[place - 1].pause else start
        if token.pause == "?" and tokens[start].text in _ASKS and place + 1 in denials:
            yield start, place + 1, ANSWERED_NO
        ends = place + 2 == len(tokens) or tokens[place + 1].pause in (".", ";")
        if token.pause == "," and tokens[place + 1].text in _NAYS and ends and tokens[place + 1].pause != "?":
            yield start, place + 1, ANSWERED_NO  # "hay, yes. straw, no."


def _before(tokens: Sequence[Token], first: int, last: int) -> Iterator[tuple[int, int, str]]:
    """The clause before an editing term that stands between a pause and something said after it."""
    end = first
    while end > 0 and tokens[end - 1].text in _FILLERS:
        end -= 1
    if end == 0 or last >= len(tokens) or not tokens[end - 1].pause or tokens[end - 1].pause == "?":
        return
    if tokens[first].text == "sorry" and tokens[end - 1].pause == ".":
        return  # "it's corked. Sorry, everyone."
    yield _clause_start(tokens, end - 1), end, SELF_REPAIR


def keep_unrepaired(readings: Sequence[Reading]) -> list[Reading]:
    """A repair takes back only what it says anew: of "deep ruby, no, garnet" the depth stays."""
    kept = []
    last = max((r.first for r in readings), default=0)
    of_field: dict[str, int] = {}
    for reading in readings:
        of_field[reading.field] = max(reading.first, of_field.get(reading.field, 0))
    for reading in readings:
        again = last < reading.last or of_field[reading.field] >= reading.last
        if reading.rule == SELF_REPAIR and reading.scope == "denied" and not again:
            reading = replace(reading, scope="said", rule="")
        kept.append(reading)
    return kept
