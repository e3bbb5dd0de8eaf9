"""Where words of the lexicon stand in tokens: the longest match wins, place by place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dictate.language.tokens import Token
from dictate.lexicon.entries import Entry, Lexicon, match_key


@dataclass(frozen=True, slots=True)
class Mention:
    """Tokens [first, last) spell a word of the lexicon; it may be of several kinds ("lemon")."""

    first: int
    last: int
    entries: tuple[Entry, ...]

    def of(self, kind: str) -> Entry | None:
        """The entry of this kind, or None."""
        return next((e for e in self.entries if e.kind == kind), None)


def find_mentions(tokens: Sequence[Token], lexicon: Lexicon) -> tuple[Mention, ...]:
    """All mentions, in order, none overlapping; a match never reaches over a full stop.

    A comma inside a name is allowed only where the lexicon's own spelling is long enough
    that a chance match is out of the question (three tokens or more).
    """
    keys = [match_key(t.text) for t in tokens]
    found: list[Mention] = []
    place = 0
    while place < len(tokens):
        step = 1
        for spelled, entries in lexicon.beginning(keys[place]):
            size = len(spelled)
            if tuple(keys[place : place + size]) != spelled:
                continue
            inner = tokens[place : place + size - 1]
            if any(t.pause in (".", "?", "!", ";") or (t.pause and size < 3) for t in inner):
                continue
            found.append(Mention(place, place + size, entries))
            step = size
            break
        place += step
    return tuple(found)
