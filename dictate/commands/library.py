"""`dictate library` looks after the library, `dictate show` and `dictate remove` single notes of it. EDGE."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from dictate.commands import DONE, FAILED, SOME_FAILED
from dictate.commands.keep import add_library_option, agreed, library_path, open_library
from dictate.commands.named import notes_named, told_of
from dictate.export import wine_title
from dictate.language.counted import counted
from dictate.library import (
    KEPT_DAYS,
    TAKEN_IN,
    Library,
    LibraryError,
    Removed,
    backups_of,
    newest_backup,
    restore_backup,
)
from dictate.show import show_closing, show_lines, show_note, tell

Run = Callable[[argparse.Namespace], int]


def add_library_command(commands: argparse._SubParsersAction[Any]) -> None:
    """The options of `dictate library`, `dictate show` and `dictate remove`."""
    library = commands.add_parser("library", help="look after the library of notes", allow_abbrev=False)
    below = library.add_subparsers(dest="library_command", required=True, metavar="COMMAND")

    def command(name: str, run: Run, *, told: str) -> argparse.ArgumentParser:
        made: argparse.ArgumentParser = below.add_parser(name, help=told, allow_abbrev=False)
        add_library_option(made)
        made.set_defaults(run=run)
        return made

    command("check", _check, told="is the file whole, is each note readable, is each recording there?")
    command("rebuild", _rebuild, told="derive anew what notes are found by")
    backup = command("backup", _backup, told="copy the library now")
    backup.add_argument("file", nargs="?", type=Path, metavar="FILE", help="(default: beside the library)")
    command("backups", _backups, told="which backups there are")
    restore = command("restore", _restore, told="put a backup in the library's place")
    restore.add_argument("file", nargs="?", type=Path, metavar="FILE", help="(default: the newest backup)")
    _add_yes(restore)
    add = command("add", _add, told="take in notes that are files")
    add.add_argument("notes", nargs="+", type=Path, metavar="NOTES", help="notes (JSON), or folders of them")
    recordings = command("recordings", _recordings, told="look for recordings that were moved")
    recordings.add_argument("folders", nargs="*", type=Path, metavar="FOLDER", help="where to look")
    command("removed", _removed, told="which removed notes can be brought back")
    undo = command("undo", _undo, told="bring removed notes back, or take a note's last change back")
    undo.add_argument("notes", nargs="*", metavar="NOTE", help="by number (default: those removed last)")

    show = commands.add_parser("show", help="a note of the library", allow_abbrev=False)
    show.add_argument("notes", nargs="+", metavar="NOTE", help="by number or id (see: find)")
    add_library_option(show)
    show.set_defaults(run=_show)
    remove = commands.add_parser("remove", help="take notes out of the library", allow_abbrev=False)
    remove.add_argument("notes", nargs="+", metavar="NOTE", help="by number or id (see: find)")
    _add_yes(remove)
    add_library_option(remove)
    remove.set_defaults(run=_remove)


def _add_yes(command: argparse.ArgumentParser) -> None:
    command.add_argument("--yes", action="store_true", help="do not ask")


def _show(options: argparse.Namespace) -> int:
    with open_library(options) as library:
        notes = [library.get(name) for name in options.notes]
        for name, note in zip(options.notes, notes, strict=True):
            number = library.number(name)
            revision = library.revisions(name)[-1][0]
            show_note(note, where=f"{library.path}, note {number}, revision {revision}")
            if recording := library.recording(note):
                show_lines([f"Recording: {recording}", ""])
        show_closing(notes)
    return DONE


def _remove(options: argparse.Namespace) -> int:
    with open_library(options) as library:
        numbers = list(dict.fromkeys(library.number(name) for name in options.notes))
        what = f"{len(numbers)} notes" if len(numbers) > 1 else f"note {numbers[0]}"
        if not agreed(f"Remove {what}? For {KEPT_DAYS} days it can be undone.", options):
            return FAILED
        gone = library.remove([str(number) for number in numbers])
    show_lines([*map(_line, gone), "Undo it with: dictate library undo"])
    return DONE


def _line(note: Removed) -> str:
    return f"removed: note {note.number} ({note.title})"


def _removed(options: argparse.Namespace) -> int:
    with open_library(options) as library:
        removed = library.removed()
    show_lines(f"note {r.number} ({r.title}), removed {r.at[:10]}" for r in removed)
    if not removed:
        show_lines(["No removed note."])
    return DONE


def _undo(options: argparse.Namespace) -> int:
    """Notes that were removed come back; of others the last change goes, by hand or by `dictate redo`."""
    with open_library(options) as library:
        removed = library.removed()
        if not options.notes:
            if not removed:
                raise LibraryError("no removed note is there to be brought back")
            wanted = [r for r in removed if r.at == removed[0].at]
            library.restore([r.number for r in wanted])
            show_lines(map(_back_line, wanted))
            return DONE
        by_number = {str(r.number): r for r in removed}
        names = list(dict.fromkeys(options.notes))
        numbers = {name: _undoable(library, name) for name in names if name not in by_number}
        wanted = [by_number[name] for name in names if name in by_number]
        library.restore([r.number for r in wanted])
        show_lines(map(_back_line, wanted))
        for number in numbers.values():
            revision = library.revisions(str(number))[-1][0]
            if (kept := library.undo(number, revision=revision)) is not None:
                show_lines([f"as before its last change: note {number} ({wine_title(kept.note)})"])
    return DONE


def _undoable(library: Library, name: str) -> int:
    """The number of a note whose last change can be taken back. Raises LibraryError."""
    try:
        number = library.number(name)
    except LibraryError as error:
        raise LibraryError(
            f"“{name[:40]}” is no note, removed or not; see: dictate library removed"
        ) from error
    if library.last_change(name) is None:
        raise LibraryError(f"note {number} is as it was made; there is nothing to undo")
    return number


def _back_line(note: Removed) -> str:
    return f"back: note {note.number} ({note.title})"


def _check(options: argparse.Namespace) -> int:
    with open_library(options) as library:
        problems = library.check()
        found = library.look_for_recordings()
        missing = library.missing_recordings()
        total = library.find(limit=0).total
    show_lines(problems)
    show_lines(f"found again: {path}" for path in found)
    show_lines(f"not there: {path}" for path in missing)
    if missing:
        show_lines(["Tell where recordings were moved with: dictate library recordings FOLDER"])
    if problems:
        backup = newest_backup(library_path(options))
        newest = f"backup: {backup.name}" if backup else "there is no backup"
        where = f"{library_path(options)}: wrong in {len(problems)} places"
        cure = (
            "dictate library rebuild if it is only of what notes are found by, else dictate library restore"
        )
        tell(f"{where}; {cure} ({newest})")
        return FAILED
    show_lines([f"{library_path(options)}: {counted(total, 'note')}, all well"])
    return DONE


def _rebuild(options: argparse.Namespace) -> int:
    with open_library(options) as library:
        show_lines([f"{counted(library.rebuild_index(), 'note')}, found anew by what they say"])
    return DONE


def _recordings(options: argparse.Namespace) -> int:
    with open_library(options) as library:
        found = library.look_for_recordings(options.folders)
        missing = library.missing_recordings()
    show_lines([*(f"found again: {path}" for path in found), *(f"not there: {path}" for path in missing)])
    if not found and not missing:
        show_lines(["Each recording is where it was."])
    return SOME_FAILED if missing else DONE


def _add(options: argparse.Namespace) -> int:
    named = notes_named(options.notes)
    if not told_of(named):
        return FAILED
    with open_library(options) as library:
        outcomes = [kept.outcome for kept in library.add_all(named.notes, why=TAKEN_IN)]
    new, same = outcomes.count("new"), outcomes.count("same")
    changed = len(outcomes) - new - same
    show_lines([f"{counted(len(outcomes), 'note')}: {new} new, {changed} changed, {same} known before"])
    return SOME_FAILED if named.problems else DONE


def _backup(options: argparse.Namespace) -> int:
    with open_library(options) as library:
        show_lines([str(library.backup(options.file))])
    return DONE


def _backups(options: argparse.Namespace) -> int:
    backups = backups_of(library_path(options))
    show_lines(map(str, backups) if backups else ["No backup yet; make one: dictate library backup"])
    return DONE


def _restore(options: argparse.Namespace) -> int:
    path = library_path(options)
    backup = options.file or newest_backup(path)
    if backup is None:
        raise LibraryError(f"{path}: there is no backup of it; name one")
    if not agreed(f"Put {backup} in the place of {path}? What is there now is moved aside.", options):
        return FAILED
    aside = restore_backup(path, backup, now=datetime.now(UTC))
    with open_library(options) as library:
        total = library.find(limit=0).total
    before = f"; what was there before is {aside}" if aside else ""
    show_lines([f"{path}: {counted(total, 'note')}{before}"])
    return DONE
