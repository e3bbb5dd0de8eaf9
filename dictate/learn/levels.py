"""Degrees to be learnt: "your medium plus is 6". Pure."""

from __future__ import annotations

import statistics
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from dictate.language.tokens import split_word
from dictate.learn.corrections import by_hand, reviewed
from dictate.learn.values import Evidence, Known, Proposal
from dictate.note import Level, Note, fields_of
from dictate.personal.habits import LevelUse

_LEAST: Final = 3  # occasions
_THINGS: Final = 2  # that a degree of whatever is measured was put right of
_FURTHEST: Final = 2.0  # from the lowest to the highest that the taster gave the word
_WORTH: Final = 0.5  # how far the taster's level must be from the table's
_SURE: Final = 0.5  # below this confidence it may be another word
_STEP: Final = 0.25  # a hand does not mean more exactly
_SAME: Final = 0.05
_LINKS: Final = frozenset("the a an is 's it its of at about around say with and are 're".split())


@dataclass(frozen=True, slots=True)
class _Use:
    word: str
    field: str  # "" where the word fits whatever is measured
    of: str  # the field that it was said of
    level: float
    read: float  # what was read of the word
    evidence: Evidence


def level_proposals(notes: Sequence[Note], known: Known) -> Iterator[Proposal]:
    """A proposal for each degree that the taster has put to another level three times or more, and seldom
    left where the table has it."""
    by_word: defaultdict[tuple[str, str], list[_Use]] = defaultdict(list)
    for note in reviewed(notes):
        for use in _uses(note, known):
            by_word[use.word, use.field].append(use)
    own = {(u.word, u.field): u.level for u in known.own.habits.levels}
    for (word, field), uses in by_word.items():
        if (word, field) in own:  # what was read before the taster's own level was known tells no more
            uses = [u for u in uses if abs(u.read - own[word, field]) < _SAME]
        put_right = [u for u in uses if u.level != u.read]
        levels = [u.level for u in put_right]
        if len(put_right) < _LEAST or 2 * len(uses) > 3 * len(put_right):
            continue
        if not field and len({u.of for u in put_right}) < _THINGS:
            continue  # of one thing alone another word may have been lost beside it
        if max(levels) - min(levels) > _FURTHEST or len({u.read for u in put_right}) > 1:
            continue
        level = round(statistics.median(levels) / _STEP) * _STEP
        now = own.get((word, field), put_right[0].read)
        if abs(level - now) >= _WORTH:
            of = f" of {field.partition('.')[2].replace('_', ' ')}" if field else ""
            times = len(put_right)
            yield Proposal(
                "level",
                f"level/{field}/{word}",
                f"your “{word}”{of} is {level:g}, not {now:g} (put right {times} times)",
                tuple(u.evidence for u in put_right),
                LevelUse(word, level, field),
            )


def _uses(note: Note, known: Known) -> Iterator[_Use]:
    """The degrees of a note that were surely heard: what was read, and what the hand left."""
    for field, value in fields_of(note):
        if not isinstance(value, Level) or not value.said or value.source not in ("spoken", "corrected"):
            continue
        words = _degree(value.said, known.nouns)
        changes = [c for c in by_hand(note) if c.field == field and c.before != c.after]
        read = changes[0].before if changes else value.level
        if not words or not isinstance(read, int | float) or value.confidence < _SURE:
            continue
        if _doubtful(note, value):
            continue
        where = "" if known.degree_of(words) is not None else field
        yield _Use(words, where, field, value.level, float(read), Evidence(note.id, words, value.at))


def _degree(said: str, nouns: frozenset[str]) -> str:
    """The words of degree in what was said of a thing: "acidity's medium plus" -> "medium plus"."""
    pieces = [piece for word in said.split() for piece in split_word(word)[0]]
    return " ".join(p for p in pieces if p not in nouns and p not in _LINKS)


def _doubtful(note: Note, value: Level) -> bool:
    """Was a word of it heard unsurely? A hand's value has lost its own confidence."""
    at = value.at
    if at is None:
        return False
    return any(
        w.confidence < _SURE
        for phrase in note.transcript
        for w in phrase.words
        if at[0] <= (w.at[0] + w.at[1]) / 2 <= at[1]
    )
