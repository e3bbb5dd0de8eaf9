"""The text of a note back to the note, each line checked."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, Final, get_args

from pydantic import ValidationError

from dictate.form.layout import (
    MANY_LINES,
    SECTIONS,
    FormError,
    Kind,
    Vocabulary,
    path_of,
    value_at,
    with_values,
)
from dictate.form.values import read_value
from dictate.note import Finish, Note

_HOWS: Final = get_args(get_args(Finish.model_fields["how"].annotation)[0])


@dataclass(frozen=True, slots=True)
class _Line:
    number: int
    section: str
    name: str
    value: str


def read_text(text: str, note: Note, *, vocabulary: Vocabulary | None = None) -> Note:
    """The note with what its text, as `as_text` made it and a hand changed it, says otherwise.

    A changed value keeps where it was said and has the source "corrected"; what stands as it was is not
    touched. Raises FormError with the line of the first mistake.
    """
    lines = list(_lines(text))
    known = vocabulary or Vocabulary()
    values: dict[str, Any] = {}
    where: dict[str, int] = {}
    for section, fields in SECTIONS.items():
        for name, kind in fields.items():
            path = path_of(section, name)
            mine = [line for line in lines if (line.section, line.name) == (section, name)]
            if kind != MANY_LINES and len(mine) > 1:
                raise FormError(mine[1].number, f"{name} stands twice in {section}; keep one")
            before = value_at(note, path)
            after = _value(mine, kind, path=path, before=before, known=known)
            if after != before:
                values[path] = after
                where[path] = mine[0].number if mine else _section_line(text, section)
    settle_finish(note, values, where=where)
    try:
        return with_values(note, values) if values else note
    except ValidationError as error:
        first = error.errors()[0]
        raise FormError(next(iter(where.values()), 1), str(first["msg"])) from error


def _value(mine: list[_Line], kind: Kind, *, path: str, before: Any, known: Vocabulary) -> Any:
    if kind == MANY_LINES:
        made: list[Any] = []
        left = list(before)
        for line in mine:
            if line.value:
                made += _checked(line, kind, path=path, before=left, known=known)
                left = [item for item in left if not any(item is other for other in made)]
        return made
    line = mine[0] if mine else _Line(0, "", "", "")
    return _checked(line, kind, path=path, before=before, known=known)


def _checked(line: _Line, kind: Kind, *, path: str, before: Any, known: Vocabulary) -> Any:
    try:
        return read_value(line.value, kind, path=path, before=before, known=known)
    except ValidationError as error:
        raise FormError(line.number, f"{line.name}: {error.errors()[0]['msg']}") from error
    except ValueError as error:
        raise FormError(line.number, f"{line.name}: {error}") from error


def _lines(text: str) -> Iterator[_Line]:
    """The fields, each with its section; every section must be there."""
    section, seen, number = "", [], 0
    for number, raw in enumerate(text.split("\n"), 1):
        line = raw.strip()
        if not line or line.startswith("#"):
            continue
        if line in SECTIONS:
            if line in seen:
                raise FormError(number, f"the section {line} stands twice; keep one")
            section = line
            seen.append(line)
            continue
        name, colon, value = line.partition(":")
        name = name.strip()
        if not colon:
            raise FormError(number, f"“{line[:40]}” is neither a section nor a field; write name: value")
        if not section:
            raise FormError(number, f"“{name[:40]}” stands before the first section, {next(iter(SECTIONS))}")
        if name not in SECTIONS[section]:
            raise FormError(number, _unknown(name, section))
        yield _Line(number, section, name, value.strip())
    missing = [name for name in SECTIONS if name not in seen]
    if missing:
        raise FormError(
            number, f"the section {missing[0]} is not there; put it back (its values may be empty)"
        )


def _unknown(name: str, section: str) -> str:
    near = get_close_matches(name, SECTIONS[section], n=1)
    cure = f"did you mean {near[0]}?" if near else f"there are {', '.join(SECTIONS[section])}"
    return f"{section} has no field “{name[:40]}”; {cure}"


def _section_line(text: str, section: str) -> int:
    return next(i for i, line in enumerate(text.split("\n"), 1) if line.strip() == section)


def settle_finish(note: Note, values: dict[str, Any], *, where: Mapping[str, int]) -> None:
    """Only the clock makes a finish timed: a length put in by hand is a stated one, without its cues."""
    seconds = values.get("finish.seconds", note.finish.seconds)
    how = values.get("finish.how", note.finish.how)
    if how is not None and how not in _HOWS:
        raise FormError(where.get("finish.how", 1), f"how: write one of {', '.join(_HOWS)}")
    if "finish.seconds" not in values and "finish.how" not in values:
        return
    if how == "timed" and note.finish.how != "timed":
        raise FormError(where["finish.how"], "how: only the clock makes a finish timed; write stated")
    if "finish.seconds" in values and how in ("timed", None):
        how = "stated"
    if seconds is None and how in ("timed", "stated"):
        told = [values.get(f"finish.{name}", getattr(note.finish, name)) for name in ("length", "flavours")]
        how = "described" if any(told) else None
    if how != "timed":
        values.update({"finish.from_s": None, "finish.to_s": None, "finish.confidence": None})
    values["finish.how"] = how
