"""`dictate resume`: goes on with a session that was broken off, or finishes it. EDGE."""

from __future__ import annotations

import argparse
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dictate.audio import SourceError
from dictate.commands import FAILED
from dictate.commands.bench import SAY, add_bench_options, page_of, run_session, settings_of, source_of
from dictate.export import CAUTIONS
from dictate.listen.portaudio import MicrophoneError
from dictate.recognise import ModelError, find_listeners
from dictate.show import show_lines, tell

if TYPE_CHECKING:
    from dictate.listen.capture import Source


def add_resume_command(commands: argparse._SubParsersAction[Any]) -> None:
    """The options of `dictate resume`."""
    resume = commands.add_parser("resume", help="go on with a session after a crash", allow_abbrev=False)
    resume.add_argument("session", type=Path, metavar="SESSION", help="the session's folder")
    resume.add_argument(
        "--close", action="store_true", help="record no more: hear what is left, write all notes"
    )
    add_bench_options(resume)
    resume.set_defaults(run=run_resume)


def run_resume(options: argparse.Namespace) -> int:
    """Goes on until the taster ends it; returns the exit code.

    Raises OSError where the session cannot be read or written, WordsError or SheetError as `dictate note`
    does.
    """
    from dictate.board.web import BenchPageError
    from dictate.listen.capture import NoSource
    from dictate.listen.folder import go_on

    settings = settings_of(options)
    try:
        with ExitStack() as stack:
            # before the microphone: what is wrong with the folder is not told as a microphone's fault
            folder = stack.enter_context(go_on(options.session, blind=options.blind))
            find_listeners(options.model)
            recorded = f"{folder.path}, {folder.from_s / 60:.1f} min recorded"
            if options.close:
                source: Source = NoSource()
                lines = [f"Finishing {recorded}: hears what is left and writes the notes."]
            else:
                source = source_of(options, stack)
                lines = [CAUTIONS, f"Going on with {recorded}. Listening to {source.name}. {SAY}"]
            page = page_of(options, stack)
            show_lines(lines)
            settings = replace(settings, blind=folder.blind)
            volume = 0.0 if options.close else options.volume
            return run_session(folder, settings, source=source, volume=volume, page=page, options=options)
    except (MicrophoneError, ModelError, SourceError, BenchPageError) as error:
        tell(str(error))
        return FAILED
