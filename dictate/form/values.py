"""What stands behind a field's name to a value; where it says what the note says, the note's own value."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Final

from dictate.form.cells import Item, cell, items_in, number_cell, number_in, single_in
from dictate.form.layout import LEXICON_KINDS, LISTS, Kind, Vocabulary
from dictate.form.write import item_text, value_text
from dictate.note import Descriptor, Fault, Level, Score, Spoken, Term, Text, Vintage, finish_seconds

_MOST_YEARS = 9999


def read_value(value: str, kind: Kind, *, path: str, before: Any, known: Vocabulary) -> Any:
    """The value that a line gives. Raises ValueError with what is wanted, ValidationError."""
    if kind == "texts":  # one line, one item
        return [_text_item(single_in(value), before)]
    if kind in LISTS:
        return _listed(items_in(value), kind, path=path, before=before, known=known)
    if value == value_text(before, kind):
        return before
    if not value:
        return None
    text = single_in(value)
    allowed = known.closed.get(path, ())
    if allowed and text not in allowed:
        raise ValueError(f"“{text[:40]}” is none of {', '.join(allowed)}")
    if kind in _PLAIN:
        return _PLAIN[kind](text)
    model, fields = _SPOKEN[kind]
    return model(**fields(text), **_spoken(before))


def _spoken(before: Any) -> dict[str, Any]:
    """Where it was said stays; that it was put right is told."""
    said = {"said": before.said, "at": before.at} if before is not None else {}
    return {**said, "source": "corrected"}


def _integer(text: str) -> int:
    number = number_in(text)
    if number is None or number != int(number) or not 0 <= number <= _MOST_YEARS:
        raise ValueError("a whole number is wanted, in figures")
    return int(number)


def _scale(text: str) -> float:
    number = number_in(text)
    if number is None or not 0 <= number <= 10:
        raise ValueError("a number from 0 (none at all) to 10 is wanted")
    return number


def _seconds(text: str) -> float:
    number = number_in(text.removesuffix("seconds").removesuffix("s").strip())
    if number is None or number < 0:
        raise ValueError("seconds are wanted, in figures; 12.5, say")
    return finish_seconds(number)


def _vintage(text: str) -> dict[str, int | str]:
    if text.upper() == "NV":
        return {"year": "NV"}
    if not (text.isascii() and text.isdigit() and len(text) == 4):
        raise ValueError("a year in four figures is wanted, or NV")
    return {"year": int(text)}


def _score(text: str) -> dict[str, float | None]:
    points, of, out_of = text.partition(" of ")
    numbers = [number_in(part.removesuffix(" out").strip()) for part in (points, out_of)]
    if numbers[0] is None or (of and numbers[1] is None):
        raise ValueError("points are wanted; 17.5 of 20, say")
    return {"points": numbers[0], "out_of": numbers[1]}


_PLAIN: Final[dict[Kind, Callable[[str], Any]]] = {
    "integer": _integer, "seconds": _seconds, "code": str, "how": str,
}  # fmt: skip
_SPOKEN: Final[dict[Kind, tuple[type[Spoken], Callable[[str], dict[str, Any]]]]] = {
    "level": (Level, lambda text: {"level": _scale(text)}),
    "vintage": (Vintage, _vintage),
    "score": (Score, _score),
    "term": (Term, lambda text: {"term": text}),
    "text": (Text, lambda text: {"text": text}),
}


def _text_item(text: str, before: Sequence[Text]) -> Text:
    return next((item for item in before if item.text == text), None) or Text(text=text, source="corrected")


def _listed(
    items: Sequence[Item], kind: Kind, *, path: str, before: Sequence[Any], known: Vocabulary
) -> list[Any]:
    """The items: those that the note has are its own; one whose term it has keeps where that was said."""
    left, made = list(before), []
    wanted = [_shown(item) for item in items]
    same: dict[int, Any] = {}
    for place, text in enumerate(wanted):  # first those that are unchanged, so that none is taken for another
        own = next((i for i, item in enumerate(left) if item_text(item) == text), None)
        if own is not None:
            same[place] = left.pop(own)
    for place, item in enumerate(items):
        if place in same:
            made.append(same[place])
            continue
        own = next((i for i, each in enumerate(left) if each.term == item.text), None)
        made.append(
            new_item(item, kind, path=path, before=left.pop(own) if own is not None else None, known=known)
        )
    return made


def _shown(item: Item) -> str:
    """An item as `item_text` writes it, whatever stands in its brackets."""
    if item.brackets is None:
        return cell(item.text)
    parts = [part.strip() for part in item.brackets.split(",")]
    numbers = [number_in(part) for part in parts]
    told = [
        part if number is None else number_cell(number) for part, number in zip(parts, numbers, strict=True)
    ]
    return f"{cell(item.text)} ({', '.join(told)})"


def new_item(item: Item, kind: Kind, *, path: str, before: Any, known: Vocabulary) -> Any:
    """A grape, descriptor or fault as written; `before`: that of the note whose term it has. Raises
    ValueError with what is wanted."""
    strength, certain = _brackets(item, kind)
    entry = known.lexicon.lookup(item.text, LEXICON_KINDS.get(path, "descriptor")) if known.lexicon else None
    spoken = _spoken(before)
    if kind == "terms":
        return Term(term=entry.term if entry else item.text, **spoken)
    if before is not None:
        described = {"term": before.term, "family": before.family, "known": before.known}
    elif entry is not None:
        described = {"term": entry.term, "family": entry.family or None, "known": True}
    else:
        described = {"term": item.text, "family": None, "known": known.lexicon is None}
    if kind == "faults":
        return Fault(**described, strength=strength, certain=certain, **spoken)
    return Descriptor(**described, strength=strength, **spoken)


def _brackets(item: Item, kind: Kind) -> tuple[float | None, bool]:
    """Strength, and whether it is certain."""
    strength, certain = None, True
    for part in (item.brackets or "").split(","):
        word = part.strip()
        if word == "perhaps" and kind == "faults":
            certain = False
        elif word and kind != "terms" and strength is None and number_in(word) is not None:
            strength = _scale(word)
        elif word or item.brackets == "":
            wanted = {"faults": "a strength or “perhaps”", "terms": "nothing"}.get(kind, "a strength")
            raise ValueError(f"“({(item.brackets or '')[:30]})”: in brackets stands {wanted}")
    return strength, certain
