"""A wine's name in a sentence that describes it or another ("this Chinon has strawberry", "full for a
Muscadet"): it is no naming of the wine, though it may tell which one is meant."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from dictate.language.mentions import Mention
from dictate.language.tokens import Token

Passing = Literal["", "this", "the"]  # the wine in hand is called so; some wine is

_SAYS = frozenset(
    "has had shows showed gives gave smells smelled smelt tastes tasted seems feels looks".split()
)
_IS = frozenset("is 's was".split())
_NAMES = frozenset("from a an the in by not called".split())  # "this Chinon is from ..." goes on naming it
_KINDS = ("grape", "origin", "producer", "wine")


def named_for_sure(tokens: Sequence[Token], mention: Mention) -> bool:
    """Whether a mention is a name and no ordinary word as well ("the robe is deep gold": Robe is a place)."""
    said = " ".join(t.text for t in tokens[mention.first : mention.last])
    entries = [entry for entry in map(mention.of, _KINDS) if entry]
    return bool(entries) and not any(
        e.data.get("risky") or said in e.data.get("ambiguous", ()) for e in entries
    )


def in_passing(tokens: Sequence[Token], mention: Mention) -> Passing:
    """Whether a mention of a grape, place or producer stands in such a sentence, and of which wine."""
    if not mention.first or not named_for_sure(tokens, mention):
        return ""
    before, last = tokens[mention.first - 1], mention.last
    if before.pause:
        return ""
    for_a = before.text in ("a", "an") and mention.first > 2 and tokens[mention.first - 2].text == "for"
    if for_a and not tokens[mention.first - 2].pause and not tokens[mention.first - 3].pause:
        return "this"
    if before.text not in ("this", "the", "that") or tokens[last - 1].pause or last + 1 >= len(tokens):
        return ""
    told = tokens[last].text
    describes = told in _SAYS or (told in _IS and tokens[last + 1].text not in _NAMES)
    if not describes or tokens[last + 1].text[:1].isdigit():
        return ""
    return "this" if before.text == "this" else "the"
