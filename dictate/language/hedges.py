"""Words around a number that make it rough: "about twelve", "ninety two plus", "just under a minute"."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from dictate.language.tokens import Token

Hedge = Literal["", "about", "over", "under"]  # over: at least or more; under: at most or less

_BEFORE: dict[Hedge, str] = {
    "about": "about around roughly approximately circa some maybe perhaps say something_like in_the_region_of"
    " call_it close_to more_or_less like near give_or_take almost_exactly i_'d_say",
    "over": "over above more_than at_least a_good good north_of upwards_of just_over a_little_over well_over"
    " a_touch_over a_shade_over a_bit_over easily no_less_than not_less_than in_excess_of a_solid",
    "under": "under below less_than at_most up_to nearly almost just_under just_shy_of not_quite no_more_than"
    " not_more_than a_shade_under a_touch_under getting_on_for pushing barely only_just fewer_than",
}
_BEHIND: dict[Hedge, str] = {
    "about": "or_so ish odd or_thereabouts give_or_take something roughly maybe approximately",
    "over": "or_more plus at_least easily and_counting and_up or_better",
    "under": "tops max maximum at_most at_best or_less or_under if_that",
}
_LONGEST = 4


def _table(words: dict[Hedge, str]) -> dict[tuple[str, ...], Hedge]:
    return {tuple(said.split("_")): hedge for hedge, listed in words.items() for said in listed.split()}


_BEFORE_TABLE, _BEHIND_TABLE = _table(_BEFORE), _table(_BEHIND)


def hedge_before(tokens: Sequence[Token], place: int) -> Hedge:
    """The hedge whose words end right in front of token `place`, the longest; "" where none does."""
    for size in range(min(_LONGEST, place), 0, -1):
        words = tokens[place - size : place]
        if any(token.pause for token in words):
            continue
        hedge = _BEFORE_TABLE.get(tuple(token.text for token in words), "")
        if hedge:
            return hedge
    return ""


def hedge_behind(tokens: Sequence[Token], place: int) -> tuple[Hedge, int]:
    """The hedge whose words begin at token `place`, and where they end."""
    for size in range(min(_LONGEST, len(tokens) - place), 0, -1):
        words = tokens[place : place + size]
        hedge = _BEHIND_TABLE.get(tuple(token.text for token in words), "")
        if hedge and not any(token.pause for token in words[:-1]):
            return hedge, place + size
    return "", place
