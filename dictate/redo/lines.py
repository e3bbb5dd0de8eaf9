"""What redoing is told as: lines of a note, and plain data. Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any, Final

from dictate.export import clean, wine_title
from dictate.form import Difference, FieldDifference
from dictate.redo.gather import Choice, Source
from dictate.redo.values import Redone
from dictate.review.sheet import name_of

SHARE_OF_TIME: Final = 0.6  # of the sound's length, on two cores: 0.4 to 0.8 (models/README.md)
# what stands before the fields of a kind
_HEADS: Final = {
    "machine": "Read otherwise",
    "kept": "As you put it",
    "agree": "Now read as you had put it",
    "conflict": "Yours stands, and is read otherwise again",
}


def redone_lines(redone: Redone) -> Iterator[str]:
    """A note that was made again: its name, and what differs."""
    yield f"{redone.number}: {wine_title(redone.note)}"
    if redone.is_new:
        yield "  A note of its own now."
        return
    differs = redone.difference
    for kind, head in _HEADS.items():
        fields = [field_line(field) for field in differs.fields if field.kind == kind]
        if fields:
            yield f"  {head}: {' | '.join(fields)}"
    if differs.otherwise:
        yield f"  Heard otherwise: {differs.otherwise} of {differs.words} words"
    if redone.same:
        yield "  The same."
    elif not differs.of_kind("machine") and not differs.of_kind("conflict"):
        yield "  Says the same."


def field_line(field: FieldDifference) -> str:
    """One field, in words: "acidity: 5 → 8"."""
    name = "how the finish is known" if field.path == "finish.how" else name_of(field.path)
    before, now, stands = (_told(texts) for texts in (field.before, field.now, field.stands))
    match field.kind:
        case "machine":
            many = len(field.before) > 1 or len(field.now) > 1
            return f"{name}: {_items(field) if many else f'{before} → {now}'}"
        case "kept":
            return f"{name}: {stands} (read as before: {now})"
        case "agree":
            return f"{name}: {stands} (read before: {before})"
        case _:
            return f"{name}: {stands} (read before: {before}; now: {now})"


def _items(field: FieldDifference) -> str:
    """Of a list what went and what came, else its new order."""
    before, now = Counter(field.before), Counter(field.now)
    gone = [f"− {item}" for item in (before - now).elements()]
    come = [f"+ {item}" for item in (now - before).elements()]
    return clean(", ".join([*gone, *come])) or _told(field.now)


def _told(texts: Sequence[str]) -> str:
    return clean("; ".join(texts)) or "nothing"


def choice_rows(choice: Choice) -> list[list[str]]:
    """Each recording with its notes that would be made again, its length and why."""
    return [
        [
            source.name,
            ", ".join(map(str, source.wanted)),
            length(source.seconds),
            "; ".join(dict.fromkeys(why for reasons in source.wanted.values() for why in reasons)),
        ]
        for source in choice.sources
    ]


def length(seconds: float) -> str:
    """Hours, minutes and seconds: "1:05:00", "12:30"."""
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{rest:02}" if hours else f"{minutes}:{rest:02}"


def about(seconds: float) -> str:
    """A time that is known roughly: "about 3 h", "about 20 min"."""
    if seconds >= 5400:
        return f"about {round(seconds / 3600)} h"
    return f"about {round(seconds / 60)} min" if seconds >= 90 else "about a minute"


def choice_data(choice: Choice) -> dict[str, Any]:
    """What would be made again, as plain JSON data."""
    return {
        "recordings": [_source_data(source) for source in choice.sources],
        "without_recording": list(choice.unrecorded),
        "put_back_by_hand": list(choice.refused),
        "unreadable": list(choice.unreadable),
        "not_older": choice.current,
    }


def _source_data(source: Source) -> dict[str, Any]:
    return {
        "name": source.name,
        "path": None if source.place is None else str(source.place),
        "sha256": source.sha256,
        "seconds": round(source.seconds, 3),
        "notes": [{"number": number, "older": list(why)} for number, why in source.wanted.items()],
    }


def redone_data(redone: Redone) -> dict[str, Any]:
    """A note that was made again, as plain JSON data."""
    made = redone.note.made_with
    return {
        "number": redone.number,
        "id": redone.note.id,
        "wine": wine_title(redone.note),
        "outcome": "new" if redone.is_new else "same" if redone.same else "made again",
        "made_before_with": None if redone.was is None else redone.was.model_dump(),
        "made_with": None if made is None else made.model_dump(),
        **difference_data(redone.difference),
    }


def difference_data(differs: Difference) -> dict[str, Any]:
    """A difference as plain JSON data; of each field what was read before and now, and what stands, as lists
    of texts."""
    return {
        "words": differs.words,
        "words_otherwise": differs.otherwise,
        "fields": [
            {
                "field": f.path,
                "kind": f.kind,
                "before": list(f.before),
                "now": list(f.now),
                "stands": list(f.stands),
            }
            for f in differs.fields
        ],
    }
