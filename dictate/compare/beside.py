"""Any notes side by side: levels, finish, what is named in common and apart, spread, what nobody spoke
of."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from dictate.compare.reading import (
    ABSENT,
    DESCRIPTORS,
    LABELS,
    SCORE,
    SECONDS,
    fields_in_order,
    in_order,
    read_told,
    spread,
)
from dictate.compare.values import Beside, Named, Spread, Told
from dictate.note import Note


def compare_notes(notes: Iterable[Note]) -> Beside:
    """Notes side by side, in the order of the flight however they are given.

    Spreads are of levels and of scores that are out of the same number. Of finishes, timed ones and stated
    ones each have their own; an open clock ("at least 5.40 s") is in neither, for nobody knows its end.
    """
    glasses = tuple(read_told(note) for note in in_order(notes))
    common, apart = _names(glasses)
    return Beside(
        glasses=glasses,
        spreads=_spreads(glasses),
        timed=_seconds(glasses, "timed"),
        stated=_seconds(glasses, "stated"),
        common=common,
        apart=apart,
        unspoken=_unspoken(glasses),
    )


def _spreads(glasses: Sequence[Told]) -> Mapping[str, Spread]:
    values: dict[str, list[float]] = defaultdict(list)
    for told in glasses:
        for path, said in told.levels.items():
            values[path].append(said.level)
        if told.score and told.score.out_of is not None:
            values[f"{SCORE}/{told.score.out_of:g}"].append(told.score.points)
    found = {path: spread(values[path]) for path in fields_in_order(values)}
    return {path: of for path, of in found.items() if of}


def _seconds(glasses: Sequence[Told], how: str) -> Spread | None:
    held = [told.held for told in glasses if told.held and told.held.how == how]
    return spread(h.seconds for h in held if h.seconds is not None)


def _names(glasses: Sequence[Told]) -> tuple[tuple[Named, ...], tuple[Named, ...]]:
    """What all glasses that have a list name in it (two at least), and the rest; most often named first."""
    named: dict[tuple[str, str], list[int]] = defaultdict(list)
    absent: dict[tuple[str, str], list[int]] = defaultdict(list)
    having: dict[str, int] = defaultdict(int)
    for number, told in enumerate(glasses, start=1):
        for path, terms in told.descriptors.items():
            having[path] += path in DESCRIPTORS
            for term in terms:
                if path in ABSENT:
                    absent[ABSENT[path], term].append(number)
                else:
                    named[path, term].append(number)
    lists = list(DESCRIPTORS)
    found = [
        Named(path, term, tuple(named.get((path, term), ())), tuple(absent.get((path, term), ())))
        for path, term in named.keys() | absent.keys()
    ]
    found.sort(key=lambda one: (lists.index(one.field), -len(one.named), one.term))
    shared = [one for one in found if len(one.named) >= 2 and len(one.named) == having[one.field]]
    alike = set(shared)
    return tuple(shared), tuple(one for one in found if one not in alike)


def _unspoken(glasses: Sequence[Told]) -> tuple[str, ...]:
    """Fields without a value in any glass. Of the finish, words of its length alone are a value too."""
    spoken: set[str] = set()
    for told in glasses:
        spoken |= told.levels.keys() | told.terms.keys() | told.descriptors.keys()
        spoken |= ({SECONDS} if told.held else set()) | ({SCORE} if told.score else set())
    if SECONDS in spoken:
        spoken.add("finish.length")
    return tuple(path for path in LABELS if glasses and path not in spoken)
