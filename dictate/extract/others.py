"""Another wine called by its name: "the Barolo had violets", said of the glass beside this one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from dictate.language.mentions import Mention
from dictate.language.passing_names import named_for_sure
from dictate.language.tokens import Token

RULE = "other-name"
_THE = frozenset(["the", "that"])
_BEHIND = frozenset(
    ["one", "wine", "bottle", "glass", "we", "i", "before", "earlier", "just", "only", "really"]
)
_WAS = frozenset(
    "had was were showed smelled smelt tasted gave felt came got went seemed".split()
)  # in the present ("the Merlot gives plum") it may be a part of this wine
_IS = frozenset("has shows gives smells tastes is 's feels seems".split())
_COMPARED = frozenset("more less fewer better worse miles".split())
_OF = frozenset("of from in for with by".split())
_KINDS = ("origin", "grape", "producer", "wine")


def named_others(
    tokens: Sequence[Token], mentions: Sequence[Mention], *, own: frozenset[str]
) -> Iterator[tuple[int, int]]:
    """Token spans of "the" and a wine's name in front of a verb in the past; `own`: the names (grapes,
    origin, producer) that this wine was given, which are of this wine."""
    for mention in mentions:
        entry = next((e for e in map(mention.of, _KINDS) if e), None)
        if entry is None or entry.term in own or mention.first == 0:
            continue
        if tokens[mention.first - 1].text not in _THE or tokens[mention.first - 1].pause:
            continue
        if (
            mention.first > 1
            and not tokens[mention.first - 2].pause
            and tokens[mention.first - 2].text in _OF
        ):
            continue  # "the tannin of the Nebbiolo was high"
        place = mention.last
        while place < len(tokens) and tokens[place].text in _BEHIND and not tokens[place - 1].pause:
            place += 1
        if place >= len(tokens) or tokens[place - 1].pause:
            continue
        more = tokens[place + 1].text if place + 1 < len(tokens) else ""
        beside = tokens[place].text in _IS and named_for_sure(tokens, mention)
        beside &= more in _COMPARED or (entry.kind == "origin" and bool(own))  # "the Chablis has more chalk"
        if tokens[place].text in _WAS or beside:
            yield mention.first - 1, place + 1
