"""How a taster speaks, beside their own words: what they mean by a degree, cues of their own, and what they
did not want to be learnt. Pure: `store.py` reads and writes the file.

Nothing gets in here by itself: each was accepted or declined by the taster.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, Final, TypeVar, get_args

from dictate.language.tokens import split_word
from dictate.personal.words import MAX_LENGTH, PersonalWord, WordsError
from dictate.values import CueKind

FORMAT: Final = "dictate-habits/1"
MAX_HABITS: Final = 2000  # of each sort; ours: far above any use
_CLITICS: Final = frozenset(["'s", "'re", "'ve", "'ll", "'d", "'m"])  # pieces that stay as they are
_CUES: Final = get_args(CueKind)


@dataclass(frozen=True, slots=True)
class LevelUse:
    """What a taster means by a degree: the `level` (0 to 10) of their word ("medium plus"), of one `field`
    ("palate.acidity") or, where that is "", of whatever is measured."""

    word: str
    level: float
    field: str = ""


@dataclass(frozen=True, slots=True)
class CuePhrase:
    """A phrase by which a taster gives a cue ("lights out" for "gone")."""

    kind: CueKind
    phrase: str


_Habit = TypeVar("_Habit", LevelUse, CuePhrase)


@dataclass(frozen=True, slots=True)
class Habits:
    """All of it. `declined`: what the taster did not want, by its key, and on how many occasions it had been
    seen then."""

    levels: tuple[LevelUse, ...] = ()
    cues: tuple[CuePhrase, ...] = ()
    declined: tuple[tuple[str, int], ...] = ()

    @property
    def cue_phrases(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """The cues as `Settings.cues` has them: kind, phrases."""
        kinds = dict.fromkeys(cue.kind for cue in self.cues)
        return tuple((kind, tuple(c.phrase for c in self.cues if c.kind == kind)) for kind in kinds)


@dataclass(frozen=True, slots=True)
class Own:
    """All that a taster's notes are read by: words and habits."""

    words: tuple[PersonalWord, ...] = ()
    habits: Habits = Habits()


def spoken_form(text: str) -> str:
    """Words as they are matched: lower case, without accents and marks. Raises WordsError where none is left
    or they are too long."""
    form, before = text, ""
    while form != before:  # "z'd'd": each time one more is parted
        before = form
        form = " ".join(p for w in before.split() for p in ((w,) if w in _CLITICS else split_word(w)[0]))
    if not form or not any(c.isalpha() for c in form) or len(form) > MAX_LENGTH:
        raise WordsError(f"“{text[:30]}” is no phrase that could be said; give a few words")
    return form


def with_level(habits: Habits, use: LevelUse) -> Habits:
    """The habits with a degree, in place of what was held of it before. Raises WordsError."""
    if not (math.isfinite(use.level) and 0 <= use.level <= 10):
        raise WordsError(f"“{use.word[:30]}”: a level is a number from 0 to 10")
    use = replace(use, word=spoken_form(use.word), level=round(use.level, 2))
    others = tuple(u for u in habits.levels if (u.word, u.field) != (use.word, use.field))
    return replace(habits, levels=_bounded((*others, use)))


def with_cue(habits: Habits, cue: CuePhrase) -> Habits:
    """The habits with a cue's phrase. Raises WordsError on a cue that is none."""
    if cue.kind not in _CUES:
        raise WordsError(f"“{cue.kind[:30]}” is no cue; the cues are {', '.join(_CUES)}")
    cue = replace(cue, phrase=spoken_form(cue.phrase))
    if cue in habits.cues:
        return habits
    return replace(habits, cues=_bounded((*habits.cues, cue)))


def with_declined(habits: Habits, key: str, *, times: int) -> Habits:
    """The habits with something that the taster did not want, having seen it so many times."""
    others = tuple(each for each in habits.declined if each[0] != key)
    return replace(habits, declined=(*others, (key, times))[-MAX_HABITS:])


def _bounded(made: tuple[_Habit, ...]) -> tuple[_Habit, ...]:
    if len(made) > MAX_HABITS:
        raise WordsError(f"more than {MAX_HABITS} habits; remove some")
    return made


def habits_to_json(habits: Habits) -> str:
    """The file's text."""
    data = {
        "format": FORMAT,
        "levels": [{"word": u.word, "level": u.level, "field": u.field} for u in habits.levels],
        "cues": [{"kind": c.kind, "phrase": c.phrase} for c in habits.cues],
        "declined": dict(habits.declined),
    }
    return json.dumps(data, ensure_ascii=False, indent=1) + "\n"


def habits_from_json(text: str) -> Habits:
    """The habits of a file's text. Raises WordsError, one line, on the first thing that is wrong."""
    try:
        data = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise WordsError(f"no habits in it: {str(error)[:80]}") from error
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise WordsError(f"the format is not {FORMAT}")
    made = Habits()
    for entry in _entries(data, "levels", keys={"word": str, "level": (int, float), "field": str}):
        made = with_level(made, LevelUse(entry["word"], float(entry["level"]), entry["field"]))
    for entry in _entries(data, "cues", keys={"kind": str, "phrase": str}):
        made = with_cue(made, CuePhrase(entry["kind"], entry["phrase"]))
    declined = data.get("declined", {})
    if not isinstance(declined, dict) or not all(type(times) is int for times in declined.values()):
        raise WordsError("“declined” must tell how many times each was seen")
    for key, times in declined.items():
        made = with_declined(made, key, times=times)
    return made


def _entries(data: dict[str, Any], name: str, *, keys: dict[str, Any]) -> Iterable[dict[str, Any]]:
    entries = data.get(name, [])
    if not isinstance(entries, list):
        raise WordsError(f"“{name}” must be a list")
    for entry in entries:
        good = isinstance(entry, dict) and set(entry) == set(keys)
        if not good or any(
            isinstance(entry[k], bool) or not isinstance(entry[k], kind) for k, kind in keys.items()
        ):
            raise WordsError(f"“{name}”: each must have {', '.join(keys)}")
        yield entry
