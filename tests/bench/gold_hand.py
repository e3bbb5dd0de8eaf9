"""A hand that puts a note right by its gold answers, as somebody would who reviews it: through the form."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from dictate.doubt import Held, held_values
from dictate.form import by_hand
from dictate.form.layout import LEXICON_KINDS, value_at, with_values
from dictate.lexicon.entries import Lexicon
from dictate.note import Change, Descriptor, Fault, Level, Note, Score, Term, Text, Vintage
from tests.bench.spoken_notes import Case, is_right
from tests.scoring import IDENTITY, LEVELS, LISTS, TERMS, at, same

WHEN = "2026-11-28T09:00:00+00:00"
_CUES = {"away": "from_s", "gone": "to_s"}


def first_way(gold: Any) -> str:
    """The first of the ways in which the gold says a thing."""
    return str(gold[0] if isinstance(gold, list) else gold).split("|")[0]


def put_right(case: Case, lexicon: Lexicon) -> tuple[Note, int]:
    """The note with every value as the gold has it, told in its history; and how many acts that took: a value
    taken out, put in or changed, a clock put right."""
    note, acts = case.note, 0
    values: dict[str, Any] = {}
    held: dict[str, list[Held]] = {}
    for each in held_values(note):
        held.setdefault(each.field, []).append(each)
    for field in (*LISTS, "faults"):
        values[field], some = _list(case, field, held=held.get(field, []), lexicon=lexicon)
        acts += some
    for field in ("nose.absent", "palate.absent"):  # what was never denied goes
        values[field] = [each.value for each in held.get(field, []) if is_right(each, case)]
        acts += len(held.get(field, [])) - len(values[field])
    for field, value in _single(case, held):
        values[field] = value
        acts += 1
    clock = _clock(case, held)
    acts += bool(clock)
    changed = {f: v for f, v in values.items() if v != value_at(note, f)}
    after = by_hand(note, with_values(note, {**changed, **clock}), when=WHEN)
    dragged = [
        Change(when=WHEN, field=f, before=value_at(note, f), after=v, by="hand")
        for f, v in clock.items()
        if f in ("finish.from_s", "finish.to_s")
    ]
    return after.model_copy(update={"history": [*after.history, *dragged]}), acts


def _list(case: Case, field: str, *, held: list[Held], lexicon: Lexicon) -> tuple[list[Any], int]:
    """A list put right: what is wrong goes, what is missing comes. A wrong one whose place is taken by a
    missing one is one act."""
    kept = [each.value for each in held if is_right(each, case)]
    gold = at(case.gold, field) or []
    missing = [one for one in gold if not any(same(each.term, one) for each in kept)]
    come = [_item(field, first_way(one), lexicon) for one in missing]
    return [*kept, *come], max(len(held) - len(kept), len(come))


def _item(field: str, term: str, lexicon: Lexicon) -> Any:
    entry = lexicon.lookup(term, LEXICON_KINDS.get(field, "descriptor"))
    if field == "wine.grapes":
        return Term(term=entry.term if entry else term, source="corrected")
    model = Fault if field == "faults" else Descriptor
    known = {"term": entry.term, "family": entry.family or None} if entry else {"term": term, "known": False}
    return model(**known, source="corrected")


def _single(case: Case, held: dict[str, list[Held]]) -> Iterator[tuple[str, Any]]:
    """The single values that are wrong or missing, as they should be."""
    for field in (*IDENTITY, *TERMS, *LEVELS, "verdict.score", "verdict.drink_from", "verdict.drink_to"):
        have = held.get(field, [])
        wanted = _wanted(case, field)
        if field in ("wine.colour", "wine.style") and wanted is None:
            continue
        if have and is_right(have[0], case):
            continue
        if have or wanted is not None:
            yield field, _value(field, wanted, have[0].value if have else None)


def _wanted(case: Case, field: str) -> Any:
    if field in ("verdict.drink_from", "verdict.drink_to"):
        return (at(case.gold, "verdict.drink") or [None, None])[field == "verdict.drink_to"]
    return at(case.gold, field)


def _value(field: str, wanted: Any, before: Any) -> Any:
    """A value as the gold has it; where it was said stays, as the form keeps it."""
    if wanted is None:
        return None
    if field in ("wine.position", "verdict.drink_from", "verdict.drink_to"):
        return int(wanted)
    if field == "wine.code":
        return str(wanted)
    said = {"said": before.said, "at": before.at} if before is not None else {}
    spoken = {**said, "source": "corrected"}
    if field in LEVELS:
        return Level(level=round(sum(wanted) / 2, 2), **spoken)
    if field == "wine.vintage":
        return Vintage(year=wanted, **spoken)
    if field == "verdict.score":
        return Score(points=wanted[0], out_of=wanted[1], **spoken)
    if field in ("wine.producer", "wine.origin"):
        return Text(text=first_way(wanted), **spoken)
    return Term(term=first_way(wanted), **spoken)


def _clock(case: Case, held: dict[str, list[Held]]) -> dict[str, Any]:
    """The finish as it was, its cues dragged to where they were said, where it is wrong."""
    have = held.get("finish.seconds", [])
    onsets = {_CUES[line.cue]: line.start_s for line in case.spoken.lines if line.cue in _CUES}
    stated = at(case.gold, "finish.seconds")
    if at(case.gold, "finish.timed") and len(onsets) == 2:
        if have and is_right(have[0], case):
            return {}
        seconds = onsets["to_s"] - onsets["from_s"]
        return {
            "finish.seconds": round(seconds, 2), "finish.how": "timed", "finish.confidence": 1.0,
            "finish.from_s": onsets["from_s"], "finish.to_s": onsets["to_s"],
        }  # fmt: skip
    if (have and is_right(have[0], case)) or (not have and stated is None):
        return {}
    wanted = None if stated is None else float(stated[0] if isinstance(stated, list) else stated)
    how = "stated" if wanted is not None else "described" if case.note.finish.length else None
    return {
        "finish.seconds": wanted, "finish.how": how, "finish.from_s": None, "finish.to_s": None,
        "finish.confidence": None,
    }  # fmt: skip
