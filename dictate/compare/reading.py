"""What a note tells of the fields that can be compared, and which notes are of the same wine."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Final

from dictate.compare.values import Glass, Held, LevelSaid, Score, Spread, Told
from dictate.export import beside_clock, clean, wine_title
from dictate.language.tokens import fold
from dictate.note import NEVER_STOPPED, UNCLEAR_BELOW, Descriptor, Level, Note, Term

SECONDS: Final = "finish.seconds"
SCORE: Final = "verdict.score"
# the contract's paths, in the order of tasting, and what a reader is shown
LEVELS: Final = {
    "appearance.depth": "depth",
    "nose.intensity": "nose intensity",
    "palate.sweetness": "sweetness",
    "palate.acidity": "acidity",
    "palate.tannin": "tannin",
    "palate.alcohol": "alcohol",
    "palate.body": "body",
    "palate.bitterness": "bitterness",
    "palate.intensity": "palate intensity",
    "palate.mousse": "mousse",
    "finish.length": "length",
    "verdict.quality": "quality",
}
TERMS: Final = {
    "wine.colour": "colour",
    "wine.style": "style",
    "appearance.clarity": "clarity",
    "appearance.hue": "hue",
    "appearance.rim": "rim",
    "nose.age": "age by nose",
    "palate.balance": "balance",
    "verdict.readiness": "readiness",
}
DESCRIPTORS: Final = {
    "nose.aromas": "smells of",
    "palate.flavours": "tastes of",
    "palate.tannin_texture": "tannin feels",
    "palate.texture": "feels",
    "finish.flavours": "finish of",
    "faults": "fault",
}
ABSENT: Final = {"nose.absent": "nose.aromas", "palate.absent": "palate.flavours"}
LABELS: Final = {**TERMS, **LEVELS, SECONDS: "finish, seconds", SCORE: "score", **DESCRIPTORS}
_AT_LEAST = re.compile(rf"{NEVER_STOPPED}: at least (about )?(\d+(?:\.\d+)?) s")


def label(field: str) -> str:
    """What a reader is shown of a field path ("verdict.score/100" too)."""
    path, _, out_of = field.partition("/")
    return LABELS.get(path, path) + (f" out of {out_of}" if out_of else "")


def spread(values: Iterable[float]) -> Spread | None:
    """Mean, range and standard deviation (n - 1) of values in any order; None of no value."""
    found = sorted(values)
    if not found:
        return None
    # by hand: statistics.stdev takes exact fractions, which costs seconds for 10,000 notes
    mean = math.fsum(found) / len(found)
    mean = min(max(mean, found[0]), found[-1])
    squares = math.fsum((value - mean) ** 2 for value in found)
    sd = math.sqrt(squares / (len(found) - 1)) if len(found) > 1 else None
    return Spread(len(found), mean, found[0], found[-1], sd)


def in_order(notes: Iterable[Note]) -> list[Note]:
    """The notes in an order that does not hang on how they were given: by place in the flight, code, name,
    id; the very same note given twice is taken once."""
    found = list(notes)
    ids = Counter(note.id for note in found)

    def key(note: Note) -> tuple[bool, int, str, str, str, str]:
        position = note.wine.position
        whole = note.model_dump_json() if ids[note.id] > 1 else ""
        code, title = note.wine.code or "", fold(wine_title(note))
        return (position is None, position or 0, code, title, note.id, whole)

    keyed = sorted(((key(note), note) for note in found), key=lambda pair: pair[0])
    return [next(same)[1] for _, same in groupby(keyed, key=lambda pair: pair[0])]


def identity(note: Note) -> tuple[str, ...]:
    """Producer and name, or where no name was said the grapes; folded. Empty where neither is known, which
    is of no wine that could be known again."""
    wine = note.wine
    producer = fold(wine.producer.text) if wine.producer else ""
    name = fold(wine.name.text) if wine.name else ""
    grapes = () if name else tuple(sorted(fold(grape.term) for grape in wine.grapes))
    return (producer, name, *grapes) if producer or name else ()


def wine_name(note: Note) -> str:
    """The wine's title without its place in a flight, code and vintage."""
    wine = note.wine.model_copy(update={"position": None, "code": None, "vintage": None})
    return wine_title(note.model_copy(update={"wine": wine}))


