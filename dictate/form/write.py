"""A note to its text."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from dictate.form.cells import cell, number_cell
from dictate.form.layout import LISTS, MANY_LINES, SECTIONS, Kind, path_of, value_at
from dictate.note import Descriptor, Fault, Note, Term

_HEAD = """\
# What stands behind a colon can be changed; empty it to take the value out. Items of a list are parted by
# “;”, a strength from 0 to 10 stands in brackets behind its item, a fault that is in doubt has (perhaps).
# Text with such marks in it is put in "quotation marks". Lines that begin with “#” are not read.
"""


def as_text(note: Note) -> str:
    """The note as text to edit: every field on a line of its own, empty ones too, and what was said of it
    above. What has no line (times, the transcript, the history) stays as it is when the text is read back:
    `read_text(as_text(note), note)` is the same note."""
    lines = [_HEAD]
    for section, fields in SECTIONS.items():
        lines.append(section)
        for name, kind in fields.items():
            value = value_at(note, path_of(section, name))
            lines += [f"  # said: {said}" for said in _said(value)]
            if kind == MANY_LINES and value:
                lines += [f"  {name}: {cell(item.text)}" for item in value]
            else:
                lines.append(f"  {name}: {value_text(value, kind)}".rstrip())
        lines.append("")
    return "\n".join(lines)


def value_text(value: Any, kind: Kind) -> str:
    """A value as it stands behind its field's name, "" of None and of an empty list."""
    if value is None:
        return ""
    if kind in LISTS:
        return "; ".join(map(item_text, value))
    match kind:
        case "text":
            return cell(value.text)
        case "term":
            return cell(value.term)
        case "vintage":
            return str(value.year)
        case "level":
            return number_cell(value.level)
        case "score":
            of = "" if value.out_of is None else f" of {number_cell(value.out_of)}"
            return number_cell(value.points) + of
        case "seconds":
            return number_cell(value)
        case _:
            return cell(str(value))


def item_text(item: Any) -> str:
    """An item of a list: a grape, a descriptor with its strength, a fault, a remark."""
    if not isinstance(item, Descriptor):
        return cell(item.term if isinstance(item, Term) else item.text)
    brackets = []
    if item.strength is not None:
        brackets.append(number_cell(item.strength))
    if isinstance(item, Fault) and not item.certain:
        brackets.append("perhaps")
    return cell(item.term) + (f" ({', '.join(brackets)})" if brackets else "")


def _said(value: Any) -> Iterator[str]:
    """The words a single value was read from, where they say more than the value does."""
    for each in _single(value):
        said = " ".join(getattr(each, "said", "").split())
        if said and said.isprintable() and said != getattr(each, "text", getattr(each, "term", "")):
            yield f"“{said[:100]}”"


def _single(value: Any) -> Iterable[Any]:
    return () if isinstance(value, list) or value is None else (value,)
