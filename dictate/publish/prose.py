"""A note as one paragraph in the taster's own words, in the order of tasting. Pure.

Nothing is added but marks, a capital at the beginning of a sentence, and the timed finish; what was
denied is told as it was denied. What holds no more (struck, scrapped, corrected) is left out.
"""

from __future__ import annotations

import re

from dictate.export import drink_window, held_line
from dictate.note import Note
from dictate.publish.amend import amended
from dictate.publish.script import GROUPS, Clause, Group, Held, clauses_of, held_values, told, trimmed

_SAYS_NOTHING = frozenset("um uh er erm hm hmm mm ah eh uf okay ok right".split())  # by itself
_HANGS = re.compile(r"\b(the|a|an|and|or)$", re.IGNORECASE)
_GOES_ON = re.compile(r"(and|but|or|so|though|although|with|yet|then)\b", re.IGNORECASE)
_ENDS = (".", "!", "?", "…")
# the words that this room may put beside the taster's own
CONNECTING = frozenset(
    "no perhaps the finish held timed by cue about but where a begins is unclear in sound at rim of out"
    " points s drink from to".split()
)


def as_prose(note: Note) -> str:
    """One paragraph: appearance, nose, palate, finish, verdict. "" where nothing was said of the wine.

    A value that no transcript has (typed, or from another program) is told by itself behind the words
    of its stage.
    """
    clauses, standing = clauses_of(note), amended(note)
    sentences: dict[Group, list[str]] = {group: [] for group in GROUPS}
    if line := held_line(note):
        sentences["finish"].append(f"the finish {line}.")
    for number, phrase in enumerate(note.transcript):
        groups = {h.group for clause in clauses[number] for h in clause.held}
        if phrase.stage in GROUPS:  # its values know better than its neighbours where it belongs
            group = groups.pop() if len(groups) == 1 else phrase.stage
            _append(sentences[group], tuple(text for _, text in standing[number]))
        elif phrase.stage != "cue":  # what names the wine or goes beside it may hold a value as well
            for group, kept in _holding(standing[number]).items():
                _append(sentences[group], kept)
    for held in _untranscribed(note, clauses):
        _append(sentences[held.group], (told(held),))
    if not note.transcript:
        _append(sentences["verdict"], (drink_window(note),))
    return " ".join(_sentence(text) for group in GROUPS for text in sentences[group])


def _holding(standing: tuple[tuple[Clause, str], ...]) -> dict[Group, tuple[str, ...]]:
    """Of a phrase that is of no stage, what holds a value; where that is denied, the whole, for its "no"."""
    made: dict[Group, tuple[str, ...]] = {}
    held = [(clause.held[0].group, text) for clause, text in standing if clause.held]
    if any(h.is_absent for clause, _ in standing for h in clause.held):
        return {held[0][0]: tuple(text for _, text in standing)}
    for group, text in held:
        made[group] = (*made.get(group, ()), text)
    return made


def _untranscribed(note: Note, clauses: tuple[tuple[Clause, ...], ...]) -> list[Held]:
    placed = {id(held.value) for phrase in clauses for clause in phrase for held in clause.held}
    return [held for held in held_values(note) if id(held.value) not in placed and told(held)]


def _append(sentences: list[str], clauses: tuple[str, ...]) -> None:
    """A sentence more; one that goes on with "and ..." joins the one before it."""
    text = ""
    for clause in clauses:
        words = trimmed(clause)
        if not words or words.lower() in _SAYS_NOTHING:
            continue
        bare = _GOES_ON.fullmatch(text.rpartition(", ")[2])  # "cherry, and, prune"
        text += (" " if bare else ", " if text and text[-1] not in _ENDS else " " if text else "") + words
    if not text:
        return
    if sentences and _HANGS.search(sentences[-1]):
        sentences[-1] += f" {text}"
    elif sentences and _GOES_ON.match(text) and sentences[-1][-1] not in _ENDS:
        sentences[-1] += f", {text}"
    else:
        sentences.append(text)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if text.endswith(_ENDS) else ".")