def group_name(notes: Sequence[Note]) -> str:
    """What notes taken for one wine are called; where their names differ, no name is chosen for them."""
    names = Counter(wine_name(note) for note in notes)
    if len({fold(name) for name in names}) == 1:  # of several spellings the commonest
        return max(names, key=lambda name: (names[name], name))
    return _shared_name(notes)


def _shared_name(notes: Sequence[Note]) -> str:
    producers = {fold(note.wine.producer.text) if note.wine.producer else "" for note in notes}
    named = {fold(note.wine.name.text) if note.wine.name else "" for note in notes}
    if len(producers) == len(named) == 1:  # grapes or origin were said of some alone
        return max(sorted(wine_name(note) for note in notes), key=len)
    return "One wine, as given"


def read_told(note: Note) -> Told:
    """What the note tells of each field that can be compared; fields of which nothing was said have no
    key."""
    levels: dict[str, LevelSaid] = {}
    for path in LEVELS:
        value = _value(note, path)
        if isinstance(value, Level):
            levels[path] = LevelSaid(value.level, clean(value.said).strip(" ,.;:"))
    terms = {path: _term(value) for path in TERMS if isinstance(value := _value(note, path), Term)}
    lists = {path: _listed(note, path) for path in (*DESCRIPTORS, *ABSENT)}
    return Told(
        glass=Glass(note.id, wine_title(note), note.wine.position),
        levels=levels,
        terms=terms,
        descriptors={path: found for path, found in lists.items() if found},
        held=_held(note),
        score=_score(note),
        vintage=note.wine.vintage.year if note.wine.vintage else None,
    )


def figures(told: Told) -> dict[str, float]:
    """The numbers that statistics may use: levels, timed seconds, a score by what it is out of. A stated
    length and an open clock are no measured seconds and are missing here; so is a score out of nothing
    said."""
    found = {path: said.level for path, said in told.levels.items()}
    if told.held and told.held.how == "timed" and told.held.seconds is not None:
        found[SECONDS] = told.held.seconds
    if told.score and told.score.out_of is not None:
        found[f"{SCORE}/{told.score.out_of:g}"] = told.score.points
    return found


def fields_in_order(fields: Iterable[str]) -> list[str]:
    """Field paths in the order of tasting."""
    order = list(LABELS)
    return sorted(set(fields), key=lambda field: (order.index(field.partition("/")[0]), field))


def _value(note: Note, path: str) -> object:
    stage, _, name = path.partition(".")
    return getattr(getattr(note, stage), name)


def _term(value: Term) -> str:
    """The term; marked where it was taken from what else was said ("lemon coloured" of a white)."""
    return f"{clean(value.term)} (not said)" if value.source == "inferred" else clean(value.term)


def _listed(note: Note, path: str) -> tuple[str, ...]:
    items: Sequence[Descriptor]
    items = note.faults if path == "faults" else _value(note, path)  # type: ignore[assignment]
    return tuple(dict.fromkeys(term for item in items if (term := clean(item.term))))


def _held(note: Note) -> Held | None:
    finish = note.finish
    said = clean(finish.length.said).strip(" ,.;:") if finish.length else ""
    beside = "; ".join(beside_clock(note))
    seconds = finish.seconds
    if seconds is not None and math.isfinite(seconds):
        if finish.how != "timed":
            return Held("stated", seconds, "about", said, beside)
        unclear = finish.confidence is not None and finish.confidence < UNCLEAR_BELOW
        return Held("timed", seconds, "about" if unclear else "", said, beside)
    stopless = [str(c.after) for c in note.history if c.field == SECONDS and NEVER_STOPPED in str(c.after)]
    if stopless:
        found = _AT_LEAST.match(stopless[-1])
        if not found:
            return Held("open", None, "", said, beside)
        return Held("open", float(found[2]), "at least about" if found[1] else "at least", said, beside)
    return Held("described", None, "", said) if said or finish.length else None


def _score(note: Note) -> Score | None:
    score = note.verdict.score
    if score is None or not math.isfinite(score.points):
        return None
    out_of = score.out_of if score.out_of is not None and math.isfinite(score.out_of) else None
    return Score(score.points, out_of)
