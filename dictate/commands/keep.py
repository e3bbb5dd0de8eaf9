"""What commands share of the library: which file it is, and notes that land in it by themselves. EDGE."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from dictate.files import data_folder
from dictate.library import Library, keep_notes
from dictate.note import Note
from dictate.show import tell

_FILE = "library.sqlite"


def add_library_option(command: argparse.ArgumentParser) -> None:
    """--library"""
    command.add_argument(
        "--library", type=Path, metavar="PATH", help="the library's file (default: one in your data folder)"
    )


def add_keep_options(command: argparse.ArgumentParser) -> None:
    """--library and --no-library, of a command that makes notes."""
    which = command.add_mutually_exclusive_group()
    add_library_option(which)  # type: ignore[arg-type]  # a group has add_argument too
    which.add_argument("--no-library", action="store_true", help="do not keep the notes in the library")


def library_path(options: argparse.Namespace) -> Path:
    """--library, else DICTATE_LIBRARY, else a file in the user's data folder."""
    named: Path | None = options.library
    if named is not None:
        return named
    return Path(os.environ.get("DICTATE_LIBRARY") or data_folder() / _FILE)


def open_library(options: argparse.Namespace) -> Library:
    """The library of a command. Raises LibraryError, OSError."""
    return Library.open(library_path(options))


def keep_and_tell(notes: Sequence[Note], options: argparse.Namespace) -> tuple[Note, ...]:
    """Keep notes whose files are written; returns them as they are in the library, where a hand may have put
    something right before. What goes wrong is one line: the files are there, nothing else stops."""
    if options.no_library:
        return tuple(notes)
    kept, why = keep_notes(notes, library_path(options))
    if why:
        tell(f"not in the library, but in files: {why}; take them in later with: dictate library add FOLDER")
    return kept


def agreed(question: str, options: argparse.Namespace) -> bool:
    """Whether the user says yes, or said so by --yes; not where nobody can be asked."""
    if options.yes:
        return True
    if sys.stdin is None or not sys.stdin.isatty() or sys.stderr is None:
        tell(f"{question} Nobody is there to ask; add --yes")
        return False
    print(f"{question} [y/N] ", end="", file=sys.stderr, flush=True)  # noqa: T201
    return sys.stdin.readline().strip().lower() in ("y", "yes")
