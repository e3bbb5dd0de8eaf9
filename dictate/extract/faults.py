"""Faults named by the taster, certain or suspected. A word, never proof of a concentration."""

from __future__ import annotations

from dictate.extract.parsed import Parsed
from dictate.language.patterns import compile_any
from dictate.values import Reading

_STAGES = ("nose", "palate", "finish", "verdict", "appearance")
_DOUBT = compile_any(
    [
        "i think", "i 'd guess|say",
        "maybe|perhaps|possibly|probably|might|could|suspect|suspicion|wonder",
        "may be", "not sure", "bit|touch|hint of? something", "or is it", "borderline",
        "verging|bordering on", "wouldn't swear", "seems|smells_like_it_might", "i reckon",
    ]
)  # fmt: skip
_SURE = compile_any(
    [
        "pretty|quite|fairly|absolutely? sure|certain",
        "no question|doubt|two_ways_about",
        "definitely|certainly|clearly|obviously",
        "that 's|it 's",
    ]
)
# named, and said to be none: style, not fault
_NO_FAULT = compile_any(
    [
        "shouldn't|wouldn't|don't|not|dinnae|didn't call|write|count|put … fault",
        "isn't|not a fault",
        "as a fault",
    ]
)


def read_faults(parsed: Parsed) -> list[Reading]:
    """Fault readings; `certain` is false where the phrase doubts and does not settle it."""
    if parsed.phrase.stage not in _STAGES:
        return []
    found = []
    excused = any(True for _ in parsed.line.spans(_NO_FAULT))
    doubtful = any(True for _ in parsed.line.spans(_DOUBT)) and not any(
        True for _ in parsed.line.spans(_SURE)
    )
    for mention in parsed.mentions:
        entry = mention.of("fault")
        if entry is None:
            continue
        mark = parsed.scope(mention.first, mention.last)
        unsure = doubtful or mark.scope == "doubtful"
        scope = "said" if mark.scope == "doubtful" else mark.scope
        if excused and scope == "said":
            scope = "denied"
        found.append(
            parsed.reading(
                "faults", entry.term, first=mention.first, last=mention.last, family=entry.family,
                certain=not unsure, scope=scope, rule=mark.rule,
            )
        )  # fmt: skip
    return found
