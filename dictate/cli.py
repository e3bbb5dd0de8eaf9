"""The command line: reads what was asked, calls, writes. EDGE.

argparse, not a framework: its errors are one line with exit code 2 already, and the whole command
is one option list. Exit codes: 0 done (also when nobody spoke), 1 some sources could not be used,
2 nothing could be done, 130 stopped by Ctrl-C.
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
from dictate.audio import Recording, SourceError
from dictate.files import check_folder, notes_as_json, write_note
from dictate.note import Note
from dictate.pipeline import notes_from_source
from dictate.recognise import ModelError, Recogniser, find_weights
from dictate.settings import Settings
from dictate.show import make_output_safe, progress_of, show_closing, show_note, silence_output, tell
from dictate.values import Heard

_DONE, _SOME_FAILED, _FAILED, _STOPPED = 0, 1, 2, 130


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
        sys.exit(_FAILED)


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="dictate", description="Talk, and get tasting notes.", allow_abbrev=False)
    parser.add_argument("--version", action="version", version=f"dictate {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    note = commands.add_parser("note", help="recordings or timed transcripts to notes", allow_abbrev=False)
    note.add_argument(
        "sources",
        nargs="+",
        type=Path,
        metavar="SOURCE",
        help="a recording (WAV, FLAC, MP3, M4A, Ogg, WebM ...) or a timed transcript (.vtt, .srt)",
    )
    note.add_argument("--json", action="store_true", help="print one JSON array of notes, write no file")
    note.add_argument(
        "--to", type=Path, default=Path("notes"), metavar="DIR", help="folder for the notes (default: notes)"
    )
    note.add_argument("--model", metavar="NAME", help="weights by name or folder (default: what is found)")
    note.add_argument(
        "--language", choices=("en",), default="en", help="language spoken (English is the only one known)"
    )
    note.add_argument(
        "--salvage",
        action="store_true",
        help="of a recording that is cut short or damaged, take what there is",
    )
    return parser


class _LateRecogniser:
    """A recogniser that loads its weights at the first recording that can be decoded."""

    def __init__(self, model: str | None) -> None:
        self._model = model
        self._loaded: Recogniser | None = None

    @property
    def name(self) -> str:
        return self._load().name

    def recognise(self, recording: Recording, *, progress: Callable[[float], None] | None = None) -> Heard:
        return self._load().recognise(recording, progress=progress)

    def _load(self) -> Recogniser:
        if self._loaded is None:
            from dictate.recognise.whisper import WhisperRecogniser  # takes a second to import

            weights = find_weights(self._model)
            self._loaded = WhisperRecogniser(weights.folder, name=weights.name)
        return self._loaded


def _run_note(options: argparse.Namespace) -> int:
    settings = Settings(model=options.model, language=options.language, salvage=options.salvage)
    recogniser = _LateRecogniser(settings.model)
    if not options.json:
        check_folder(options.to)  # an hour's recording must not be worked on for nothing
    notes: list[Note] = []
    broken: list[Path] = []
    told: set[str] = set()
    for path in options.sources:
        try:
            with progress_of(path.name) as progress:
                found = notes_from_source(path, recogniser=recogniser, settings=settings, progress=progress)
        except (SourceError, ModelError) as error:  # without weights, transcripts can still be done
            if str(error) not in told:
                tell(str(error))
            told.add(str(error))
            broken.append(path)
            continue
        if not found:
            tell(f"{path}: no speech in it, so no note")
        notes.extend(found)
        if not options.json:
            _write_and_show(found, options.to)
    if len(broken) == len(options.sources):
        return _FAILED
    if options.json:
        _print_json(notes)
    else:
        show_closing(notes)
    if broken:
        names = ", ".join(map(str, broken))
        tell(f"{len(broken)} of {len(options.sources)} sources could not be used: {names}; see above")
    return _SOME_FAILED if broken else _DONE


def _print_json(notes: list[Note]) -> None:
    if sys.stdout is None:  # closed by the caller
        raise OSError(errno.EBADF, "standard output is closed")
    sys.stdout.buffer.write(notes_as_json(notes).encode("utf-8"))


def _write_and_show(notes: Sequence[Note], folder: Path) -> None:
    for note in notes:
        json_path, _ = write_note(note, folder)
        show_note(note, where=f"{json_path} and .md")


def _os_error_line(error: OSError) -> str:
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return "the disk is full; make room, or give another folder with --to"
    file = error.filename2 or error.filename
    if not file:
        return f"{error.strerror or error}; check where the output goes"
    return f"{os.fspath(file)}: {error.strerror or error}; check the folder given with --to"


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line; returns the exit code and never shows a traceback for bad input."""
    make_output_safe()
    options = _parser().parse_args(arguments)
    try:
        code = _run_note(options)
        if sys.stdout is not None:
            sys.stdout.flush()
    except KeyboardInterrupt:
        tell("stopped; notes already written are kept")
        return _STOPPED
    except BrokenPipeError:  # the reader, "head" say, has enough
        silence_output()
        return _FAILED
    except OSError as error:
        tell(_os_error_line(error))
        silence_output()
        return _FAILED
    return code
