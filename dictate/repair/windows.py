"""Windows of heard words that sound almost like a term, weighed: gain against damage. Pure."""

from __future__ import annotations

import re
from dataclasses import dataclass

from dictate.language.tokens import fold
from dictate.lexicon.entries import match_key
from dictate.repair.index import Near, SoundIndex
from dictate.repair.line import Line
from dictate.repair.sound import sound_key
from dictate.repair.table import Measures, RepairTable

_NAMES = ("grape", "origin")
_ENDING = re.compile(r"(?<=\w{4})(?:ie|ic|y|ish|ed|ly|ness|ity|ing|ful|al|ous|e|er|ier)$")


@dataclass(frozen=True, slots=True)
class Found:
    """Words [first, last) may be `said`; `score` 0 to 1."""

    first: int
    last: int
    said: tuple[str, ...]
    kind: str
    score: float
    reason: str
    listed: bool = False  # a pair of the table


def find_by_sound(line: Line, index: SoundIndex, table: RepairTable) -> list[Found]:
    """For each window of one to `longest` words its nearest term, if that is near enough.

    The share by which a sound may be off grows where the line is about such terms and where the
    recogniser was in doubt; a window of everyday words alone must be long and all but exact.
    """
    found: list[Found] = []
    for first in range(len(line.words)):
        for last in range(first + 1, min(first + table.measures.longest, len(line.words)) + 1):
            if line.kept[last - 1] or not line.joined(first, last):
                break
            if _open(line, first, last):
                one = _nearest(line, first, last, index, table.measures)
                if one:
                    found.append(one)
    return found


def _open(line: Line, first: int, last: int) -> bool:
    """May this window be touched at all: not made of terms, not one everyday word, no small word at
    its edge."""
    if line.small[first] or line.small[last - 1]:
        return False
    if all(number >= 0 for number in line.mention[first:last]):
        return False
    return last - first > 1 or line.odd[first]


def _nearest(line: Line, first: int, last: int, index: SoundIndex, measures: Measures) -> Found | None:
    key = sound_key(" ".join(p for pieces in line.pieces[first:last] for p in pieces))
    odd = any(line.odd[first:last])
    if len(key) < (measures.exact_shortest if odd else measures.ordinary_shortest):
        return None
    share = measures.odd if odd else measures.ordinary
    if min(w.confidence for w in line.words[first:last]) < measures.doubtful_below:
        share += measures.doubt
    most = share + max(measures.identity, measures.taste)
    best: tuple[float, bool, str, Near] | None = None
    for near in index.near(key, within=int(most * (len(key) + 2))):
        target = near.target
        name = target.kind in _NAMES
        allowed = share + _more(line, first, measures, name=name)
        if not _fits(line, first, last, near, measures, odd=odd):
            continue
        off = (near.distance + 2 * _lost(line, first, last, near)) / max(target.units, len(key))
        if off > (allowed if target.units >= measures.shortest else 0.0):
            continue
        rank = (off - allowed, not target.main, target.text)
        if best is None or rank < best[:3]:
            best = (*rank, near)
    if best is None:
        return None
    target = best[3].target
    score = 1 - best[3].distance / max(target.units, len(key))
    return Found(first, last, tuple(target.text.split()), target.kind, score, f"sounds like {target.text}")


def _more(line: Line, first: int, measures: Measures, *, name: bool) -> float:
    """What is allowed beyond the share of the window, for what is spoken of around it."""
    if name:
        return measures.identity if line.identity[first] else 0.0
    return measures.taste if line.taste[first] else 0.0


def _fits(line: Line, first: int, last: int, near: Near, measures: Measures, *, odd: bool) -> bool:
    """May this window be this target: a name where names are spoken of, a word with a capital in
    mid-sentence only for a name, no other form of the same word; and everyday
    words only if the term is long and one of its words was heard, or it is one very long word."""
    target = near.target
    if target.kind in _NAMES:
        if not line.identity[first] and (near.distance or line.words[first].text[:1].islower()):
            return False
    elif line.name[first]:
        return False
    if odd:
        return not _other_form(line, first, last, target.text)
    heard = {match_key(p) for pieces in line.pieces[first:last] for p in pieces}
    least = measures.ordinary_shortest if heard & target.pieces else measures.ordinary_alone
    return target.units >= least


def _other_form(line: Line, first: int, last: int, text: str) -> bool:
    """Is one word heard a form of the target ("smoothie", "smooth"), or the target two words for one?"""
    if last - first > 1:
        return False
    heard, spoken = line.pieces[first][0], fold(text)
    if " " in spoken:
        return line.words[first].text[:1].islower()
    return heard.startswith(spoken) or _ENDING.sub("", heard) == _ENDING.sub("", spoken)


def _lost(line: Line, first: int, last: int, near: Near) -> int:
    """How many terms in the window would no longer be there."""
    numbers = {number for number in line.mention[first:last] if number >= 0}
    pieces = near.target.pieces
    return sum(not line.mention_pieces(number) <= pieces for number in numbers)
