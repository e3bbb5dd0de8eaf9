"""The line of a note's revisions: which led to it as it is, and which an undo takes back. Pure.

`whys` are the reasons of all revisions by their numbers, from 1 without a gap.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Final

MADE: Final = "made"  # by the program; what a hand had put right before is in it
TAKEN_IN: Final = "taken in"  # from a file; as `MADE`
REVIEWED, EDITED = "reviewed", "edited"
READ_AGAIN: Final = "read again with "  # the program's alone; where a hand's stands beside it, before
MADE_AGAIN: Final = "made again with "
_UNDONE: Final = re.compile(r"undone (\d+)")


def undone(revision: int) -> str:
    """The reason of the revision that takes another back, and those behind it."""
    return f"undone {revision}"


def in_effect(whys: Mapping[int, str]) -> Iterator[int]:
    """The revisions that led to the note as it is, the newest first: what was undone is left out."""
    place = max(whys, default=0)
    while place in whys:
        back = _UNDONE.fullmatch(whys[place])
        if back is None:
            yield place
        place = place - 1 if back is None else min(int(back[1]), place) - 1


def last_change(whys: Mapping[int, str]) -> int | None:
    """The first revision of the change that an undo takes back: by a hand, or the note made again. None where
    there is none."""
    place = next(in_effect(whys), 0)
    why = whys.get(place, "")
    if why.startswith(MADE_AGAIN) and whys.get(place - 1, "").startswith(READ_AGAIN):
        place -= 1
    elif why not in (REVIEWED, EDITED) and not why.startswith(MADE_AGAIN):
        return None
    return place if place - 1 in whys else None


def taken_back(whys: Mapping[int, str]) -> str:
    """With what the note was made again and then put back as it was, as the last that happened to it; ""
    where that was something else."""
    back = _UNDONE.fullmatch(whys.get(max(whys, default=0), ""))
    first = int(back[1]) if back else 0
    why = next((w for n in (first, first + 1) if (w := whys.get(n, "")).startswith(MADE_AGAIN)), "")
    return why.removeprefix(MADE_AGAIN)
