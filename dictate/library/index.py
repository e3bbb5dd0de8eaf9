"""What of a note the library can find: a note to rows. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from dictate.export import clean, wine_title
from dictate.language.search import search_keys
from dictate.note import Descriptor, Level, Note, Term, Text

_BETWEEN = " \ue000 "  # a word of no language between two items: no phrase goes across it
_MOST = 1e15  # beyond it a number is none of a wine's


@dataclass(frozen=True, slots=True)
class Rows:
    """One row of `facts` and one of `texts`, by column."""

    facts: dict[str, float | str | None]
    texts: dict[str, str]


def rows_of(note: Note) -> Rows:
    """What can be found of a note: its numbers, its title, the search keys of its texts.

    Denied descriptors are in `absent` alone; a descriptor is found by its family too. What was said is
    there but for the cues.
    """
    return Rows(_facts(note), {name: _keys(items) for name, items in _texts(note).items()})


def _facts(note: Note) -> dict[str, float | str | None]:
    wine, palate, verdict = note.wine, note.palate, note.verdict
    year = wine.vintage.year if wine.vintage else None
    levels = ("sweetness", "acidity", "tannin", "alcohol", "body", "bitterness", "mousse")
    numbers: dict[str, float | Level | None] = {
        "position": wine.position,
        "vintage": None if year == "NV" else year,
        "depth": note.appearance.depth,
        "nose_intensity": note.nose.intensity,
        **{name: getattr(palate, name) for name in levels},
        "palate_intensity": palate.intensity,
        "finish": note.finish.seconds,
        "length": note.finish.length,
        "quality": verdict.quality,
        "score": verdict.score.points if verdict.score else None,
        "drink_from": verdict.drink_from,
        "drink_to": verdict.drink_to,
        "faults": len(note.faults),
    }
    named = {"producer": wine.producer, "origin": wine.origin}
    return {
        "title": wine_title(note),
        **{name: clean(text.text) if text else None for name, text in named.items()},
        **{name: _number(value) for name, value in numbers.items()},
    }


def _number(value: float | Level | None) -> float | None:
    plain = value.level if isinstance(value, Level) else value
    return float(plain) if plain is not None and abs(plain) <= _MOST else None


def _texts(note: Note) -> dict[str, list[str]]:
    wine, eye, nose, palate = note.wine, note.appearance, note.nose, note.palate
    terms = {
        "colour": wine.colour, "style": wine.style, "clarity": eye.clarity, "hue": eye.hue, "rim": eye.rim,
        "age": nose.age, "balance": palate.balance, "readiness": note.verdict.readiness,
    }  # fmt: skip
    lists = {
        "aromas": nose.aromas,
        "flavours": palate.flavours,
        "finish_flavours": note.finish.flavours,
        "feel": (*palate.texture, *palate.tannin_texture),
        "absent": (*nose.absent, *palate.absent),
        "faults": note.faults,
    }
    return {
        "producer": _said(wine.producer),
        "name": _said(wine.name),
        "origin": _said(wine.origin),
        "grapes": [grape.term for grape in wine.grapes],
        "vintage": [str(wine.vintage.year)] if wine.vintage else [],
        "code": [wine.code] if wine.code else [],
        "how": [note.finish.how] if note.finish.how else [],
        **{name: _term(term) for name, term in terms.items()},
        **{name: _described(items) for name, items in lists.items()},
        "words": [
            *(phrase.text for phrase in note.transcript if phrase.stage != "cue"),
            *(text.text for text in (*note.remarks, *note.asides)),
        ],
    }


def _said(text: Text | None) -> list[str]:
    return [text.text] if text else []


def _term(term: Term | None) -> list[str]:
    return [term.term] if term else []


def _described(items: Iterable[Descriptor]) -> list[str]:
    return [text for item in items for text in (item.term, item.family) if text]


def _keys(items: Iterable[str]) -> str:
    return _BETWEEN.join(" ".join(search_keys(item)) for item in items)
