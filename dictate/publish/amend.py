"""What the taster took back or put right, taken out of the clauses. Pure.

What can be told apart surely is taken out: a struck phrase, a thing scrapped, a level named anew. Where
it cannot, both the slip and its correction stay as they were said: never the one without the other.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from dictate.language.tokens import fold, split_word
from dictate.note import Change, Level, Note
from dictate.publish.script import BY_HAND, Clause, Held, clauses_of, covers, figure_of, told, trimmed

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
    r"|\b(higher|lower|more|less) than that\b"
    r"|\b(let me correct|correct that|(i|did i) (said|say)|didn't i|i mean|i meant|make (it|that|the))\b"
)
# words that may lead in the new value: "no, make the", "I meant"
_LEADS_IN = frozenset(
    "no nope sorry wait actually rather oh well i mean meant said make call put say it that the a an is 's"
    " let let's correction should be to".split()
)
_DEGREES = frozenset(
    "high low medium full light deep pale very quite rather fairly pretty plus minus".split()
)
_SCRAPS = re.compile(
    r"\b(scrap|scratch|strike|cancel|forget|delete|drop|lose|take) (that|the|it|out|those|my)\b"
    r"|^(no|nope|wait|sorry)$"
)
_SCRAPPED = re.compile(r"\b(scrap|scratch|strike|cancel|forget|delete|drop|lose|take) ")
_AT = re.compile(r"(\d+(?:\.\d+)?) s into the recording")


@dataclass(slots=True)
class _Edit:
    """Clauses left out, and the words of clauses that changed, by their keys; "" for a word that is out."""

    clauses: Sequence[Clause]
    out: set[tuple[int, int]] = field(default_factory=set)
    words: dict[tuple[int, int], list[str]] = field(default_factory=dict)

    def of_phrase(self, number: int) -> list[Clause]:
        """The clauses of a phrase that are still in."""
        return [c for c in self.clauses if c.phrase == number and c.key not in self.out]

    def before(self, clause: Clause) -> list[Clause]:
        """The clauses said before one that are still in."""
        return [c for c in self.clauses if c.key < clause.key and c.key not in self.out]

    def denies(self, number: int) -> bool:
        """Whether a phrase says that something is not there: its "no" may stand in any clause of it."""
        return any(h.is_absent for c in self.clauses if c.phrase == number for h in c.held)

    def drop(self, clauses: Sequence[Clause]) -> None:
        """Leaves clauses out."""
        self.out.update(clause.key for clause in clauses)

    def text(self, clause: Clause) -> str:
        """What a clause says now."""
        return trimmed(" ".join(filter(None, self.words.get(clause.key, clause.words))))


def amended(note: Note) -> tuple[tuple[tuple[Clause, str], ...], ...]:
    """For each phrase of the transcript the clauses that stand, with what they say now, in order."""
    phrases = clauses_of(note)
    edit = _Edit([clause for phrase in phrases for clause in phrase])
    scrapped: dict[int, list[str]] = {}
    for change in note.history:
        number = _phrase_at(note, change) if not change.later and change.after is None else None
        if number is None or not isinstance(change.before, str):
            continue
        if change.field == "transcript":
            _strike(note, change.before, number=number, edit=edit)
        else:
            scrapped.setdefault(number, []).append(change.before)
    for number, terms in scrapped.items():
        _scrap(number, terms, edit=edit)
    for held in {id(h.value): h for clause in edit.clauses for h in clause.held}.values():
        if held.value.source == "stated later":
            _put_right(note, held, edit=edit)
        elif held.value.source in BY_HAND:
            _by_hand(held, edit=edit)
    _removed_by_hand(note, edit)
    standing = ([c for c in phrase if c.key not in edit.out] for phrase in phrases)
    return tuple(tuple((c, text) for c in kept if (text := edit.text(c))) for kept in standing)


def _phrase_at(note: Note, change: Change) -> int | None:
    found = _AT.match(change.when)
    when = float(found.group(1)) if found else None
    if when is None:
        return None
    near = [i for i, p in enumerate(note.transcript) if p.at[0] - 0.01 <= when <= p.at[1] + 0.01]
    same = [i for i in near if fold(str(change.before or "")) in fold(note.transcript[i].text)]
    return next(iter(same or near), None)


def _strike(note: Note, text: str, *, number: int, edit: _Edit) -> None:
    if fold(text) in fold(note.transcript[number].text):
        edit.drop(edit.of_phrase(number))


def _scrap(number: int, terms: Sequence[str], *, edit: _Edit) -> None:
    """ "scratch the mango": the mango and the scratching go, if nothing else was said with the mango. Of
    several things scrapped by one phrase all go or none."""
    here = edit.of_phrase(number)
    scraps = [c for c in here if not c.held and _SCRAPS.search(fold(c.text))]
    if edit.denies(number) or not any(_SCRAPPED.search(fold(c.text)) for c in scraps):
        return
    before = [c for c in edit.before(scraps[-1]) if c not in scraps]
    named = [[c for c in before if c.names(term)] for term in terms]
    if all(named) and not any(c.held for found in named for c in found):
        edit.drop([*scraps, *(c for found in named for c in found)])


def _nouns(held: Held) -> str:
    return _NOUNS.get(held.path.rpartition(".")[2], "") if isinstance(held.value, Level) else ""


def _put_right(note: Note, held: Held, *, edit: _Edit) -> None:
    """ "make the acidity high": the level named before goes, and of the correction its new words stay."""
    changes = [c for c in note.history if c.field == held.path and not c.later and c.before is not None]
    own = next((c for c in edit.clauses if held in c.held), None)
    if not changes or own is None or edit.denies(own.phrase):
        return
    slips = [c for c in edit.before(own) if _is_slip(c, held, changes)]
    if any(c.held for c in slips):
        return  # the slip stands in a clause that must stay, so its correction stays as well
    leads = [
        c
        for c in edit.of_phrase(own.phrase)
        if not c.held and c not in slips and _PUTS_RIGHT.search(fold(c.text))
    ]
    named = [c for c in slips if not _PUTS_RIGHT.search(fold(c.text))]
    first = next(i for i, span in enumerate(own.at) if covers(held, span))
    lead_in = {piece for word in own.words[:first] for piece in split_word(word)[0]}
    if not 1 <= len(named) <= len(changes) or not lead_in <= _LEADS_IN:
        return  # more may be meant by them
    mine = [*leads, *(c for c in slips if c.phrase == own.phrase)]
    degrees = [
        c for c in edit.of_phrase(own.phrase)
        if mine and min(c.key for c in mine) < c.key < own.key and set(fold(c.text).split()) <= _DEGREES
    ]  # fmt: skip
    edit.drop([*named, *mine, *(c for c in degrees if not c.held)])
    new = list(own.words)
    new[:first] = [""] * first
    new[first] = _with_noun(new[first], " ".join(own.words[first:]), held=held, note=note)
    edit.words[own.key] = new


def _is_slip(clause: Clause, held: Held, changes: Sequence[Change]) -> bool:
    if nouns := _nouns(held):
        return bool(re.search(rf"\b({nouns})\b", fold(clause.text)))
    return any(clause.names(str(change.before)) for change in changes)


def _with_noun(word: str, text: str, *, held: Held, note: Note) -> str:
    """ "high" as "acidity high", where the taster named the thing in some other clause."""
    nouns = _nouns(held)
    if not nouns or re.search(rf"\b({nouns})\b", fold(text)):
        return word
    said = (re.search(rf"\b({nouns})\b", fold(p.text)) for p in note.transcript if p.stage != "aside")
    noun = next((found.group() for found in said if found), "")
    return f"{noun} {word}".strip()


def _by_hand(held: Held, *, edit: _Edit) -> None:
    """What was put right by hand stands where the old words stood."""
    own = next((c for c in edit.clauses if held in c.held and c.key not in edit.out), None)
    if own is None:
        return
    inside = [i for i, span in enumerate(own.at) if covers(held, span)]
    new = edit.words.setdefault(own.key, list(own.words))
    if any(covers(other, own.at[i]) for other in own.held if other is not held for i in inside):
        new[:] = [f"{figure_of(each)}," for each in own.held] + [""] * max(0, len(new) - len(own.held))
        return  # "tannin and acid are both high": each by itself
    mark = own.words[inside[-1]][len(own.words[inside[-1]].rstrip(",;:.")) :]
    for i in inside:
        new[i] = ""
    new[inside[0]] = told(held) + mark


def _removed_by_hand(note: Note, edit: _Edit) -> None:
    """What was taken off by hand: its clause goes, or of one that holds more, all but what that holds."""
    for change in note.history:
        if change.later and change.after is None and isinstance(change.before, str):
            named = [c for c in edit.clauses if c.names(change.before)]
            edit.drop([c for c in named if not c.held])
            for clause in (c for c in named if c.held and c.key not in edit.words):
                edit.words[clause.key] = [f"{kept}," for kept in _kept_words(clause)]


def _kept_words(clause: Clause) -> Iterator[str]:
    for held in {id(h.value): h for h in clause.held}.values():
        words = [w for w, span in zip(clause.words, clause.at, strict=True) if covers(held, span)]
        yield told(held) if held.is_absent else trimmed(" ".join(words))
