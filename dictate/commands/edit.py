"""`dictate edit`: a note as text in the user's own editor; what comes back is checked. EDGE.

The text lies in the data folder, beside the library, until it is taken over: a crash of the editor or of this
program loses nothing of it.
"""

from __future__ import annotations

import argparse
import os
import re
import shlex
import shutil
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from dictate.commands import DONE, FAILED
from dictate.commands.keep import add_library_option, agreed, open_library
from dictate.export import wine_title
from dictate.files import write_file
from dictate.form import FormError, as_text, by_hand, keep_corrections, read_text
from dictate.library import EDITED, Library
from dictate.note import Note
from dictate.show import show_lines, show_note, tell
from dictate.vocabulary import vocabulary_of

_EDITORS = ("nano", "vim", "vi", "notepad")
_FROM = re.compile(r"# note (\d+), revision (\d+)\n")


class EditError(Exception):
    """The note could not be edited: one line that says why and what to do."""


def add_edit_command(commands: argparse._SubParsersAction[Any]) -> None:
    """The options of `dictate edit`."""
    edit = commands.add_parser("edit", help="put a note of the library right by hand", allow_abbrev=False)
    edit.add_argument("note", metavar="NOTE", help="by number or id (see: find)")
    add_library_option(edit)
    edit.set_defaults(run=run_edit, yes=False)


def run_edit(options: argparse.Namespace) -> int:
    """Edits, checks, keeps; the exit code. Raises LibraryError, OSError, LexiconError."""
    with open_library(options) as library:
        number = library.number(options.note)
        text = _text_file(library, number)
        try:
            edited = _edited(library, text, number=number)
        except EditError as error:
            tell(f"{error}; your text is kept in {text}, dictate edit {number} takes it up again")
            return FAILED
        now = library.get(str(number))
        if edited == now:
            show_lines(["Nothing changed."])
        else:
            library.add(edited, why=EDITED)
            show_note(edited, where=f"{library.path}, note {number}")
        text.unlink(missing_ok=True)
    return DONE


def _text_file(library: Library, number: int) -> Path:
    """The text to edit: the note's, or what an edit that was broken off left."""
    path = library.path.with_name(f"{library.path.stem}-edits") / f"note-{number}.txt"
    if path.exists():
        tell(f"an edit of note {number} was broken off; its text is taken up again ({path})")
        return path
    path.parent.mkdir(parents=True, exist_ok=True)
    note = library.get(str(number))
    revision = library.revisions(str(number))[-1][0]
    head = f"# {wine_title(note)}\n# note {number}, revision {revision}\n"
    write_file((head + as_text(note)).encode(), path)
    return path


def _edited(library: Library, text: Path, *, number: int) -> Note:
    """The note as the hand left it. Raises EditError."""
    while True:
        _run_editor(text)
        try:
            return _read(library, text, number=number)
        except FormError as error:
            again = sys.stdin is not None and sys.stdin.isatty()
            if not again or not _agreed_to_open(error):
                raise EditError(f"note {number} stays as it was, {error}") from error


def _agreed_to_open(error: FormError) -> bool:
    tell(str(error))
    return agreed("Open it again?", argparse.Namespace(yes=False))


def _read(library: Library, text: Path, *, number: int) -> Note:
    """The text against the revision that it was made of; what was changed meanwhile is kept beside it."""
    try:
        written = text.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise EditError(f"note {number} stays as it was, its text is no UTF-8") from error
    now = library.get(str(number))
    told = _FROM.search(written)
    base = library.revision(str(number), int(told[2])) if told and int(told[1]) == number else now
    made = read_text(written.replace("\r\n", "\n"), base, vocabulary=vocabulary_of())
    when = datetime.now(UTC).isoformat(timespec="seconds")
    edited = by_hand(base, made, when=when)
    return edited if now == base or edited == base else keep_corrections(edited, now, when=when)


def _run_editor(text: Path) -> None:
    """Raises EditError where it cannot be started or says that it failed."""
    named = os.environ.get("VISUAL") or os.environ.get("EDITOR")
    usual = next((found for name in _EDITORS if (found := shutil.which(name))), None)
    try:
        command = shlex.split(named, posix=os.name == "posix") if named else [usual] if usual else []
    except ValueError as error:
        raise EditError(f"VISUAL or EDITOR cannot be read ({error})") from error
    if not command:
        raise EditError("no editor found; name one in VISUAL or EDITOR")
    try:
        code = subprocess.run([*command, str(text)], check=False).returncode
    except OSError as error:
        raise EditError(f"{command[0]}: {error.strerror}; name an editor in VISUAL or EDITOR") from error
    if code:
        raise EditError(f"the editor {command[0]} ended with {code}, so nothing was taken over")
