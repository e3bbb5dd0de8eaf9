"""The pages as HTML: the library, a note, notes side by side. Every text is escaped by the templates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any, Final

from jinja2 import BaseLoader, Environment, StrictUndefined, TemplateNotFound

from dictate.compare import (
    Comparison,
    as_sheet,
    as_tables,
    compare_notes,
    compare_repeats,
    compare_years,
)
from dictate.export import CAUTIONS, CLOCK_LINE, number, wine_title
from dictate.find import NUMBERS, parse_query, sort_key
from dictate.handout import ENDINGS
from dictate.learn import KindHeard, Proposal
from dictate.library import Hit
from dictate.note import Note
from dictate.recognise.typed import is_transcript
from dictate.review.doubts import doubtful, missed
from dictate.review.sheet import sheet_of, told_change
from dictate.review.shelf import Open, Shelf, is_accepted
from dictate.review.strip import HEADINGS, strip_of

PAGE: Final = 40  # notes on a page of the library
HOWS: Final = {"notes": compare_notes, "years": compare_years, "repeats": compare_repeats}
_ACROSS: Final = 7  # wines beside each other in a table
_SORTS: Final = ("added", "title", *NUMBERS)
_MOST_HISTORY: Final = 200


class _Own(BaseLoader):
    """The templates of this package alone."""

    def get_source(self, environment: Environment, template: str) -> tuple[str, None, None]:  # noqa: ARG002
        """A template's text."""
        found = resources.files("dictate.review") / "templates" / f"{template}.html"
        if not template.isalpha() or not found.is_file():
            raise TemplateNotFound(template)
        return found.read_text("utf-8"), None, None


@lru_cache(maxsize=1)
def _environment() -> Environment:
    made = Environment(
        loader=_Own(), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    made.filters["number"] = number
    made.filters["clock"] = clock
    made.globals.update(clock_line=CLOCK_LINE, cautions=CAUTIONS)
    return made


def clock(seconds: float) -> str:
    """Seconds as a player shows them: "1:02:03", "2:03"."""
    whole = int(seconds)
    hours, rest = divmod(whole, 3600)
    return f"{hours}:{rest // 60:02d}:{rest % 60:02d}" if hours else f"{rest // 60}:{rest % 60:02d}"


def _page(template: str, **more: Any) -> str:
    return _environment().get_template(template).render(**more)


def problem_page(problem: str) -> str:
    """A page that says what is wrong and leads back."""
    return _page("problem", problem=problem)


@dataclass(frozen=True, slots=True)
class Row:
    """A note in the library's list."""

    number: int
    title: str
    figures: tuple[str, ...]
    state: str


def note_page(shelf: Shelf, opened: Open, *, changed: bool = False, voice: bool = False) -> str:
    """A note to hear, to read and to put right; `changed`: only what a change may have changed; `voice`: what
    is said is heard."""
    note = opened.note
    sheet = sheet_of(note, doubtful(note))
    return _page(
        "note",
        title=wine_title(note),
        number=opened.number,
        revision=opened.revision,
        sheet=sheet,
        strip=strip_of(note),
        missed=() if sheet.accepted else missed(note),
        note=note,
        has_sound=note.recording is not None and not is_transcript(Path(note.recording.path)),
        phrases=[(HEADINGS[p.stage], p) for p in note.transcript],
        changed=changed,
        voice=voice,
        history=[(c, told_change(c)) for c in note.history[-_MOST_HISTORY:]][::-1],
        can_undo=shelf.last_change(opened.number) is not None,
    )


def library_page(shelf: Shelf, *, asked: str, by: str, page: int, problem: str = "") -> str:
    """The notes that a query finds. `asked` is shown again; `problem`: why it finds none. Raises QueryError,
    LibraryError."""
    found = shelf.library.find(parse_query(asked), by=sort_key(by), limit=page * PAGE)
    hits = found.hits[(page - 1) * PAGE :]
    return _page(
        "library",
        asked=asked,
        by=by,
        sorts=_SORTS,
        rows=[_row(shelf, hit) for hit in hits],
        total=found.total,
        page=page,
        pages=max(1, -(-found.total // PAGE)),
        endings=ENDINGS,
        hows=HOWS,
        problem=problem,
    )


def empty_page(asked: str, *, by: str, problem: str) -> str:
    """The library where a query is none: what was asked, and why nothing is shown."""
    return _page(
        "library", asked=asked, by=by, sorts=_SORTS, rows=[], total=0, page=1, pages=1, endings=ENDINGS,
        hows=HOWS, problem=problem,
    )  # fmt: skip


def _row(shelf: Shelf, hit: Hit) -> Row:
    note = shelf.library.get(str(hit.number))
    count = len(doubtful(note))
    state = "accepted" if is_accepted(note) else f"{count} to look at" if count else "nothing doubtful"
    figures = (_figure(hit.facts["finish"], " s"), _figure(hit.facts["quality"]))
    return Row(hit.number, hit.title, figures, state)


def _figure(value: float | str | None, unit: str = "") -> str:
    if not isinstance(value, int | float):
        return ""
    return f"{value:.2f}{unit}" if unit else number(value)


def compared(notes: Sequence[Note], how: str) -> Comparison:
    """The comparison asked for, by a name of `HOWS`; a KeyError where it is none."""
    made: Comparison = HOWS[how](notes)  # type: ignore[operator]
    return made


def compare_page(numbers: Sequence[int], notes: Sequence[Note], *, how: str) -> str:
    """Notes side by side, as tables and as a picture."""
    comparison = compared(notes, how)
    sheet = as_sheet(comparison)
    return _page(
        "compare",
        numbers=numbers,
        how=how,
        hows=HOWS,
        tables=as_tables(comparison, across=_ACROSS),
        picture=bool(sheet.rows and sheet.columns),
        description=sheet.description,
        endings=ENDINGS,
    )


def learning_page(proposals: Sequence[Proposal], heard: Sequence[KindHeard], *, told: str = "") -> str:
    """What could be learnt from what was put right, and how each kind of value was heard."""
    return _page("learning", proposals=proposals, heard=heard, told=told)
