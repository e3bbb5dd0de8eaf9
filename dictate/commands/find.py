"""`dictate find`: notes of the library, asked for in plain words. EDGE."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import Any

from dictate.commands import DONE
from dictate.commands.keep import add_library_option, open_library
from dictate.csvtext import csv_text
from dictate.export import number
from dictate.files import notes_as_json
from dictate.find import NUMBERS, All, Mentions, Not, Query, Range, parse_query, sort_key
from dictate.find import Any as AnyOf
from dictate.library import Found, Hit
from dictate.show import print_bytes, show_table

_SHOWN = 50  # hits of a table, where no other number is asked for
_HELP = (
    "In a query: acidity over 7; finish at least 20 seconds; tannin between 3 and 5; smells of cedar; "
    "tastes of lime; finishes on honey; feels silky; lacks oak; from Chinon; by Tin Whistle; called NAME; "
    "grape syrah; fault; fault cork taint; 2018; before 2015; NV; colour red; finish timed. Any other word "
    "is looked for in what was said and in the names; words in quotation marks stand together, cork* is how "
    "a word begins. Joined by and, or, not, ( )."
)


def add_find_command(commands: argparse._SubParsersAction[Any]) -> None:
    """The options of `dictate find`."""
    find = commands.add_parser("find", help="notes of the library", epilog=_HELP, allow_abbrev=False)
    find.add_argument("query", nargs="*", metavar="QUERY", help="what to look for (default: every note)")
    find.add_argument(
        "--by", default="added", metavar="NAME", help="sort by finish, quality, vintage, title ..."
    )
    find.add_argument("--reverse", action="store_true", help="sort the other way round")
    find.add_argument(
        "--limit", type=_count, metavar="N", help=f"show so many at most ({_SHOWN} in a table, else all)"
    )
    find.add_argument(
        "--as", dest="form", choices=("table", "json", "csv"), default="table", help="(default: table)"
    )
    add_library_option(find)
    find.set_defaults(run=run_find)


def _count(text: str) -> int:
    """Raises ArgumentTypeError."""
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise argparse.ArgumentTypeError(f"{text!r} is no number of notes")
    return int(text)


def run_find(options: argparse.Namespace) -> int:
    """Finds, prints; the exit code, also where nothing is found. Raises QueryError, LibraryError, OSError."""
    query = parse_query(" ".join(options.query))
    limit = options.limit if options.limit is not None else _SHOWN if options.form == "table" else None
    with open_library(options) as library:
        found = library.find(query, by=sort_key(options.by), reverse=options.reverse, limit=limit)
        if options.form == "json":
            print_bytes(notes_as_json(list(library.notes(found.numbers))).encode())
            return DONE
    if options.form == "csv":
        print_bytes(csv_text(_rows(found.hits)).encode())
    else:
        _show(found, _columns(query, options.by))
    return DONE


def _rows(hits: Sequence[Hit]) -> list[list[str]]:
    names = ["producer", "origin", "added", *NUMBERS]
    head = ["note", "id", "wine", *names]
    return [head, *([str(h.number), h.id, h.title, *(_cell(h.facts[n]) for n in names)] for h in hits)]


def _cell(value: float | str | None) -> str:
    if value is None:
        return ""
    return value if isinstance(value, str) else number(value)


def _columns(query: Query, by: str) -> list[str]:
    """The numbers that a table shows: finish and quality, and what was asked for or sorted by."""
    asked = [*_asked(query), *([key] if (key := sort_key(by)) in NUMBERS else [])]
    return [n for n in dict.fromkeys(["finish", "quality", *asked]) if n not in ("position", "vintage")]


def _asked(query: Query) -> list[str]:
    match query:
        case Range(field):
            return [field]
        case Not(part):
            return _asked(part)
        case All(parts) | AnyOf(parts):
            return [name for part in parts for name in _asked(part)]
        case Mentions():
            return []


def _show(found: Found, columns: Sequence[str]) -> None:
    shown = len(found.hits)
    more = f", {shown} shown; all: --limit {found.total}" if shown < found.total else ""
    if not found.total:
        show_table("No note found.", heads=[], rows=[])
        return
    heads = ["Note", "Wine", *(NUMBERS[name][0].capitalize() for name in columns)]
    rows = [[str(h.number), h.title, *(_unit(name, h.facts[name]) for name in columns)] for h in found.hits]
    show_table("", heads=heads, rows=rows, foot=[f"{found.total} found{more}"])


def _unit(name: str, value: float | str | None) -> str:
    return f"{value:.2f} s" if name == "finish" and isinstance(value, float) else _cell(value)
