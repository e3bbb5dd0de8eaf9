"""How well each kind of value is heard, by the corrections: they are the truth. Pure."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from typing import Final

from dictate.learn.corrections import LISTS, corrections_of, reviewed
from dictate.learn.misheard import misheard_for
from dictate.learn.values import Correction, KindHeard, Known
from dictate.note import Note, fields_of

NAMED: Final = {
    "wine.producer": "producers", "wine.name": "wines' names", "wine.origin": "origins",
    "wine.grapes": "grapes", "wine.vintage": "vintages", "wine.position": "numbers and codes",
    "wine.code": "numbers and codes", "wine.colour": "colours and styles", "wine.style": "colours and styles",
    "nose.aromas": "aromas", "nose.age": "terms", "palate.flavours": "flavours", "palate.balance": "terms",
    "palate.tannin_texture": "textures", "palate.texture": "textures", "finish.flavours": "flavours",
    "finish.seconds": "cues and seconds", "finish.from_s": "cues and seconds",
    "finish.to_s": "cues and seconds", "faults": "faults", "nose.absent": "absent things",
    "palate.absent": "absent things", "verdict.score": "scores and years", "verdict.readiness": "terms",
    "verdict.drink_from": "scores and years", "verdict.drink_to": "scores and years",
    "appearance.depth": "levels", "nose.intensity": "levels", "finish.length": "levels",
    "verdict.quality": "levels",
}  # fmt: skip
_BY_SECTION: Final = {"appearance": "looks", "palate": "levels"}
_NOT_COUNTED: Final = ("finish.how", "finish.from_s", "finish.to_s", "finish.confidence")
_MEASURED: Final = "levels"  # of a number nothing was misheard by itself
_SHOWN: Final = 5  # mishearings of a kind


def hearing_of(notes: Sequence[Note], known: Known) -> tuple[KindHeard, ...]:
    """How well each kind is heard in the notes that a hand has looked at, the worst first."""
    values: Counter[str] = Counter()
    changes: defaultdict[str, list[tuple[Note, Correction]]] = defaultdict(list)
    for note in reviewed(notes):
        values.update(kind_of(field) for field in _held(note))
        for correction in _once(corrections_of(note)):
            changes[kind_of(correction.field)].append((note, correction))
    found = [_kind(kind, values[kind], changes[kind], known) for kind in {*values, *changes}]
    return tuple(sorted(found, key=lambda one: (one.right, -one.taken_out, one.kind)))


def kind_of(field: str) -> str:
    """What the values of a field are called together."""
    return NAMED.get(field, _BY_SECTION.get(field.partition(".")[0], field))


def _once(corrections: Sequence[Correction]) -> list[Correction]:
    """A clock put right is one correction, though it changes several fields."""
    clock = [c for c in corrections if c.field in ("finish.seconds", "finish.from_s", "finish.to_s")]
    return [c for c in corrections if c not in clock[1:]]


def _held(note: Note) -> Iterator[str]:
    """The field of each value that a note holds."""
    for field, value in fields_of(note):
        if field not in _NOT_COUNTED and value is not None:
            yield from [field] * (len(value) if field in LISTS else 1)


def _kind(kind: str, held: int, changes: Sequence[tuple[Note, Correction]], known: Known) -> KindHeard:
    heard: Counter[tuple[str, str]] = Counter()
    for note, correction in changes:
        found = misheard_for(note, correction, known=known)
        if found is not None and correction.after is not None:
            heard[found.heard, correction.after] += 1
        elif kind != _MEASURED and correction.before is not None and correction.after is not None:
            heard[correction.before, correction.after] += 1
    told = [c for _, c in changes]
    return KindHeard(
        kind,
        held,
        changed=sum(c.before is not None and c.after is not None for c in told),
        missing=sum(c.before is None for c in told),
        taken_out=sum(c.after is None for c in told),
        misheard=tuple((a, b, n) for (a, b), n in heard.most_common(_SHOWN)),
    )
