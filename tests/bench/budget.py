"""Where the corrections of spoken notes come from: each mistake is laid beside the same words read as text.

A value that the text form of a note gets right and its speech does not was either misheard, or heard and
misread. Heard are the words that stand in the transcript of the note (after repair) at the time of the line.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from tests.scoring import IDENTITY, LEVELS, LISTS, Mistake, at, plain, same
from tests.speech.synth import Line

CLASSES = {
    "a name": "a producer's name, which only a wine list could give",
    "b origin, grape": "of the lexicon, misheard",
    "c descriptor": "or another term of the lexicon, misheard",
    "d reading": "the words were heard and misread",
    "e level": "its words misheard",
    "f number": "position, code, vintage, score, years misheard",
    "g cue": "a finish not timed, or timed though no one did",
    "i as text": "wrong in the text form of the note too",
}
_NUMBERS = ("wine.position", "wine.code", "wine.vintage", "verdict.score", "finish.seconds")
_REACH_S = 0.6  # a word may stand a little outside its line
_PLAIN = re.compile(r"[^a-z0-9]+")


def _words(text: str) -> set[str]:
    """Words without case, plural and punctuation."""
    return {w.rstrip("s") for w in _PLAIN.sub(" ", text.lower()).split()}


def _heard(note: Mapping[str, Any], lines: Iterable[Line]) -> str:
    """What was heard while some lines were said."""
    spans = [(line.start_s - _REACH_S, line.end_s + _REACH_S) for line in lines]
    return " ".join(
        phrase["text"]
        for phrase in note.get("transcript") or []
        if any(phrase["at"][0] < end and start < phrase["at"][1] for start, end in spans)
    )


def _value(note: Mapping[str, Any], path: str, wanted: Any) -> Any:
    """The value of a note's text form that is the wanted one."""
    found = at(note, path)
    if path in (*LISTS, "faults"):
        return next((one for one in found or [] if same(plain(one), wanted)), None)
    return found


def _kind(path: str) -> str:
    """The class of a value that was misheard."""
    if path == "wine.producer":
        return "a name"
    if path in _NUMBERS or "drink_" in path:
        return "f number"
    if path in (*IDENTITY, "wine.grapes"):
        return "b origin, grape"
    return "e level" if path in LEVELS else "c descriptor"


def class_of(
    mistake: Mistake, *, note: Mapping[str, Any], text: Mapping[str, Any], lines: Sequence[Line],
    as_text: Sequence[Mistake],
) -> str:  # fmt: skip
    """The class of one mistake. `note`: as heard, `text`: of the same lines read as text, `as_text`: its
    mistakes; `lines`: what was said, with times."""
    path = mistake.path
    if any(m.path == path and (m.given, m.wanted) == (mistake.given, mistake.wanted) for m in as_text):
        return "i as text"
    if mistake.wanted is None:  # nobody said so: were the words said?
        extra = _value(note, path, mistake.given)
        said = extra.get("said", "") if isinstance(extra, Mapping) else str(mistake.given)
        true = " ".join(line.say for line in lines)
        return "d reading" if _words(said) and _words(said) <= _words(true) else _kind(path)
    right = _value(text, path, mistake.wanted)
    if isinstance(right, Mapping) and "at" in right:
        start, end = right["at"]
        meant = [line for line in lines if line.start_s < end and start < line.end_s]
        heard, said = _heard(note, meant), right["said"]
    else:
        heard, said = _heard(note, lines), str(right)
    return "d reading" if _words(said) <= _words(heard) else _kind(path)


def as_table(counts: Counter[tuple[str, str]], notes: int) -> str:
    """Corrections by class and by note, as text. `counts`: by (class, note)."""
    lines = [f"error budget: {counts.total()} corrections in {notes} notes"]
    for name, what in CLASSES.items():
        mine = {note: n for (one, note), n in counts.items() if one == name}
        if mine:
            where = " ".join(f"{note}:{n}" for note, n in sorted(mine.items()))
            lines.append(f"  {name:16s}{sum(mine.values()):4d}  {what}; {where}")
    return "\n".join(lines)
