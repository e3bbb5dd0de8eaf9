"""What speaks for and against a value, as numbers: what the weights of `doubt.toml` are for."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Final

from dictate.doubt.held import Held, held_values, same_text
from dictate.language.tokens import as_heard, fold
from dictate.lexicon.entries import spelled
from dictate.note import Fault, Note, TranscriptWord
from dictate.sense import Check, sense_checks

# all but the kinds: 0 for a value that was plainly said and surely heard
EVIDENCE: Final = (
    "word",  # how unsure the recogniser was of the least sure word, as log-odds: 0 at 0.98, more below
    "phrase",  # ... of the phrase's words on the whole
    "note",  # ... of the note's words on the whole: the room, the voice
    "repaired",  # 1: other words were heard
    "changed",  # how far they were from these, 0 to 1
    "perhaps",  # 1: said with a doubt
    "inferred",  # 1: not said, follows from what was
    "later",  # 1: put right while talking
    "unknown",  # 1: no term of the lexicon
    "strange",  # 1: a sense check speaks of it
    "unsaid",  # 1: the value's own words are not among those it was read from
    "lost",  # 1: no words are behind it
    "once",  # 1: said at one place of the note alone
    "short",  # 1: four letters at most
)
KINDS: Final = (
    "name", "origin", "grape", "vintage", "number", "colour", "seen", "level", "smelt", "felt", "absent",
    "fault", "seconds", "verdict",
)  # fmt: skip
_KIND_OF: Final[Mapping[str, str]] = {
    "wine.position": "number", "wine.code": "number", "wine.producer": "name", "wine.name": "name",
    "wine.origin": "origin", "wine.grapes": "grape", "wine.vintage": "vintage", "wine.colour": "colour",
    "wine.style": "colour", "appearance.depth": "level", "nose.intensity": "level", "nose.age": "verdict",
    "nose.aromas": "smelt", "nose.absent": "absent", "palate.tannin_texture": "felt",
    "palate.texture": "felt", "palate.balance": "verdict", "palate.flavours": "smelt",
    "palate.absent": "absent", "finish.seconds": "seconds", "finish.length": "level",
    "finish.flavours": "smelt", "faults": "fault", "verdict.quality": "level",
}  # fmt: skip
_BY_SECTION: Final = {"appearance": "seen", "palate": "level", "verdict": "verdict"}
# which fields a sense check speaks of: its first words that name a thing
_CHECKED: Final = (
    (re.compile(r"\b(hazy|cloudy)\b"), ("appearance.clarity",)),
    (re.compile(r"^bubbles"), ("appearance.bubbles", "wine.style")),
    (re.compile(r"^tannin in a white"), ("palate.tannin", "wine.colour")),
    (re.compile(r"g/L of sugar"), ("palate.sweetness",)),
    (re.compile(r" beside [\d.]+ s$"), ("finish.length", "finish.seconds")),
    (re.compile(r"^drink "), ("verdict.drink_from", "verdict.drink_to", "wine.vintage")),
    (re.compile(r" in an? (young|old) (white|red)$"), ("appearance.hue", "wine.vintage", "wine.colour")),
)
_PERHAPS: Final = re.compile(
    r"\b(perhaps|maybe|might|may be|possibly|i think|i guess|not sure|sort of|kind of|almost|probably"
    r"|i suppose|could be|or is it|if anything|i'd say|is that)\b"
)
_SURE, _LEAST = 0.98, 0.02  # confidences beyond these tell no more
_SHORT = 4


@dataclass(frozen=True, slots=True)
class Evidence:
    """A value and what speaks against it, in the order of `EVIDENCE`; `kind` is one of `KINDS`."""

    held: Held
    kind: str
    against: tuple[float, ...]

    @property
    def features(self) -> tuple[float, ...]:
        """All that is weighed: EVIDENCE, then 1 at the place of its kind."""
        return (*self.against, *(float(self.kind == kind) for kind in KINDS))


def evidence_of(note: Note, year: int | None = None) -> tuple[Evidence, ...]:
    """What speaks against each value of a note, in the order of its fields. `year`: see `sense_checks`."""
    held = list(held_values(note))
    strange = _strange(sense_checks(note, year))
    whole = unsure([w for p in note.transcript for w in p.words])
    terms = [spelled(each.text) for each in held]
    return tuple(
        Evidence(each, kind_of(each.field), _against(each, whole, strange, terms.count(key)))
        for each, key in zip(held, terms, strict=True)
    )


def kind_of(field: str) -> str:
    """The kind of a field, one of `KINDS`."""
    return _KIND_OF.get(field, _BY_SECTION.get(field.partition(".")[0], "number"))


def _strange(checks: Sequence[Check]) -> frozenset[str]:
    return frozenset(
        field
        for check in checks
        for words, fields in _CHECKED
        if words.search(check.text)
        for field in fields
    )


def _against(held: Held, whole: float, strange: frozenset[str], times: int) -> tuple[float, ...]:
    value, words = held.value, held.words
    source = getattr(value, "source", "spoken")
    said = " ".join(w.text for w in words)
    around = " ".join(p.text for p in held.phrases)
    heard = heard_for(words)
    doubted = isinstance(value, Fault) and not value.certain
    measured = hasattr(value, "level") or not hasattr(value, "said")
    found = {
        "word": max(unsure(words, least=True), _log_odds(held.sure)),
        "phrase": unsure([w for p in held.phrases for w in p.words]),
        "note": whole,
        "repaired": heard != "",
        "changed": 1 - SequenceMatcher(None, fold(heard), fold(said)).ratio() if heard else 0.0,
        "perhaps": doubted or bool(_PERHAPS.search(fold(around))),
        "inferred": source == "inferred",
        "later": source == "stated later",
        "unknown": not getattr(value, "known", True),
        "strange": held.field in strange,
        "unsaid": bool(words) and not measured and not _says(said, held.text),
        "lost": not words,
        "once": times < 2 and not measured,
        "short": bool(said) and len("".join(c for c in said if c.isalnum())) <= _SHORT,
    }
    return tuple(float(found[name]) for name in EVIDENCE)


def heard_for(words: Sequence[TranscriptWord]) -> str:
    """What the recogniser wrote for words, "" where no repair changed them."""
    if all(w.heard is None for w in words):
        return ""
    heard = as_heard(words)
    said = " ".join(w.text for w in words)
    return "" if same_text(heard, said) else heard


def _log_odds(confidence: float) -> float:
    """0 for a sure word, about 4 for one of even odds, about 8 for a guess."""
    bounded = min(_SURE, max(_LEAST, confidence))
    return math.log(_SURE / (1 - _SURE)) - math.log(bounded / (1 - bounded))


def unsure(words: Sequence[TranscriptWord], *, least: bool = False) -> float:
    """How unsure the recogniser was of words, in log-odds from 0: on the whole, or of the `least` sure."""
    if not words:
        return 0.0
    unsure = [_log_odds(w.confidence) for w in words]
    return max(unsure) if least else sum(unsure) / len(unsure)


def _says(said: str, value: str) -> bool:
    """Are the value's words, singular or plural, among those said?"""
    return set(spelled(value)) <= set(spelled(said))
