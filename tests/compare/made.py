"""Notes made by hand or by chance for tests of comparing. Producers are invented."""

from __future__ import annotations

import random
from collections.abc import Mapping
from typing import Any

from hypothesis import strategies as st

from dictate.compare.reading import LEVELS
from dictate.note import Change, Note, read_note

WORDS = {0: "none", 2: "low", 5: "medium", 8: "high", 10: "as much as there can be"}
PRODUCERS = ("Tin Whistle", "Copper Ladle", "Heron's Rake", "The Long and Winding Lane of the Old Quarry")
GRAPES = ("riesling", "syrah", "chardonnay", "pinot gris")
SMELLS = ("lemon", "violet", "wet stone", "cedar", "cherry", "toast")


def note(
    its_id: str = "n1",
    /,
    *,
    levels: Mapping[str, float] | None = None,
    seconds: float | None = None,
    how: str = "timed",
    smells: tuple[str, ...] = (),
    points: float | None = None,
    out_of: float | None = 100,
    history: tuple[Change, ...] = (),
    **wine: Any,
) -> Note:
    """A note of levels by path; `wine` takes position, code, producer, name, vintage, grape, hue."""
    data: dict[str, Any] = {"schema": "tasting-note/1", "id": its_id, "wine": {}}
    for path, level in (levels or {}).items():
        stage, _, field = path.partition(".")
        said = WORDS.get(int(level), f"about {level}")
        data.setdefault(stage, {})[field] = {"level": level, "said": said}
    if seconds is not None:
        timed = {"from_s": 10.0, "to_s": 10.0 + seconds, "confidence": 0.9} if how == "timed" else {}
        data.setdefault("finish", {}).update({"seconds": seconds, "how": how, **timed})
    if smells:
        data.setdefault("nose", {})["aromas"] = [{"term": term} for term in smells]
    if points is not None:
        data.setdefault("verdict", {})["score"] = {"points": points, "out_of": out_of}
    if hue := wine.pop("hue", None):
        data.setdefault("appearance", {})["hue"] = {"term": hue}
    if grape := wine.pop("grape", None):
        data["wine"]["grapes"] = [{"term": grape}]
    for key in ("producer", "name"):
        if text := wine.pop(key, None):
            data["wine"][key] = {"text": text}
    if (year := wine.pop("vintage", None)) is not None:
        data["wine"]["vintage"] = {"year": year}
    data["wine"] |= wine
    data["history"] = [change.model_dump() for change in history]
    return read_note(data)


def never_stopped(after: str) -> tuple[Change, ...]:
    """The history of a clock that was left running."""
    return (Change(when="9.00 s", field="finish.seconds", before="clock running", after=after),)


def flight(wines: int, *, seed: int = 1, missing: float = 0.15) -> list[Note]:
    """A flight by chance; each field is missing with that probability."""
    chance = random.Random(seed)
    notes = []
    for number in range(1, wines + 1):
        levels = {
            path: float(chance.choice([1, 2, 3.5, 5, 6.5, 8, 9]))
            for path in LEVELS
            if path != "palate.mousse" and chance.random() > missing
        }
        how = chance.choice(["timed", "timed", "stated", "open", "none"])
        seconds = round(chance.uniform(3, 45), 2)
        notes.append(
            note(
                f"id-{number}",
                levels=levels,
                seconds=seconds if how in ("timed", "stated") else None,
                how=how,
                history=never_stopped(f"never stopped: at least {seconds:.2f} s") if how == "open" else (),
                smells=tuple(chance.sample(SMELLS, 3)),
                hue=chance.choice(["lemon", "gold", "ruby", "garnet"]),
                position=number,
                producer=chance.choice(PRODUCERS),
                grape=chance.choice(GRAPES),
                vintage=chance.randint(2005, 2024),
            )
        )
    return notes


@st.composite
def notes(draw: st.DrawFn, *, least: int = 0, most: int = 8) -> list[Note]:
    """Any few notes: fields there or not, finishes of every kind, ids apart."""
    values = st.sampled_from([0.0, 1.0, 2.5, 5.0, 7.5, 10.0])
    found = []
    for number in range(draw(st.integers(least, most))):
        how = draw(st.sampled_from(["timed", "stated", ""]))
        found.append(
            note(
                f"n{number}",
                levels=draw(st.dictionaries(st.sampled_from(list(LEVELS)), values, max_size=6)),
                seconds=draw(st.sampled_from([0.0, 3.21, 12.5, 60.0])) if how else None,
                how=how or "timed",
                smells=tuple(draw(st.lists(st.sampled_from(SMELLS), max_size=3, unique=True))),
                points=draw(st.sampled_from([None, 80.0, 95.0])),
                position=draw(st.none() | st.integers(1, 4)),
                producer=draw(st.sampled_from([None, *PRODUCERS])),
                vintage=draw(st.sampled_from([None, "NV", 2010, 2018])),
            )
        )
    return found
