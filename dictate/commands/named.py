"""Notes named on the command line: by file, by folder, or found in the library. EDGE."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from dictate.commands.keep import add_library_option, open_library
from dictate.find import parse_query
from dictate.note import Note, read_note
from dictate.show import tell


@dataclass(frozen=True, slots=True)
class Named:
    """The notes found, each once, and a line for each file that could not be used."""

    notes: tuple[Note, ...]
    problems: tuple[str, ...]


def add_notes_options(command: argparse.ArgumentParser, told: str) -> None:
    """NOTES (`told`: what they may be), --find and --library."""
    command.add_argument("notes", nargs="*", metavar="NOTES", help=told)
    command.add_argument(
        "--find", metavar="QUERY", help="the notes of the library that a query finds (see: dictate find)"
    )
    add_library_option(command)


def notes_asked(options: argparse.Namespace) -> Named:
    """The notes that NOTES and --find name, files first. Raises QueryError, LibraryError, OSError."""
    named = notes_named(map(Path, options.notes))
    if options.find is None:
        if not options.notes:
            return Named((), ("no notes given; give files or folders of notes, or --find QUERY",))
        return named
    query = parse_query(options.find)
    with open_library(options) as library:
        found = library.notes(library.find(query).numbers)
    return Named(named.notes + found, named.problems)


def told_of(named: Named) -> bool:
    """Tells of files that could not be used, and where there is nothing at all; whether there are notes."""
    for problem in named.problems:
        tell(problem)
    if not named.notes and not named.problems:
        tell("no note there; give notes that dictate note wrote, their folder, or another query")
    return bool(named.notes)


def notes_named(paths: Iterable[Path]) -> Named:
    """The notes of JSON files (one note or an array of notes) and of folders (the notes in it, by file name;
    other JSON there is passed over)."""
    notes: list[Note] = []
    problems: list[str] = []
    seen: set[Path] = set()
    for path, is_asked in _files(paths):
        if path.resolve() in seen:
            continue
        seen.add(path.resolve())
        try:
            notes += [read_note(document) for document in _documents(path, is_asked=is_asked)]
        except (OSError, ValueError, RecursionError) as error:
            problems.append(f"{path}: {_told(error)}")
    return Named(tuple(notes), tuple(problems))


def _files(paths: Iterable[Path]) -> Iterator[tuple[Path, bool]]:
    for path in paths:
        if path.is_dir():
            yield from ((file, False) for file in sorted(path.glob("*.json")))
        else:
            yield path, True


def _documents(path: Path, *, is_asked: bool) -> list[dict[str, Any]]:
    found = json.loads(path.read_text(encoding="utf-8-sig"))
    documents = found if isinstance(found, list) else [found]
    if not all(isinstance(d, dict) and "schema" in d for d in documents) or not documents:
        if not is_asked:
            return []
        raise ValueError("no note in it; give what dictate note wrote")
    return documents


def _told(error: Exception) -> str:
    if isinstance(error, OSError):
        return error.strerror or str(error)
    if isinstance(error, ValidationError):
        first = error.errors()[0]
        return f"{'.'.join(map(str, first['loc'])) or 'the note'}: {first['msg']}"
    if isinstance(error, json.JSONDecodeError):
        return f"line {error.lineno}: no JSON ({error.msg})"
    return "it is no text" if isinstance(error, UnicodeDecodeError) else str(error) or "too deep"
