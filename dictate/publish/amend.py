"""What the taster took back or put right, taken out of the clauses. Pure.

What can be told apart surely is taken out: a struck phrase, a thing scrapped, a level named anew. Where
it cannot, both the slip and its correction stay as they were said: never the one without the other.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from dictate.language.tokens import fold
from dictate.note import Change, Level, Note
from dictate.publish.script import BY_HAND, Clause, Held, clauses_of, covers, told

# how tasters name the thing that a level is of
_NOUNS = {
    "depth": r"colou?r|depth|pale|deep|light|dark",
    "sweetness": r"sweet\w*|sugar|dry|off-dry",
    "acidity": r"acid\w*",
    "tannin": r"tann\w+",
    "alcohol": r"alcohol\w*|warm\w*|hot",
    "body": r"body|bodied|weight",
    "bitterness": r"bitter\w*",
    "intensity": r"intensity|nose",
    "mousse": r"mousse|fizz\w*|bubbles",
    "length": r"finish|length",
    "quality": r"quality",
}
_PUTS_RIGHT = re.compile(
    r"^(no|nope|sorry|wait|correction|actually|rather|hm+|er+|oh)\b"
    r"|\b(let me correct|correct that|(i|did i) (said|say)|didn't i|i mean|i meant|make (it|that|the))\b"
)
_SCRAPS = re.compile(
    r"\b(scrap|scratch|strike|cancel|forget|delete|drop|lose|take) (that|the|it|out|those|my)\b"
    r"|^(no|nope|wait|sorry)$"
)
_SCRAPPED = re.compile(r"\b(scrap|scratch|strike|cancel|forget|delete|drop|lose|take) ")
_AT = re.compile(r"(\d+(?:\.\d+)?) s into the recording")


@dataclass(slots=True)
class _Edit:
    """Clauses left out, and texts that stand for others, by their keys."""

    clauses: Sequence[Clause]
    out: set[tuple[int, int]] = field(default_factory=set)
    texts: dict[tuple[int, int], str] = field(default_factory=dict)

    def of_phrase(self, number: int) -> list[Clause]:
        return [c for c in self.clauses if c.phrase == number and c.key not in self.out]

    def denies(self, number: int) -> bool:
        """Whether a phrase says that something is not there: its "no" may stand in any clause of it."""
        return any(h.is_absent for c in self.clauses if c.phrase == number for h in c.held)

    def drop(self, clauses: Sequence[Clause]) -> None:
        self.out.update(clause.key for clause in clauses)


def amended(note: Note) -> tuple[tuple[str, ...], ...]:
    """For each phrase of the transcript the texts of the clauses that hold, in order."""
    phrases = clauses_of(note)
    edit = _Edit([clause for phrase in phrases for clause in phrase])
    for change in note.history:
        if change.field == "transcript" and change.after is None:
            _strike(note, change, edit=edit)
        elif change.by == "hand":
            continue
        elif change.after is None and isinstance(change.before, str):
            _scrap(note, change, edit=edit)
    for held in {id(h.value): h for clause in edit.clauses for h in clause.held}.values():
        if held.value.source == "stated later":
            _put_right(note, held, edit=edit)
        elif held.value.source in BY_HAND:
            _by_hand(held, edit=edit)
    _removed_by_hand(note, edit)
    return tuple(
        tuple(edit.texts.get(c.key, c.text) for c in phrase if c.key not in edit.out) for phrase in phrases
    )


def _phrase_at(note: Note, change: Change) -> int | None:
    found = _AT.match(change.when)
    when = float(found.group(1)) if found else None
    if when is None:
        return None
    near = [i for i, p in enumerate(note.transcript) if p.at[0] - 0.01 <= when <= p.at[1] + 0.01]
    same = [i for i in near if fold(str(change.before or "")) in fold(note.transcript[i].text)]
    return next(iter(same or near), None)


def _strike(note: Note, change: Change, *, edit: _Edit) -> None:
    number = _phrase_at(note, change)
    if number is not None and fold(str(change.before)) in fold(note.transcript[number].text):
        edit.drop(edit.of_phrase(number))


def _scrap(note: Note, change: Change, *, edit: _Edit) -> None:
    """ "scratch the mango": the mango and the scratching go, if nothing else was said with the mango."""
    number = _phrase_at(note, change)
    if number is None or edit.denies(number):
        return
    here = edit.of_phrase(number)
    scraps = [c for c in here if not c.held and _SCRAPS.search(fold(c.text))]
    if not any(_SCRAPPED.search(fold(c.text)) for c in scraps):
        return
    before = [c for c in edit.clauses if c.key < scraps[-1].key and c.key not in edit.out]
    named = [c for c in before if c.names(str(change.before)) and c not in scraps]
    if named and not any(c.held for c in named):
        edit.drop([*named, *scraps])


def _nouns(held: Held) -> str:
    return _NOUNS.get(held.path.rpartition(".")[2], "") if isinstance(held.value, Level) else ""


def _put_right(note: Note, held: Held, *, edit: _Edit) -> None:
    """ "make the acidity high": the level named before goes, and of the correction its new words stay."""
    changes = [c for c in note.history if c.field == held.path and c.by == "voice" and c.before is not None]
    own = next((c for c in edit.clauses if held in c.held), None)
    if not changes or own is None or edit.denies(own.phrase):
        return
    before = [c for c in edit.clauses if c.key < own.key and c.key not in edit.out]
    if any(c.held and _is_slip(c, held, changes) for c in before):
        return  # the slip stands in a clause that must stay, so its correction stays as well
    earlier = [c for c in before if not c.held]
    slips = [c for c in earlier if _is_slip(c, held, changes)]
    lead = [c for c in earlier if c.phrase == own.phrase and (c in slips or _PUTS_RIGHT.search(fold(c.text)))]
    outside = [c for c in slips if c.phrase != own.phrase]
    if not slips or (lead and lead[0] not in slips and not outside):
        return
    between = [c for c in earlier if c.phrase == own.phrase and (c in lead or (lead and c.key > lead[0].key))]
    first = next(i for i, span in enumerate(own.at) if covers(held, span))
    again = [c for c in edit.of_phrase(own.phrase) if c.key > own.key and _PUTS_RIGHT.search(fold(c.text))]
    edit.drop([*outside[-len(changes) :], *between, *(c for c in again if not c.held)])
    cut = replace(own, words=own.words[first:], at=own.at[first:]).text
    edit.texts[own.key] = _with_noun(cut, held, note)


def _is_slip(clause: Clause, held: Held, changes: Sequence[Change]) -> bool:
    if nouns := _nouns(held):
        return bool(re.search(rf"\b({nouns})\b", fold(clause.text)))
    return any(clause.names(str(change.before)) for change in changes)


def _with_noun(text: str, held: Held, note: Note) -> str:
    """ "high" as "acidity high", where the taster named the thing in some other clause."""
    nouns = _nouns(held)
    if not nouns or re.search(rf"\b({nouns})\b", fold(text)):
        return text
    said = (re.search(rf"\b({nouns})\b", fold(p.text)) for p in note.transcript if p.stage != "aside")
    noun = next((found.group() for found in said if found), "")
    return f"{noun} {text}" if noun else text


def _by_hand(held: Held, *, edit: _Edit) -> None:
    """What was put right by hand stands where the old words stood."""
    own = next((c for c in edit.clauses if held in c.held and c.key not in edit.out), None)
    if own is None:
        return
    inside = [i for i, span in enumerate(own.at) if covers(held, span)]
    words = [*own.words[: inside[0]], told(held), *own.words[inside[-1] + 1 :]]
    edit.texts[own.key] = " ".join(words) if len(own.held) == 1 else told(held)


def _removed_by_hand(note: Note, edit: _Edit) -> None:
    for change in note.history:
        if change.by == "hand" and change.after is None and isinstance(change.before, str):
            named = [c for c in edit.clauses if c.names(change.before)]
            edit.drop([c for c in named if not c.held])
            for clause in (c for c in named if c.held and c.key not in edit.texts):
                edit.texts[clause.key] = ", ".join(_words_of(clause))


def _words_of(clause: Clause) -> Iterator[str]:
    """Of a clause that cannot stay whole, the words of each value that it holds."""
    for held in dict.fromkeys((h.path, h.value.at) for h in clause.held):
        mine = next(h for h in clause.held if (h.path, h.value.at) == held)
        yield (
            told(mine)
            if mine.is_absent
            else " ".join(
                word for word, span in zip(clause.words, clause.at, strict=True) if covers(mine, span)
            ).strip(" ,.;:")
        )
