"""`dictate compare`: notes side by side, over the years, by several tasters, by repeat pours. EDGE."""

from __future__ import annotations

import argparse
import csv
import io
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from dictate.audio.dated import recorded_year
from dictate.commands import DONE, FAILED, SOME_FAILED
from dictate.commands.named import Named, add_notes_options, notes_asked, notes_named
from dictate.compare import (
    Comparison,
    as_document,
    as_rows,
    as_sheet,
    as_tables,
    compare_notes,
    compare_repeats,
    compare_tasters,
    compare_years,
)
from dictate.files import write_file
from dictate.note import Note
from dictate.pictures import ENDINGS, PictureError, draw_sheet
from dictate.show import columns_across, show_lines, show_table, tell


class NotesError(ValueError):
    """Notes that cannot be compared, in one line that says what to do."""


def add_compare_command(commands: argparse._SubParsersAction[Any]) -> None:
    """The options of `dictate compare`."""
    compare = commands.add_parser("compare", help="notes side by side", allow_abbrev=False)
    add_notes_options(
        compare, "note files (.json) or folders of them; with --tasters a folder a taster, or NAME=FOLDER"
    )
    which = compare.add_mutually_exclusive_group()
    which.add_argument("--years", action="store_true", help="each wine over the years, by vintage and age")
    which.add_argument(
        "--tasters", action="store_true", help="several tasters' notes of one flight: mean, agreement"
    )
    which.add_argument(
        "--repeats", action="store_true", help="one taster's repeat pours of a wine: repeatability"
    )
    compare.add_argument(
        "--one-wine",
        action="store_true",
        help="with --years or --repeats: all notes given are of one wine, whatever they say of it",
    )
    compare.add_argument(
        "--as", dest="form", choices=("table", "json", "csv"), default="table", help="(default: table)"
    )
    compare.add_argument("--plot", type=Path, metavar="FILE", help="also draw it, into a .svg or .png")
    compare.set_defaults(run=run_compare)


def run_compare(options: argparse.Namespace) -> int:
    """Compare, print, draw; the exit code. Raises OSError where the picture cannot be written."""
    problems: list[str] = []
    try:
        _check(options)
        comparison = _compared(options, problems)
        picture = None
        if options.plot:  # before anything is printed: what cannot be drawn is told first
            picture = draw_sheet(as_sheet(comparison), options.plot.suffix.lower())
    except (NotesError, PictureError) as error:
        for line in (*problems, str(error)):
            tell(line)
        return FAILED
    for line in problems:
        tell(line)
    _show(comparison, options.form)
    if picture is not None:
        write_file(picture, options.plot)
        if options.form == "table":
            show_lines([f"Picture: {options.plot}"])
    return SOME_FAILED if problems else DONE


def _check(options: argparse.Namespace) -> None:
    if options.one_wine and not (options.years or options.repeats):
        raise NotesError("--one-wine goes with --years or --repeats")
    if options.plot and options.plot.suffix.lower() not in ENDINGS:
        raise PictureError(f"{options.plot}: a picture is .svg or .png; give such a name to --plot")
    if options.plot and not options.plot.parent.is_dir():
        folder = options.plot.parent
        raise PictureError(f"{folder}: no such folder; make it, or give another name to --plot")


def _compared(options: argparse.Namespace, problems: list[str]) -> Comparison:
    """The comparison asked for; what of the notes could not be used goes to `problems`. Raises NotesError."""
    if options.tasters:
        if options.find is not None:
            raise NotesError("--tasters takes folders, one a taster; a note of the library names no taster")
        places = _tasters(options.notes)
        if len(places) < 2:
            raise NotesError("--tasters needs two folders at least, one a taster; or NAME=FOLDER for each")
        named = {name: (of, notes_named(map(Path, of))) for name, of in places.items()}
        return compare_tasters({name: _notes(of, found, problems) for name, (of, found) in named.items()})
    notes = _notes(options.notes, notes_asked(options), problems)
    if options.years:
        return compare_years(notes, tasted=_tasted(notes), one_wine=options.one_wine)
    return compare_repeats(notes, one_wine=options.one_wine) if options.repeats else compare_notes(notes)


def _notes(names: Sequence[str], named: Named, problems: list[str]) -> tuple[Note, ...]:
    if not named.notes and not names and named.problems:
        raise NotesError(named.problems[0])
    problems += named.problems
    if not named.notes:
        where = f"{', '.join(names)}: " if names else ""
        raise NotesError(f"{where}no note there; give notes that dictate note wrote, or their folder")
    return named.notes


def _tasters(names: Sequence[str]) -> dict[str, list[str]]:
    """By taster's name what names the notes: NAME=FOLDER, or the folder's own name. One name may come
    again."""
    found: dict[str, list[str]] = {}
    plain: dict[str, Path] = {}
    for name in names:
        taster, equals, place = name.partition("=")
        if equals and taster and place and not Path(name).exists():
            found.setdefault(taster, []).append(place)
            continue
        path = Path(name)
        taster = path.resolve().name if path.is_dir() else path.stem
        if plain.setdefault(taster, path.resolve()) != path.resolve():
            raise NotesError(f"two folders are called {taster}; tell them apart with NAME=FOLDER")
        found.setdefault(taster, []).append(name)
    return found


def _tasted(notes: Sequence[Note]) -> dict[str, int]:
    """By a note's id the year of its recording, where that file is still there to tell."""
    years = {note.id: recorded_year(Path(note.recording.path)) for note in notes if note.recording}
    return {name: year for name, year in years.items() if year is not None}


def _show(comparison: Comparison, form: str) -> None:
    if form == "table":
        for table in as_tables(comparison, across=columns_across()):
            show_table(table.title, heads=table.heads, rows=table.rows, foot=table.foot)
        return
    if form == "json":
        text = json.dumps(as_document(comparison), ensure_ascii=False, indent=1, allow_nan=False)
    else:
        kept = io.StringIO()
        csv.writer(kept, lineterminator="\n").writerows(as_rows(comparison))
        text = kept.getvalue().rstrip("\n")
    if sys.stdout is not None:  # closed by the caller
        sys.stdout.buffer.write((text + "\n").encode("utf-8", "replace"))
