"""Words of a tasting that fed no field, though they were likely meant to. Pure."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

from dictate.doubt.evidence import unsure
from dictate.doubt.table import DoubtTable
from dictate.language.tokens import fold
from dictate.note import Note, TranscriptPhrase

_STAGES: Final = ("identity", "appearance", "nose", "palate", "finish", "verdict")
UNREAD_EVIDENCE: Final = ("phrase", "announces")
# words behind which a taster names something, or something is measured
_ANNOUNCES: Final = re.compile(
    r"\b(bit|touch|hint|some|lots|heaps|loads|little|notes?|nose|palate|mouth|colour|finish|body|acid|acidity"
    r"|tannins?|alcohol|dry|sweet|fruit|almost|quite|very|medium|high|low|again)\b"
)


@dataclass(frozen=True, slots=True)
class Unread:
    """A phrase from which nothing was read: its words, `at` (start and end in the recording, seconds), and
    the chance (0 to 1) that something of it belongs in a field."""

    text: str
    at: tuple[float, float]
    chance: float


def unread_of(note: Note, table: DoubtTable) -> tuple[Unread, ...]:
    """Phrases that became remarks and probably hold a value all the same (misheard trade talk), the
    likeliest first."""
    found = [
        Unread(phrase.text, phrase.at, unread_chance(phrase, table)) for phrase in remarked_phrases(note)
    ]  # fmt: skip
    shown = [each for each in found if each.chance >= table.unread["shown"]]
    return tuple(sorted(shown, key=lambda each: -each.chance))


def remarked_phrases(note: Note) -> tuple[TranscriptPhrase, ...]:
    """The phrases of the transcript that fed no field and are about the wine."""
    remarked = {remark.at for remark in note.remarks}
    return tuple(p for p in note.transcript if p.stage in _STAGES and p.at in remarked)


def unread_evidence(phrase: TranscriptPhrase) -> tuple[float, ...]:
    """What tells of a phrase that it holds a value, in the order of UNREAD_EVIDENCE."""
    return unsure(phrase.words), float(_ANNOUNCES.search(fold(phrase.text)) is not None)


def unread_chance(phrase: TranscriptPhrase, table: DoubtTable) -> float:
    """The chance, 0 to 1, that a phrase which fed no field holds a value."""
    weights = (table.unread[name] for name in UNREAD_EVIDENCE)
    odds = table.unread["bias"] + sum(
        w * f for w, f in zip(weights, unread_evidence(phrase), strict=True)
    )  # fmt: skip
    return 1 / (1 + math.exp(-odds))
