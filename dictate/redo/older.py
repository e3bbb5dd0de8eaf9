"""Whether a note was made with older means than those at hand, and which. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterator

from dictate.note import MadeWith

TRANSCRIPT = "transcript"  # the model of what nobody heard: a timed transcript


def older(made: MadeWith | None, present: MadeWith, *, hears: bool = True) -> tuple[str, ...]:
    """Why a note is older, in words, () where it is not.

    `hears` says whether it would be heard again: else its model is no reason, nor is it where the present one
    is not known (""). Of a lexicon its files count alone: how many words of the taster's own stood beside it,
    and names of a list, its version tells too, but not which. What a newer program made is older in nothing.
    """
    if made is None:
        return ("not known with what it was made",)
    if _number(made.program) > _number(present.program):
        return ()
    return tuple(_reasons(made, present, hears=hears))


def _reasons(made: MadeWith, present: MadeWith, *, hears: bool) -> Iterator[str]:
    if made.program != present.program:
        yield f"program {made.program} → {present.program}"
    heard = hears and made.model != TRANSCRIPT and present.model
    if heard and made.model != present.model:
        yield f"model {made.model} → {present.model}"
    if _files(made.lexicon) != _files(present.lexicon):
        yield "lexicon"


def _files(version: str) -> str:
    return version.partition("+")[0]


def _number(version: str) -> tuple[int, ...]:
    return tuple(int(figures) for figures in re.findall(r"\d{1,9}", version.partition("+")[0])[:3])


def told_with(made: MadeWith) -> str:
    """With what a note was made, on one line."""
    return f"program {made.program}, {made.model}, lexicon {_files(made.lexicon)}"
