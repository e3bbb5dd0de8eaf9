"""The values of a note by the chance that they are right, the most doubtful first. Pure."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from dictate.doubt.evidence import EVIDENCE, KINDS, Evidence, evidence_of, heard_for
from dictate.doubt.held import Held, same_text
from dictate.doubt.table import DoubtTable
from dictate.note import Note

_TELLS: Final = 0.2  # log-odds from which a piece of evidence is worth a word
_REASONS: Final[Mapping[str, str]] = {
    "word": "heard unsurely", "phrase": "heard unsurely", "note": "heard unsurely",
    "perhaps": "said with a doubt", "inferred": "inferred", "later": "put right while talking",
    "unknown": "not a word that is known", "strange": "unlike the rest", "unsaid": "not said plainly",
    "lost": "not said plainly", "once": "said only once", "short": "a short word",
}  # fmt: skip
_BY_KIND: Final = {"name": "names are often misheard", "origin": "places are often misheard"}
_PLAIN: Final = "heard plainly"
_GIVEN: Final = {"listed": "from the wine list", "typed": "typed"}


@dataclass(frozen=True, slots=True)
class Doubt:
    """One value of a note: `field` is its path ("palate.acidity", "nose.aromas[2]"), `right` the chance
    (0 to 1) that it needs no correction, `reason` in a few words what speaks most against it."""

    field: str
    right: float
    reason: str


def doubts_of(note: Note, table: DoubtTable, *, year: int | None = None) -> tuple[Doubt, ...]:
    """Every value of a note but those that a hand has put right or accepted, the likeliest wrong first.

    A hand accepts a value by a change in the history whose `before` and `after` are alike. Those below
    `table.routine` are the doubtful ones. `year` of the tasting, if known: for the sense checks.
    """
    found = [
        _doubt(each, table) for each in evidence_of(note, year) if not is_settled(note, each.held)
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda doubt: doubt.right))


def chance(evidence: Evidence, table: DoubtTable) -> float:
    """The chance, 0 to 1, that a value needs no correction."""
    source = getattr(evidence.held.value, "source", "")
    if source in table.given:
        return table.given[source]
    odds = table.bias + sum(w * f for w, f in zip(table.weights, evidence.features, strict=True))
    return 1 / (1 + math.exp(-max(-30.0, min(30.0, odds))))


def _doubt(evidence: Evidence, table: DoubtTable) -> Doubt:
    return Doubt(evidence.held.path, chance(evidence, table), _reason(evidence, table))


def _reason(evidence: Evidence, table: DoubtTable) -> str:
    """What speaks against the value more than it does against values on the whole."""
    source = getattr(evidence.held.value, "source", "")
    if source in table.given:
        return _GIVEN.get(source, source)
    tells: dict[str, float] = {}
    for name, weight, value, usual in zip(
        EVIDENCE, table.weights, evidence.against, table.usual, strict=False
    ):  # fmt: skip
        words = _words(name, evidence.held)
        tells[words] = tells.get(words, 0.0) - weight * (value - usual)
    if evidence.kind in _BY_KIND:
        weight = table.weights[len(EVIDENCE) + KINDS.index(evidence.kind)]
        tells[_BY_KIND[evidence.kind]] = -weight
    worst = max(tells, key=lambda words: tells[words])
    return worst if tells[worst] >= _TELLS else _PLAIN


def _words(name: str, held: Held) -> str:
    if name in ("repaired", "changed"):
        return f"put right from “{heard_for(held.words)[:40]}”"
    return _REASONS[name]


def is_settled(note: Note, held: Held) -> bool:
    """Has a hand put this value right, or accepted it?"""
    if getattr(held.value, "source", "") == "corrected":
        return True
    for change in note.history:
        if not change.later or change.field not in (held.path, held.field):
            continue
        if held.path == held.field or (change.field == held.path and change.after is None):
            return True
        # of a list: the item that the change tells of, with or without its strength in brackets
        if same_text(str(change.after).partition(" (")[0].strip('"'), held.text):
            return True
    return False
