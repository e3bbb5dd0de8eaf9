"""Cases of what is and is not observed: sentences of a taster at work, marked by hand.

In `tests/cases/extract/unsaid.json`, `[..]` is an observation, to be read; `{..}` is talk of something not
observed, to be read with another scope or not at all; `<..>` may be either. Nothing else in a sentence may
be asserted. `counter` marks a sentence that looks like its kind and is an observation.

One author wrote all: `made on` and `kept back` before reading rules or code, `kept to the end` when the rules
of the first two stood. Sentences right before and after mending: `made on` 118 and 181 of 181; `kept back` 36
and, at the first look, 59 of 68 (then mended as well); `kept to the end` 32 and 36 of 68, never mended
(a rule made later, from other sentences, has one more right).
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from typing import Any

from tests.extract.said import load_cases, read

_MARK = re.compile(r"\[([^]]*)\]|\{([^}]*)\}|<([^>]*)>")
_BRACKETS = str.maketrans("", "", "[]{}<>")


@dataclass(frozen=True, slots=True)
class Marked:
    """A sentence and the words [first, last) of each mark."""

    text: str
    seen: tuple[tuple[int, int], ...]
    unsaid: tuple[tuple[int, int], ...]
    either: tuple[tuple[int, int], ...]


def marked(text: str) -> Marked:
    """The marks of a sentence, as words; a mark on part of a word ("{oak}-free") is the whole word."""
    spans: dict[str, list[tuple[int, int]]] = {"[": [], "{": [], "<": []}
    for found in _MARK.finditer(text):
        before = text[: found.start()].translate(_BRACKETS)
        first = len(before.split()) - (bool(before) and not before[-1].isspace())
        spans[found.group()[0]].append((first, first + len(found.group().split())))
    return Marked(text.translate(_BRACKETS), *(tuple(spans[kind]) for kind in "[{<"))


def _meet(one: tuple[int, int], other: tuple[int, int]) -> bool:
    return one[0] < other[1] and other[0] < one[1]


def faults_of(text: str, stage: Any) -> list[str]:
    """What is wrong with the readings of a marked sentence: each starts with "missed" or "asserted"."""
    case = marked(text)
    said = [r for r in read(case.text, stage) if r.scope == "said" and r.act == "set"]
    words = case.text.split()
    wrong = [
        f"missed {' '.join(words[slice(*span)])!r}"
        for span in case.seen
        if not any(_meet((r.first, r.last), span) for r in said)
    ]
    wrong += [
        f"asserted {r.field} {r.value!r}"
        for r in said
        if not any(_meet((r.first, r.last), span) for span in (*case.seen, *case.either))
        or any(_meet((r.first, r.last), span) for span in case.unsaid)
    ]
    return wrong


def tally(part: str) -> dict[str, Counter[str]]:
    """Sentences right, asserting and missing of a part, by kind."""
    counts: dict[str, Counter[str]] = {}
    for case in load_cases("unsaid"):
        if case["part"] != part:
            continue
        wrong = faults_of(case["text"], case["stage"])
        one = counts.setdefault(case["kind"], Counter())
        one.update(
            sentences=1,
            right=not wrong,
            asserting=any(w.startswith("asserted") for w in wrong),
            missing=any(w.startswith("missed") for w in wrong),
        )
    return counts
