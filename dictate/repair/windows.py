"""Windows of heard words that sound almost like a term, weighed: gain against damage. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from dictate.language.tokens import fold
from dictate.lexicon.entries import match_key
from dictate.phonetics.terms import Alike, Target, TermSounds
from dictate.repair.line import NAMES, Line
from dictate.repair.table import Measures, RepairTable

_LOOKED_AT = 16  # targets of a window
_AT_ONCE = 2_000  # windows looked up together: what is found of them is held no longer
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


@dataclass(frozen=True, slots=True)
class _Window:
    """Words [first, last) of a line, as one sound."""

    line: Line
    first: int
    last: int
    ways: tuple[str, ...]  # how it may sound, in phones
    odd: bool  # a word in it is no everyday word
    share: float  # by which the sound may be off, before what is spoken of around it

    @property
    def pieces(self) -> list[str]:
        return [p for pieces in self.line.pieces[self.first : self.last] for p in pieces]


def find_by_sound(line: Line, sounds: TermSounds, *, table: RepairTable) -> list[Found]:
    """For each window of one to `longest` words its nearest term, if that is near enough.

    The share by which a sound may be off grows where the line is about such terms and where the
    recogniser was in doubt; a window of everyday words alone must be long and all but exact.
    """
    found: list[Found] = []
    for some in _batches(_windows(line, sounds, table.measures), _AT_ONCE):
        rows = sounds.alike([window.ways for window in some], count=_LOOKED_AT)
        nearest = (_nearest(window, row, table.measures) for window, row in zip(some, rows, strict=True))
        found += [one for one in nearest if one]
    return found


def _batches(windows: Iterator[_Window], size: int) -> Iterator[list[_Window]]:
    while some := list(islice(windows, size)):
        yield some


def _windows(line: Line, sounds: TermSounds, measures: Measures) -> Iterator[_Window]:
    """The windows that may be looked at."""
    closed = line.closed(any_own=sounds.any_own)
    for first in range(len(line.words)):
        for last in range(first + 1, min(first + measures.longest, len(line.words)) + 1):
            if closed[last - 1] or not line.joined(first, last):
                break
            if _open(line, first, last):
                window = _window(line, first, last, sounds, measures)
                if len(window.ways[0]) >= (
                    measures.exact_shortest if window.odd else measures.ordinary_shortest
                ):
                    yield window


def _open(line: Line, first: int, last: int) -> bool:
    """May these words be touched at all: no small word at an edge, not all terms, not one everyday word?"""
    if line.small[first] or line.small[last - 1]:
        return False
    if all(number >= 0 for number in line.mention[first:last]) or line.breaks_name(first, last):
        return False
    return last - first > 1 or line.odd[first]


def _window(line: Line, first: int, last: int, sounds: TermSounds, measures: Measures) -> _Window:
    odd = any(line.odd[first:last])
    doubt = min(w.confidence for w in line.words[first:last]) < measures.doubtful_below
    share = (measures.odd if odd else measures.ordinary) + doubt * measures.doubt
    ways = sounds.readings(line.said(first, last), odd=odd)
    return _Window(line, first, last, ways, odd, share)


def _nearest(window: _Window, row: list[Alike], measures: Measures) -> Found | None:
    """The target furthest below what is allowed for it, a term before its other names."""
    fit: list[tuple[float, str, Alike]] = []
    named = any(window.line.kept[window.first : window.last])
    for alike in row:
        target = alike.target
        if named and target.likely < 1:
            continue
        allowed = _allowed(window, target, measures)
        off = alike.share + measures.lost * _lost(window, target)
        if off <= allowed and _fits(window, alike, measures):
            main = measures.main * (target.text == target.term)
            fit.append((off - allowed - main, target.text, alike))
    if not fit:
        return None
    alike = min(fit, key=lambda one: one[:2])[2]
    target = alike.target
    reason = f"sounds like {target.text}"
    return Found(window.first, window.last, tuple(target.text.split()), target.kind, 1 - alike.share, reason)


def _allowed(window: _Window, target: Target, measures: Measures) -> float:
    """The share of units that may be off; a short term must be exact, and spoken of around here."""
    line = window.line
    name = target.kind in NAMES
    context = (line.identity if name else line.taste)[window.first]
    if len(target.phones) < measures.shortest:
        return 0.0 if context else -1.0
    likely = measures.likely * target.likely
    long = measures.long * (window.odd and len(target.phones) >= measures.long_from)
    whole = name and len(target.pieces) >= len(window.pieces)  # no word of a name is taken for none
    about = context * (measures.identity if name else measures.taste)
    about *= 1.0 if window.odd or whole else measures.everyday
    about += measures.naming * (window.odd and _named_here(window, target))
    return window.share + likely + long + about


def _named_here(window: _Window, target: Target) -> bool:
    """Is this a name often spoken of, where a wine is being named?"""
    return target.kind in NAMES and target.often and window.line.naming[window.first]


def _fits(window: _Window, alike: Alike, measures: Measures) -> bool:
    """May the words be this target: a name where names are spoken of, a word with a capital in mid-sentence
    only for a name, not for another form of itself; and everyday words only for a long term of which one
    word was heard, or for a very long one, or several for the very sound of a name where a wine is named."""
    target, line, first = alike.target, window.line, window.first
    if target.kind in NAMES:
        sure = alike.share <= measures.exact and len(target.phones) >= measures.ordinary_shortest
        if not line.identity[first] and not (sure and line.words[first].text[:1].isupper()):
            return False
    elif line.name[first]:
        return False
    if window.odd:
        return not _other_form(window, target.text)
    if _named_here(window, target) and window.last - window.first > 1 and alike.share <= measures.exact:
        return True  # "so turns", "pays Doc"
    heard = {match_key(piece) for piece in window.pieces}
    return len(target.phones) >= (
        measures.ordinary_shortest if heard & set(target.pieces) else measures.ordinary_alone
    )


def _other_form(window: _Window, text: str) -> bool:
    """Is one word heard a form of the target ("smoothie", "smooth"), or the target two words for one?"""
    if window.last - window.first > 1:
        return False
    heard, spoken = window.pieces[0], fold(text)
    if " " in spoken:
        return window.line.words[window.first].text[:1].islower()
    return heard.startswith(spoken) or _ENDING.sub("", heard) == _ENDING.sub("", spoken)


def _lost(window: _Window, target: Target) -> int:
    """How many terms that were heard would no longer be there."""
    line = window.line
    numbers = {number for number in line.mention[window.first : window.last] if number >= 0}
    return sum(not line.mention_pieces(number) <= set(target.pieces) for number in numbers)
