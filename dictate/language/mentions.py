"""Where words of the lexicon stand in tokens: the longest match wins, place by place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dictate.language.tokens import Token, accented_pieces
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
        here = _longest(tokens, keys, lexicon, place)
        if here is None:
            place += 1
            continue
        # English puts the head last: "old church candles" are candles, not an old church
        later = next(
            (
                m
                for start in range(place + 1, here.last)
                if (m := _longest(tokens, keys, lexicon, start))
                and m.last > here.last
                and m.last - m.first >= here.last - here.first
            ),
            None,
        )
        found.append(later or here)
        place = found[-1].last
    return tuple(found)


def _longest(tokens: Sequence[Token], keys: Sequence[str], lexicon: Lexicon, place: int) -> Mention | None:
    """The longest word of the lexicon that begins at a token."""
    for spelled, entries in lexicon.beginning(keys[place]):
        size = len(spelled)
        if tuple(keys[place : place + size]) != spelled:
            continue
        inner = tokens[place : place + size - 1]
        if any(t.pause in (".", "?", "!", ";") or (t.pause and size < 3) for t in inner):
            continue
        meant = _in_accent(entries, tokens[place : place + size])
        return Mention(
            place, place + size, _in_number(meant, tokens[place + size - 1], keys[place + size - 1])
        )
    return None


def _in_accent(entries: tuple[Entry, ...], tokens: Sequence[Token]) -> tuple[Entry, ...]:
    """Who writes an accent means the word that has it: "rosé" is a colour and no flower. One without may be
    either, for few write them."""
    accents = {t.accented for t in tokens if t.accented}
    if not accents or len(entries) < 2:
        return entries
    return (
        tuple(e for e in entries if any(accents <= set(accented_pieces(said)) for said in e.said)) or entries
    )


def _in_number(entries: tuple[Entry, ...], last: Token, key: str) -> tuple[Entry, ...]:
    """A colour has no plural: "violets" and "cherries" are things, "violet" and "cherry" may be hues."""
    if last.text == key or len(entries) < 2:
        return entries
    return (
        tuple(e for e in entries if e.kind != "hue" or any(said.endswith(last.text) for said in e.said))
        or entries
    )
