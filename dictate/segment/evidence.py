"""What the words of one clause say about its stage, added up from the stage table and the lexicon."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from dictate.language.mentions import find_mentions
from dictate.language.patterns import Line, compile_any
from dictate.language.tokens import Token
from dictate.lexicon.entries import Lexicon
from dictate.values import Stage

STAGES: tuple[Stage, ...] = (
    "identity", "appearance", "nose", "palate", "finish", "verdict", "aside",
)  # fmt: skip
# what a lexicon word says by itself; hand-set, smaller than an explicit announcement
_KIND_WEIGHT: dict[str, dict[Stage, float]] = {
    "grape": {"identity": 1.2},
    "origin": {"identity": 1.2},
    "hue": {"appearance": 1.6},
    "descriptor": {"nose": 1.0, "palate": 0.9, "finish": 0.6},
    "texture": {"palate": 1.5, "finish": 0.3},
    "fault": {"nose": 1.4, "palate": 0.6},
    "style": {"identity": 0.8},
    "process": {"palate": 0.2, "nose": 0.2, "identity": 0.2},
}
NO_WINE_WORD = 1.1  # said for "aside" where nothing in a clause is of the trade


@dataclass(frozen=True, slots=True)
class StageTable:
    """Compiled patterns with their weight, stage by stage."""

    rules: tuple[tuple[Stage, float, re.Pattern[str]], ...]


def stage_table(data: Mapping[str, Mapping[str, Sequence[str]]]) -> StageTable:
    """The plain data of `stages.toml` compiled. Raises KeyError on an unknown stage name."""
    rules = []
    for stage, weights in data.items():
        if stage not in STAGES:
            raise KeyError(f"stages.toml: no such stage: {stage}")
        for weight, patterns in weights.items():
            rules.append((stage, float(weight), compile_any(patterns)))
    return StageTable(tuple(rules))


def clause_evidence(
    tokens: Sequence[Token], table: StageTable, *, lexicon: Lexicon
) -> dict[Stage, float]:
    """Weight for each stage. A rule counts once a clause; the strongest of one stage leads and
    others add half, so that long clauses don't shout down short ones."""
    line = Line(tokens)
    found: dict[Stage, list[float]] = {}
    for stage, weight, pattern in table.rules:
        if pattern.search(line.text):
            found.setdefault(stage, []).append(weight)
    score: dict[Stage, float] = {}
    for stage, weights in found.items():
        weights.sort(reverse=True)
        score[stage] = weights[0] + 0.5 * sum(weights[1:])
    words_of_trade = sum(v for s, v in score.items() if s != "aside")
    for mention in find_mentions(tokens, lexicon):
        share = 1.0 / len(mention.entries)
        for entry in mention.entries:
            for stage, weight in _KIND_WEIGHT.get(entry.kind, {}).items():
                score[stage] = score.get(stage, 0.0) + weight * share
                words_of_trade += weight * share
    if words_of_trade < 0.5:
        score["aside"] = score.get("aside", 0.0) + NO_WINE_WORD
    elif "aside" in score and words_of_trade > 3:
        score["aside"] *= 0.6
    return score
