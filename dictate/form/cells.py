"""Values as they stand in the text: plain where that reads back the same, else in quotation marks as JSON."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass

_DECODER = json.JSONDecoder(strict=True)
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[+-]?\d+)?", re.ASCII)
_MARKS = frozenset('";()#“”')
_MOST_FIGURES = 20


@dataclass(frozen=True, slots=True)
class Item:
    """One item of a value and what stands in brackets behind it."""

    text: str
    brackets: str | None = None


def cell(text: str) -> str:
    """A text as it stands in the form."""
    plain = text and text == text.strip() and text.isprintable() and _MARKS.isdisjoint(text)
    return text if plain else json.dumps(text, ensure_ascii=not text.isprintable())


def number_cell(value: float) -> str:
    """A number, a whole one without ".0"."""
    return repr(value).removesuffix(".0")


def number_in(text: str) -> float | None:
    """The number that a text is, None where it is none."""
    return float(text) if _NUMBER.fullmatch(text) and len(text) <= _MOST_FIGURES + 5 else None


def items_in(value: str) -> list[Item]:
    """The items of a value, parted by ";". Raises ValueError with what is wrong."""
    return list(_items(value))


def single_in(value: str) -> str:
    """A value that is one text. Raises ValueError."""
    if value.startswith('"'):
        text, rest = _quoted(value, 0)
        if value[rest:].strip():
            raise ValueError("something stands behind the quotation mark that closes; take it out")
        return text
    return value


def _quoted(value: str, at: int) -> tuple[str, int]:
    try:
        text, end = _DECODER.raw_decode(value, at)
    except json.JSONDecodeError as error:
        raise ValueError("a quotation mark is not closed, or “\\” stands wrongly within") from error
    return str(text), end


def _items(value: str) -> Iterator[Item]:
    at = 0
    while at < len(value):
        while at < len(value) and value[at].isspace():
            at += 1
        if at < len(value) and value[at] == '"':
            text, at = _quoted(value, at)
            quoted = True
        else:
            end = next((i for i in range(at, len(value)) if value[i] in ';()"'), len(value))
            text, at, quoted = value[at:end].strip(), end, False
        brackets, at = _brackets(value, at)
        if at < len(value) and value[at] != ";":
            raise ValueError(f"“{value[at : at + 10]}” stands where “;” is wanted between two items")
        at += 1
        if text or quoted:
            yield Item(text, brackets)
        elif brackets is not None:
            raise ValueError("brackets stand behind nothing")


def _brackets(value: str, at: int) -> tuple[str | None, int]:
    """What stands in brackets at a place, and where it goes on; white space behind is passed over."""
    while at < len(value) and value[at].isspace():
        at += 1
    if at >= len(value) or value[at] != "(":
        return None, at
    end = value.find(")", at)
    if end < 0:
        raise ValueError("a bracket is not closed; close it with “)”")
    inside, at = value[at + 1 : end].strip(), end + 1
    while at < len(value) and value[at].isspace():
        at += 1
    return inside, at
