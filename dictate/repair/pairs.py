"""Listed mishearings, put right in their context. Pure."""

from __future__ import annotations

from dictate.repair.line import Line
from dictate.repair.table import RepairTable
from dictate.repair.windows import Found

_SURE = 1.0  # in its context it wins over any sound


def find_pairs(line: Line, table: RepairTable) -> list[Found]:
    """All places where a pair's words stand in one of its contexts."""
    present = {piece for pieces in line.pieces for piece in pieces}
    found: list[Found] = []
    for pair in table.pairs:
        if present.isdisjoint(pair.first_word):
            continue
        spans = line.word_spans(pair.heard)
        heard = [span for span in spans if not pair.opens or line.opens(span[0])]
        for start, end in line.word_spans(pair.contexts):
            for first, last in heard:
                if start <= first and last <= end and line.open(first, last):
                    reason = f"pair: {' '.join(pair.said)}"
                    found.append(Found(first, last, pair.said, "term", _SURE, reason, listed=True))
    return found
