"""A note in the making: readings folded in, one by one, in order of speech."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from dictate.language.tokens import fold, spoken_text
from dictate.note import ABSENT_IN, Change, Descriptor, Fault, Level, Score, Term, Text, Vintage
from dictate.values import Phrase, Reading

# said twice, the first holds (naming the wine, the hue at first sight); elsewhere the last does
FIRST_HOLDS = frozenset(
    "wine.position wine.code wine.producer wine.name wine.origin wine.vintage wine.colour wine.style"
    " appearance.hue appearance.clarity verdict.readiness verdict.drink_from".split()
)
_SELF_REPAIR, _ANSWERED_NO = "self-repair", "answered-no"


@dataclass(slots=True)
class Draft:
    """Values by path, lists by path, what each of them held in the course of the note, and which phrases
    fed something."""

    phrases: Sequence[Phrase]
    values: dict[str, Any] = field(default_factory=dict)
    lists: dict[str, dict[str, Any]] = field(default_factory=dict)
    fed: set[int] = field(default_factory=set)
    # by path, and by key where it is a list: what it came to hold (None: nothing), by which reading
    steps: dict[tuple[str, str], list[tuple[Reading, Any]]] = field(default_factory=dict)
    # by path: the words by which a thing that has a level was said to be absent
    lacking: dict[str, set[str]] = field(default_factory=dict)
    # by path: the last value that its own breath took back ("medium, no, make it high")
    slips: dict[str, Reading] = field(default_factory=dict)

    def spoken(self, reading: Reading) -> dict[str, Any]:
        """The four keys of everything spoken."""
        words = self.phrases[reading.phrase].words[reading.first : reading.last]
        return {
            "said": spoken_text(words),
            "at": (words[0].start_s, max(words[0].start_s, words[-1].end_s)),
            "confidence": min(1.0, max(0.0, reading.confidence)),
            "source": reading.source,
        }

    def history(self) -> list[Change]:
        """What became of all that was said and holds no more. The changes of one thing are a chain: each
        begins with what the one before it ended with, and the last ends with what is held now."""
        return [
            self._change(reading, path, before, after)
            for (path, _), steps in self.steps.items()
            for (_, before), (reading, after) in pairwise(steps)
            if before != after
        ]

    def fold(self, reading: Reading) -> None:
        """Takes one reading in."""
        if reading.act == "drop":
            self._drop(reading)
        elif reading.field in ABSENT_IN:
            self._fold_listed(reading)
        elif reading.field == "wine.grapes":
            if reading.scope == "said":
                self._grape(reading)
        elif reading.scope == "said":
            self._set(reading)
        elif reading.scope == "denied":
            self._deny(reading)

    def _grape(self, reading: Reading) -> None:
        """ "no, it's a Chenin": what corrects takes the place of the grapes named before."""
        if reading.corrects:
            steps = {key: made[-1][0] for (path, key), made in self.steps.items() if path == "wine.grapes"}
            for key in [k for k, last in steps.items() if last.phrase != reading.phrase]:
                self._unlist(reading, "wine.grapes", key)
        self._list(reading, "wine.grapes", Term(term=str(reading.value), **self.spoken(reading)))

    def _deny(self, reading: Reading) -> None:
        """A term that is held and denied later is held no more ("not lemon"); of what its own breath takes
        back the history tells where that breath puts another in its place."""
        value = self.values.get(reading.field)
        if reading.rule == _SELF_REPAIR:
            self.slips[reading.field] = reading
        elif isinstance(value, Term | Text) and fold(str(_plain(value))) == fold(str(reading.value)):
            del self.values[reading.field]
            self.fed.add(reading.phrase)
            self.steps[reading.field, ""].append((reading, None))
        elif reading.field.startswith("palate.") and reading.rule != _ANSWERED_NO:
            self._absent_word(reading)  # but "is the acidity high? No, medium" lacks nothing

    def _list(self, reading: Reading, path: str, item: Any) -> None:
        """Lists a thing; what is listed already stays as it was said first."""
        self.fed.add(reading.phrase)
        items, key = self.lists.setdefault(path, {}), fold(item.term)
        if key not in items:
            items[key] = item
            self.steps.setdefault((path, key), []).append((reading, item.term))

    def _unlist(self, reading: Reading, path: str, key: str) -> bool:
        """Takes a thing off a list; whether it was there."""
        gone = self.lists.get(path, {}).pop(key, None)
        if gone is not None:
            self.steps[path, key].append((reading, None))
        return gone is not None

    def _fold_listed(self, reading: Reading) -> None:
        key, absent = fold(str(reading.value)), ABSENT_IN[reading.field]
        if reading.scope == "said":
            self._unlist(reading, absent, key)
            self._list(reading, reading.field, self._descriptor(reading))
        elif reading.scope == "denied":
            self._unlist(reading, reading.field, key)
            if reading.rule != _SELF_REPAIR:
                self._drop_wider(reading, key)
                self._list(reading, absent, self._descriptor(reading, absent=True))

    def _descriptor(self, reading: Reading, *, absent: bool = False) -> Descriptor:
        common = {
            "term": str(reading.value), "family": reading.family or None,
            "strength": None if absent else reading.strength, "known": reading.known, **self.spoken(reading),
        }  # fmt: skip
        if reading.field == "faults" and not absent:
            return Fault(certain=reading.certain, **common)
        return Descriptor(**common)

    def _drop_wider(self, reading: Reading, key: str) -> None:
        """ "burnt rubber, where is it, there is no rubber": the wider term of the same phrase goes too."""
        words = self.phrases[reading.phrase].words
        span = (words[0].start_s, words[-1].end_s)
        items = self.lists.get(reading.field, {})
        for wider in [k for k in items if k.endswith(f" {key}")]:
            at = items[wider].at
            if at and span[0] <= at[0] < span[1]:
                self._unlist(reading, reading.field, wider)

    def _absent_word(self, reading: Reading) -> None:
        """ "not flabby", "without being heavy": the word denied is listed as absent."""
        words = self.phrases[reading.phrase].words[reading.first : reading.last]
        if len(words) <= 2:
            text = fold(spoken_text(words)).rstrip("?!")
            item = Descriptor(term=text, known=True, **self.spoken(reading))
            self._list(reading, "palate.absent", item)
            if reading.value == 0:  # "no tannin": the thing itself, not a degree of it
                self.lacking.setdefault(reading.field, set()).add(fold(text))

    def _found_after_all(self, reading: Reading) -> None:
        """ "no tannin" ... "a bit of tannin after all": what is measured later is absent no more."""
        for key in self.lacking.pop(reading.field, ()) if reading.value != 0 else ():
            self._unlist(reading, "palate.absent", key)

    def _value(self, reading: Reading) -> Any:
        name = reading.field.partition(".")[2]
        spoken = self.spoken(reading)
        if reading.field in ("wine.position", "verdict.drink_from", "verdict.drink_to"):
            return int(reading.value)
        if reading.field == "wine.code":
            return str(reading.value)
        if reading.field == "finish.seconds":
            return float(reading.value)
        if reading.field == "wine.vintage":
            return Vintage(year=reading.value, **spoken)  # type: ignore[arg-type]
        if reading.field == "verdict.score":
            return Score(points=float(reading.value), out_of=reading.out_of, **spoken)
        if name in ("producer", "origin", "bubbles", "tears", "deposit") or reading.field == "wine.name":
            return Text(text=str(reading.value), **spoken)
        if isinstance(reading.value, str):
            return Term(term=reading.value, **spoken)
        return Level(level=float(reading.value), **spoken)

    def _set(self, reading: Reading) -> None:
        path, before = reading.field, self.values.get(reading.field)
        value = self._value(reading)
        if before is not None and path in FIRST_HOLDS and not reading.corrects:
            if _plain(before) == _plain(value):
                self.fed.add(reading.phrase)
            return
        self._found_after_all(reading)
        self.values[path] = value
        slip = self.slips.pop(path, None)
        if slip and reading.corrects and slip.phrase == reading.phrase:
            self.steps.setdefault((path, ""), []).append((slip, _plain(self._value(slip))))
        self._step(reading, path, _plain(value))

    def _step(self, reading: Reading, path: str, value: Any) -> None:
        """ "long, very long" in one phrase is one statement, and its last word holds; said anew later, or
        corrected, it is another."""
        self.fed.add(reading.phrase)
        steps = self.steps.setdefault((path, ""), [])
        if steps and steps[-1][0].phrase == reading.phrase and not reading.corrects:
            steps.pop()
        steps.append((reading, value))

    def _drop(self, reading: Reading) -> None:
        key, kind = fold(str(reading.value)), reading.field.lstrip("*")
        gone = [path for path in (*ABSENT_IN, "wine.grapes") if self._unlist(reading, path, key)]
        if not gone and kind == "descriptor":  # "lose the yoghurt", of the only one: strawberry yoghurt
            holding = [(p, k) for p in ABSENT_IN for k in self.lists.get(p, {}) if key in k.split()]
            gone = [path for path, held in holding if len(holding) == 1 and self._unlist(reading, path, held)]
        if gone:
            self.fed.add(reading.phrase)
        if reading.field in self.values:  # "scrap the acidity"
            del self.values[reading.field]
            self._step(reading, reading.field, None)
        if kind == "hue" or kind.startswith("appearance."):
            for path in ("appearance.hue", "appearance.rim"):
                value = self.values.get(path)
                if isinstance(value, Term) and fold(value.term) == key:
                    del self.values[path]
                    self._step(reading, path, None)

    def _change(self, reading: Reading, path: str, before: Any, after: Any) -> Change:
        phrase = self.phrases[reading.phrase]
        return Change(
            when=f"{phrase.words[reading.first].start_s:.2f} s into the recording",
            field=path, before=before, after=after, said=spoken_text(phrase.words),
        )  # fmt: skip


def _plain(value: Any) -> Any:
    """A value without where it was said; None stays None."""
    names = ("level", "term", "text", "year", "points")
    return next((getattr(value, name) for name in names if hasattr(value, name)), value)
