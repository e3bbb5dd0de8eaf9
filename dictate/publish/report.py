"""A tasting's report as plain data: what a template, ours or a user's, is filled with. Pure.

The keys (README, "Publishing"): `title`, `language`, `wines` (each with `number`, `code`, `name`, `title`,
`anchor`, `prose`, `figures`, `also_said`, `note`), `table` (`columns`, `rows`), `scale`, `clock`, `cautions`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from dictate.export import (
    CAUTIONS,
    CLOCK_LINE,
    SCALE_LINE,
    clean,
    headed_parts,
    is_timed,
    wine_name,
    wine_title,
)
from dictate.language.tokens import fold
from dictate.note import Level, Note, as_document
from dictate.publish.prose import as_prose

Report = dict[str, Any]
_ALSO_SAID = "Also said"
# the comparison's columns: heading, section, field
_LEVELS = (
    ("depth", "appearance", "depth"),
    ("nose", "nose", "intensity"),
    ("sweetness", "palate", "sweetness"),
    ("acidity", "palate", "acidity"),
    ("tannin", "palate", "tannin"),
    ("alcohol", "palate", "alcohol"),
    ("body", "palate", "body"),
    ("bitterness", "palate", "bitterness"),
    ("mousse", "palate", "mousse"),
)


def report_of(notes: Sequence[Note], *, title: str = "") -> Report:
    """The report of a tasting, its wines in the order of the flight (those without a number last, as given).

    Plain JSON data, nothing in it escaped: `filled` and the typesetter see to that.
    """
    ordered = sorted(notes, key=lambda note: (note.wine.position is None, note.wine.position or 0))
    wines = [_wine(note, index) for index, note in enumerate(ordered, 1)]
    alone = wine_name(ordered[0]) if len(ordered) == 1 else "Tasting notes"
    figures = any(level for note in ordered for level in _levels(note).values())
    return {
        "title": clean(title) or alone,
        "language": "en",
        "wines": wines,
        "table": _table(ordered, wines),
        "scale": SCALE_LINE if figures else "",
        "clock": CLOCK_LINE if any(map(is_timed, ordered)) else "",
        "cautions": CAUTIONS,
    }


def _wine(note: Note, index: int) -> Report:
    prose = as_prose(note)
    told = fold(prose)
    return {
        "number": note.wine.position,
        "code": clean(note.wine.code or ""),
        "name": wine_name(note),
        "title": wine_title(note),
        "anchor": f"wine-{index}",
        "prose": prose,
        "figures": [
            {"heading": heading, "parts": [clean(part) for part in parts]}
            for heading, parts in headed_parts(note)
            if heading != _ALSO_SAID
        ],
        "also_said": [clean(t.text) for t in note.remarks if fold(clean(t.text)).strip(" ,.;:") not in told],
        "note": as_document(note),
    }


def _levels(note: Note) -> dict[str, Level | None]:
    return {heading: getattr(getattr(note, section), name) for heading, section, name in _LEVELS}


def _finish(note: Note) -> str:
    seconds = note.finish.seconds
    if seconds is None:
        return ""
    return f"{seconds:.2f}" if note.finish.how == "timed" else f"about {seconds:g}"


def _score(note: Note) -> str:
    score = note.verdict.score
    return "" if score is None else f"{score.points:g}" + (f"/{score.out_of:g}" if score.out_of else "")


def _table(notes: Sequence[Note], wines: Sequence[Report]) -> Report:
    """Levels, finish and score side by side; columns of which no wine has anything are left out."""
    levels = [_levels(note) for note in notes]
    filled = [(heading, [_figure(mine[heading]) for mine in levels]) for heading, _, _ in _LEVELS]
    filled += [
        ("finish, s", [_finish(note) for note in notes]),
        ("quality", [_figure(note.verdict.quality) for note in notes]),
        ("score", [_score(note) for note in notes]),
    ]
    used = [(heading, cells) for heading, cells in filled if any(cells)]
    return {
        "columns": [heading for heading, _ in used],
        "rows": [
            {
                "title": wine["title"],
                "anchor": wine["anchor"],
                "cells": [cells[place] for _, cells in used],
            }
            for place, wine in enumerate(wines)
        ],
    }


def _figure(level: Level | None) -> str:
    return "" if level is None else f"{level.level:g}"
