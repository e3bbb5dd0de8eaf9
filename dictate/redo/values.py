"""What redoing hands about."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from dictate.form import Difference
from dictate.note import MadeWith, Note
from dictate.recognise.recogniser import Recogniser
from dictate.settings import Settings

From = Literal["sound", "words"]


@dataclass(frozen=True, slots=True)
class Hear:
    """How notes are made again: from the sound, which takes time, or from the words that they hold. `before`:
    notes of this flight that were made before, where a list's order goes on."""

    settings: Settings
    by: From = "sound"
    recogniser: Recogniser | None = None
    recut: bool = False  # where wines are parted otherwise now, that is taken
    before: int = 0
    progress: Callable[[float], None] | None = None


@dataclass(frozen=True, slots=True)
class Made:
    """The notes that a recording gives now. `heard`: they were heard anew; `timed`: what a clock tells was
    read in the sound, or there is none."""

    notes: tuple[Note, ...]
    heard: bool = True
    timed: bool = True


@dataclass(frozen=True, slots=True)
class Redone:
    """A note that was made again, as it is in the library now; `same`: nothing of it changed. `was`: with
    what it was made before."""

    number: int
    note: Note
    was: MadeWith | None
    difference: Difference
    same: bool = False
    is_new: bool = False  # a part of an older note, parted from it


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one recording; `problems`: a line for each thing that stays as it was, and why; `told`:
    what else was done to notes."""

    redone: tuple[Redone, ...] = ()
    problems: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
