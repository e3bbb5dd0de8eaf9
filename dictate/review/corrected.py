"""What was read from words said to the page, as changes of the note that is on it. Pure.

At the bench the last word holds, and where it does not (the name of a wine, its hue at first sight) a
correction says so. Said of a note that is there already all is a correction: what is said holds. What was
denied, remembered or expected becomes no value.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

from rapidfuzz import fuzz

from dictate.export import number
from dictate.form import Add, Amend, AmendError, Amendment, Move, Put, Remove, Vocabulary, amended
from dictate.form.amend import KINDS
from dictate.form.layout import LISTS, value_at
from dictate.language.tokens import fold, spoken_text
from dictate.note import ABSENT_IN, Level, Note, Score, Vintage
from dictate.pipeline import Remark
from dictate.review.sayings import plain
from dictate.review.sheet import name_of
from dictate.values import Reading

ALIKE: Final = 60.0  # of 100, by letters: "sailing" and "saline" are 77; set by hand
_UNSAID: Final = ("remarks", "asides", "finish.how")  # no reading feeds them
_NUMBERED: Final = ("wine.position", "wine.code")  # "number four" is said of much: only where it is looked at
NOT_THERE: Final = "what is to go is not in this note, as it was heard"
SAYS_SO: Final = "the note says so already; “accept” accepts it"
IN_PASSING: Final = "said in passing; to have it noted, say it by itself"
_WHY: Final = {
    "denied": "said as something that is not so",
    "expected": "said as something expected, not found",
    "past": "said of another time",
    "future": "said of another time",
    "other": "said of another wine",
    "doubtful": "said in doubt",
    "quoted": "said by somebody else",
    "figurative": "said as a likeness",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Looked:
    """The value that is looked at on the page; `index`: of a list's item."""

    path: str
    index: int | None = None
    doubtful: bool = False


@dataclass(frozen=True, slots=True)
class Correction:
    """Changes of the note, each of the note as the one before it left it; `refused`: why some were none."""

    changes: tuple[Amendment, ...]
    refused: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Nothing:
    """No change. `why`: what was understood and yet is none, one line, "" where nothing was understood."""

    why: str = ""


@dataclass(frozen=True, slots=True)
class Answers:
    """How what is said to the note begins. `leads` mean nothing; `instead`: what comes takes the place of the
    value looked at in any case; `adds`: what comes stands beside what is there; `states`: the wine is spoken
    of; `names`: what the wine is; `swaps`: something has to go for what comes."""

    leads: tuple[str, ...]
    instead: tuple[str, ...]
    adds: tuple[str, ...]
    states: tuple[str, ...]
    names: tuple[str, ...]
    swaps: tuple[str, ...]
    most_words: int

    def bare(self, text: str) -> str:
        """The words without what an answer begins with."""
        said, was = plain(text), ""
        while said != was:
            was = said
            for lead in sorted((*self.leads, *self.instead), key=len, reverse=True):
                if f"{said} ".startswith(f"{plain(lead)} "):
                    said = said[len(plain(lead)) :].strip()
                    break
        return said

    def begins(self, text: str, leads: Sequence[str]) -> bool:
        """Whether a text begins with one of these."""
        return any(f"{plain(text)} ".startswith(f"{plain(lead)} ") for lead in leads)


def correction_of(
    remark: Remark, note: Note, *, looked: Looked | None, answers: Answers, known: Vocabulary
) -> Correction | Nothing:
    """The changes that a remark asks for; Nothing, with the reason, where it only says what is no value."""
    made = _Made(remark, note, looked, answers, known)
    if not made.is_direct:
        return Nothing(IN_PASSING)
    for reading in remark.readings:
        made.take(reading)
    if made.changes:
        return Correction(tuple(made.changes), tuple(made.refused))
    reasons = [*made.refused, *(_WHY[r.scope] for r in remark.readings if r.scope in _WHY)]
    return Nothing(reasons[0] if reasons else "")


