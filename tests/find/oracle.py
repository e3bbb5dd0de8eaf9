"""What a query means, said plainly: the tree held against a Note, with no index between. Slow and simple.

`library/` must find just the notes for which this says yes. It shares with the index only how a text is cut
into search keys.
"""

from __future__ import annotations

from collections.abc import Sequence

from dictate.find import All, Any, Mentions, Not, Query, Range
from dictate.language.search import search_keys
from dictate.note import Level, Note


def holds(query: Query, note: Note) -> bool:
    """Whether the note is a hit."""
    match query:
        case All(parts):
            return all(holds(part, note) for part in parts)
        case Any(parts):
            return any(holds(part, note) for part in parts)
        case Not(part):
            return not holds(part, note)
        case Range():
            return _within(query, number(note, query.field))
        case Mentions():
            return any(_stands(query, item) for text in query.texts for item in items(note, text))


def _within(query: Range, value: float | None) -> bool:
    if value is None:
        return False
    low, high = query.low, query.high
    if low is not None and (value < low or (value == low and not query.low_counts)):
        return False
    return high is None or value < high or (value == high and query.high_counts)


def _stands(query: Mentions, item: str) -> bool:
    there, wanted = search_keys(item), query.keys
    for at in range(len(there) - len(wanted) + 1):
        window = there[at : at + len(wanted)]
        last = window[-1].startswith(wanted[-1]) if query.opening else window[-1] == wanted[-1]
        if last and window[:-1] == wanted[:-1]:
            return True
    return False


def number(note: Note, field: str) -> float | None:
    """A number of the note by its name in a query."""
    if field == "vintage":
        year = note.wine.vintage.year if note.wine.vintage else None
        return None if year == "NV" else year
    if field == "score":
        return note.verdict.score.points if note.verdict.score else None
    if field == "faults":
        return len(note.faults)
    places = {
        "position": note.wine.position,
        "depth": note.appearance.depth,
        "nose_intensity": note.nose.intensity,
        "palate_intensity": note.palate.intensity,
        "finish": note.finish.seconds,
        "length": note.finish.length,
        "quality": note.verdict.quality,
        "drink_from": note.verdict.drink_from,
        "drink_to": note.verdict.drink_to,
    }
    value = places[field] if field in places else getattr(note.palate, field)
    return value.level if isinstance(value, Level) else value


def items(note: Note, text: str) -> Sequence[str]:
    """The items of a text of the note by its name in a query; a descriptor counts by its family too."""
    wine, eye, nose, palate = note.wine, note.appearance, note.nose, note.palate
    lists = {
        "aromas": nose.aromas,
        "flavours": palate.flavours,
        "finish_flavours": note.finish.flavours,
        "feel": [*palate.texture, *palate.tannin_texture],
        "absent": [*nose.absent, *palate.absent],
        "faults": note.faults,
    }
    if text in lists:
        return [part for d in lists[text] for part in (d.term, d.family or "")]
    terms = {
        "colour": wine.colour, "style": wine.style, "clarity": eye.clarity, "hue": eye.hue, "rim": eye.rim,
        "age": nose.age, "balance": palate.balance, "readiness": note.verdict.readiness,
    }  # fmt: skip
    if text in terms:
        term = terms[text]
        return [term.term] if term else []
    if text in ("producer", "name", "origin"):
        value = getattr(wine, text)
        return [value.text] if value else []
    if text == "words":
        spoken = [phrase.text for phrase in note.transcript if phrase.stage != "cue"]
        return [*spoken, *(t.text for t in note.remarks), *(t.text for t in note.asides)]
    return {
        "grapes": [grape.term for grape in wine.grapes],
        "vintage": [str(wine.vintage.year)] if wine.vintage else [],
        "code": [wine.code or ""],
        "how": [note.finish.how or ""],
    }[text]
