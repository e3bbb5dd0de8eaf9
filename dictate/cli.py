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
from importlib import import_module
from pathlib import Path
from typing import NoReturn

from dictate import __version__
from dictate.commands import FAILED, STOPPED
from dictate.find import QueryError
from dictate.lexicon import LexiconError
from dictate.library import LibraryError
from dictate.personal.sheet import SheetError
from dictate.personal.words import WordsError
from dictate.show import make_output_safe, silence_output, tell

# by the command the module that has it, in the order of --help
_COMMANDS = {
    "note": "note", "batch": "batch", "listen": "listen", "resume": "resume", "words": "words",
    "find": "find", "show": "library", "review": "review", "edit": "edit", "remove": "library",
    "library": "library", "redo": "redo", "publish": "publish", "plan": "plan", "compare": "compare",
    "devices": "devices", "doctor": "doctor",
}  # fmt: skip
_AT_THE_BENCH = "what was recorded is kept; dictate resume --close SESSION (and its --list) makes its notes"
_KEPT = {
    "note": "notes already written are kept",
    "batch": "notes already written are kept; the same command goes on",
    "listen": _AT_THE_BENCH,
    "resume": _AT_THE_BENCH,
    "redo": "notes made again before are kept, the others are as they were; the same command goes on",
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


def _parser(asked: str = "") -> argparse.ArgumentParser:
    parser = _Parser(prog="dictate", description="Talk, and get tasting notes.", allow_abbrev=False)
    parser.add_argument("--version", action="version", version=f"dictate {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    # the command asked for alone, for others take half a second to import; all of them for --help and errors
    module = _COMMANDS.get(asked)
    for name in [module] if module else dict.fromkeys(_COMMANDS.values()):
        add = getattr(import_module(f"dictate.commands.{name}"), f"add_{name}_command")
        add(commands)
    return parser


def _os_error_line(error: OSError, command: str) -> str:
    to = command in ("note", "batch")
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
    given = list(sys.argv[1:] if arguments is None else arguments)
    options = _parser(given[0] if given else "").parse_args(given)
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
