"""The command line: reads what was asked, calls the subcommand, turns what goes wrong into one line. EDGE.

argparse, not a framework: its errors are one line with exit code 2 already, and the whole command
is one option list. The exit codes are told in `commands`.
"""

from __future__ import annotations

import argparse
import errno
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NoReturn

from dictate import __version__
from dictate.commands import FAILED, STOPPED
from dictate.commands.compare import add_compare_command
from dictate.commands.devices import add_devices_command
from dictate.commands.doctor import add_doctor_command
from dictate.commands.edit import add_edit_command
from dictate.commands.find import add_find_command
from dictate.commands.library import add_library_command
from dictate.commands.listen import add_listen_command
from dictate.commands.note import add_note_command
from dictate.commands.plan import add_plan_command
from dictate.commands.publish import add_publish_command
from dictate.commands.resume import add_resume_command
from dictate.commands.words import add_words_command
from dictate.find import QueryError
from dictate.lexicon import LexiconError
from dictate.library import LibraryError
from dictate.personal.sheet import SheetError
from dictate.personal.words import WordsError
from dictate.show import make_output_safe, silence_output, tell

_AT_THE_BENCH = "what was recorded is kept; dictate resume --close SESSION (and its --list) makes its notes"
_KEPT = {
    "note": "notes already written are kept",
    "listen": _AT_THE_BENCH,
    "resume": _AT_THE_BENCH,
}  # by a second Ctrl-C


class _Parser(argparse.ArgumentParser):
    _given: Sequence[str] = ()

    def parse_known_args(self, args=None, namespace=None):  # type: ignore[no-untyped-def]
        """Keeps the words given, so that `error` can tell a file from an option."""
        self._given = list(sys.argv[1:] if args is None else args)
        return super().parse_known_args(args, namespace)

    def error(self, message: str) -> NoReturn:
        file = next((a for a in self._given if a.startswith("-") and Path(a).is_file()), None)
        cure = f"to give the file {file}, write ./{file}" if file else f"see: {self.prog} --help"
        tell(f"{message}; {cure}")
        sys.exit(FAILED)


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="dictate", description="Talk, and get tasting notes.", allow_abbrev=False)
    parser.add_argument("--version", action="version", version=f"dictate {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    add_note_command(commands)
    add_listen_command(commands)
    add_resume_command(commands)
    add_words_command(commands)
    add_find_command(commands)
    add_edit_command(commands)
    add_library_command(commands)
    add_publish_command(commands)
    add_plan_command(commands)
    add_compare_command(commands)
    add_devices_command(commands)
    add_doctor_command(commands)
    return parser


def _os_error_line(error: OSError, command: str) -> str:
    to = command == "note"
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return "the disk is full; make room" + (", or give another folder with --to" if to else "")
    file = error.filename2 or error.filename
    if not file:
        return f"{error.strerror or error}; check where the output goes"
    cure = "check the folder given with --to" if to else "check its name, and that it may be read and written"
    return f"{os.fspath(file)}: {error.strerror or error}; {cure}"


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line; returns the exit code and never shows a traceback for bad input."""
    make_output_safe()
    options = _parser().parse_args(arguments)
    try:
        run: Callable[[argparse.Namespace], int] = options.run
        code = run(options)
        if sys.stdout is not None:
            sys.stdout.flush()
    except KeyboardInterrupt:
        tell(f"stopped; {_KEPT.get(options.command, 'nothing changed')}")
        return STOPPED
    except BrokenPipeError:  # the reader, "head" say, has enough
        silence_output()
        return FAILED
    except OSError as error:
        tell(_os_error_line(error, options.command))
        silence_output()
        return FAILED
    except (WordsError, SheetError, LexiconError, LibraryError, QueryError) as error:
        tell(str(error))
        return FAILED
    return code