@dataclass(slots=True)
class _Made:
    """The note as the changes so far leave it."""

    remark: Remark
    note: Note
    looked: Looked | None
    answers: Answers
    known: Vocabulary
    changes: list[Amendment] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    gone: tuple[str, int] | None = None  # the item that what comes next takes the place of

    @property
    def said(self) -> str:
        return " ".join(word.text for word in self.remark.words)

    @property
    def is_direct(self) -> bool:
        """Whether it is said to the note, not to somebody in the room: it begins with what it says, with the
        name of what that is of, or as one speaks of a wine; or it takes back, or puts right."""
        said = [r for r in self.remark.readings if r.scope in ("said", "denied")]
        if not said or any(r.corrects or r.act == "drop" for r in said):
            return True
        first = said[0]
        bare = self.answers.bare(self.said)
        begins = (self._words(first), *_of(first.field), *self.answers.states, *self.answers.adds)
        return self.answers.begins(bare, begins) or self.answers.begins(self.said, begins)

    def take(self, reading: Reading) -> None:
        """One reading, as changes."""
        if reading.act == "drop":
            self._drop(reading)
        elif reading.field not in KINDS or reading.field in _UNSAID:
            return
        elif reading.scope == "denied":
            self._deny(reading)
        elif reading.scope == "said" and self._is_meant(reading):
            if KINDS[reading.field] in LISTS:
                self._list(reading)
            else:
                self._put(reading)

    def _is_meant(self, reading: Reading) -> bool:
        """A wine is named by the way in much that is said; here only where somebody says what it is."""
        if not reading.field.startswith("wine.") or (self.looked and self.looked.path == reading.field):
            return True
        names = (*self.answers.names, *self.answers.instead, *self.answers.adds, *_of(reading.field))
        return reading.field not in _NUMBERED and (
            reading.corrects or self._is_all(reading) or self.answers.begins(self.said, names)
        )

    def _change(self, *changes: Amendment) -> None:
        """All of them or none; one that changes nothing is none."""
        note = self.note
        try:
            for change in changes:
                note = amended(note, change, known=self.known, when="")
        except AmendError as error:
            self.refused.append(str(error))
            return
        self.note = note
        self.changes.extend(changes)

    def _put(self, reading: Reading) -> None:
        held = value_at(self.note, reading.field)
        if held is not None and _is_same(held, reading):
            self.refused.append(SAYS_SO)
        else:
            self._change(Put(reading.field, _text(reading)))

    def _places(self, term: str, paths: Sequence[str]) -> Iterator[tuple[str, int]]:
        """Where items of this term stand in lists, the first of each list."""
        key = fold(term)
        for path in paths:
            terms = [fold(item.term) for item in value_at(self.note, path)]
            if key in terms:
                yield path, terms.index(key)

    def _drop(self, reading: Reading) -> None:
        term, kind = str(reading.value), reading.field.lstrip("*")
        found = next(self._places(term, (*ABSENT_IN, "wine.grapes", "nose.absent", "palate.absent")), None)
        if found is not None:
            if self._replaced():
                self.gone = found
            else:
                self._change(Remove(*found))
        elif reading.field in KINDS and value_at(self.note, reading.field):
            self._change(Put(reading.field, ""))
        elif kind == "hue" and (path := self._hue(term)):
            self._change(Put(path, ""))
        elif not self._replaced():
            self.refused.append(f"there is no “{self._words(reading)[:40]}” in this note")

    def _replaced(self) -> bool:
        """Whether something takes the place of what goes: "make the violets roses"."""
        return any(r.act == "set" and r.scope == "said" and r.corrects for r in self.remark.readings)

    def _hue(self, term: str) -> str:
        for path in ("appearance.hue", "appearance.rim"):
            held = value_at(self.note, path)
            if held is not None and fold(held.term) == fold(term):
                return path
        return ""

    def _deny(self, reading: Reading) -> None:
        """ "no violets": they go, and are noted as absent, as at the bench."""
        absent = ABSENT_IN.get(reading.field)
        term = str(reading.value)
        if absent is None or not isinstance(reading.value, str):
            return
        found = next(self._places(term, (reading.field, *ABSENT_IN)), None)
        absent = ABSENT_IN[found[0]] if found else absent
        lacks = next(self._places(term, (absent,)), None) is not None
        gone = [Remove(*found)] if found else []
        self._change(*gone, *([] if lacks else [Add(absent, term)]))

    def _list(self, reading: Reading) -> None:
        path, term = reading.field, str(reading.value)
        here = next(self._places(term, (path,)), None)
        if here is not None:
            self._confirm(reading, here[1])
            return
        elsewhere = next(self._places(term, [p for p in ABSENT_IN if p != path]), None)
        if (
            elsewhere is not None
            and reading.corrects
            and path in ABSENT_IN
            and "faults" not in (path, elsewhere[0])
        ):
            self._change(Move(*elsewhere, path))
            return
        if self.gone is None and self.answers.begins(self.said, self.answers.swaps):
            self.refused.append(NOT_THERE)
            return
        lacking = next(self._places(term, (ABSENT_IN.get(path, path),)), None)
        found_after_all = [Remove(*lacking)] if lacking else []
        instead = self._instead(reading)
        strength = None if path == "wine.grapes" else reading.strength
        if instead is None:
            self._change(*found_after_all, Add(path, term, strength, reading.certain))
        else:
            self.gone = None
            self._change(*found_after_all, Amend(*instead, term, strength, reading.certain))
            self._other_grapes(path, keep=instead[1])

    def _confirm(self, reading: Reading, index: int) -> None:
        """What is in the note already has another strength, or is only said again: misheard twice, it would
        be accepted wrongly."""
        item = value_at(self.note, reading.field)[index]
        strength = getattr(item, "strength", None)
        certain = reading.certain if reading.field == "faults" else True
        if (reading.strength is None or reading.strength == strength) and certain == getattr(
            item, "certain", True
        ):
            self.refused.append(SAYS_SO)
        else:
            strength = strength if reading.strength is None else reading.strength
            self._change(Amend(reading.field, index, item.term, strength, certain))

    def _instead(self, reading: Reading) -> tuple[str, int] | None:
        """The item whose place a new one takes: the one that goes, the one looked at where it is answered,
        and, unless the words add, a grape that stands there."""
        if self.gone is not None:
            return self.gone
        looked = self.looked
        kind = KINDS[reading.field]
        adds = self.answers.begins(self.said, self.answers.adds)
        if looked is not None and looked.index is not None and KINDS[looked.path] == kind and not adds:
            told = self.answers.begins(self.said, self.answers.instead)
            if self._is_all(reading) and (told or (looked.doubtful and self._is_like(reading, looked))):
                return looked.path, looked.index
        if reading.field == "wine.grapes" and not adds and self.note.wine.grapes:
            mine = [r for r in self.remark.readings if r.field == "wine.grapes" and r.scope == "said"]
            return ("wine.grapes", 0) if mine[0] is reading else None
        return None

    def _words(self, reading: Reading) -> str:
        return plain(spoken_text(self.remark.phrases[reading.phrase].words[reading.first : reading.last]))

    def _is_all(self, reading: Reading) -> bool:
        """Whether the words say this and nothing else, what an answer begins with aside."""
        return self._words(reading) == self.answers.bare(self.said)

    def _is_like(self, reading: Reading, looked: Looked) -> bool:
        """Whether what stands there may have been heard for this."""
        item = value_at(self.note, looked.path)[looked.index]
        heard = max(fuzz.ratio(fold(each), self._words(reading)) for each in (item.term, item.said))
        return heard >= ALIKE

    def _other_grapes(self, path: str, *, keep: int) -> None:
        if path == "wine.grapes":
            others = [i for i in range(len(self.note.wine.grapes)) if i != keep]
            self._change(*(Remove(path, index) for index in reversed(others)))


def _of(path: str) -> tuple[str, ...]:
    """What a field is called, where it is spoken of."""
    names = (name_of(path), *path.replace("_", " ").split("."))
    return tuple(f"{article}{name}" for name in names for article in ("", "the "))


def _is_same(held: object, reading: Reading) -> bool:
    match held:
        case Level():
            return isinstance(reading.value, int | float) and abs(held.level - reading.value) < 0.005
        case Vintage():
            return held.year == reading.value
        case Score():
            return held.points == reading.value and held.out_of == reading.out_of
        case int() | float():
            return held == reading.value
    return fold(str(getattr(held, "term", getattr(held, "text", held)))) == fold(str(reading.value))


def _text(reading: Reading) -> str:
    """A value as the form writes it."""
    value = reading.value
    match KINDS[reading.field]:
        case "level" | "seconds":
            return number(float(value))
        case "score":
            out_of = "" if reading.out_of is None else f" of {reading.out_of:g}"
            return f"{float(value):g}{out_of}"
        case "integer":
            return str(int(value))
    return str(value)
