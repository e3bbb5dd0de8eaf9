"""`dictate listen`: a tasting by microphone, hands free; notes as the taster talks. EDGE."""

from __future__ import annotations

import argparse
from contextlib import ExitStack
from datetime import datetime
from pathlib import Path
from typing import Any

from dictate.audio import SourceError
from dictate.commands import FAILED
from dictate.commands.bench import SAY, add_bench_options, page_of, run_session, settings_of, source_of
from dictate.export import CAUTIONS
from dictate.files import check_folder
from dictate.listen.portaudio import MicrophoneError
from dictate.recognise import ModelError, find_listeners
from dictate.show import show_lines, tell


def add_listen_command(commands: argparse._SubParsersAction[Any]) -> None:
    """The options of `dictate listen`."""
    listen = commands.add_parser("listen", help="a tasting by microphone, hands free", allow_abbrev=False)
    add_bench_options(listen)
    listen.add_argument(
        "--to", type=Path, default=Path("tastings"), metavar="DIR", help="folder for sessions (tastings)"
    )
    listen.set_defaults(run=run_listen)


def run_listen(options: argparse.Namespace) -> int:
    """Listens until the taster ends it; returns the exit code.

    Raises OSError where nothing can be written, WordsError or SheetError as `dictate note` does.
    """
    from dictate.board.web import BenchPageError
    from dictate.listen.folder import begin

    check_folder(options.to)
    settings = settings_of(options)
    try:
        find_listeners(options.model)  # told now, not when the first words were said
        with ExitStack() as stack:
            source = source_of(options, stack)  # before the folder: where there is no sound, none is left
            page = page_of(options, stack)
            show_lines([CAUTIONS, f"Listening to {source.name}. {SAY}"])
            folder = stack.enter_context(begin(_free(options.to), blind=options.blind))
            return run_session(
                folder, settings, source=source, volume=options.volume, page=page, options=options
            )
    except (MicrophoneError, ModelError, SourceError, BenchPageError) as error:
        tell(str(error))
        return FAILED


def _free(parent: Path) -> Path:
    """A folder for a session of now; another number behind it where there is one of this minute."""
    base = parent / datetime.now().strftime("%Y-%m-%d-%H%M")
    folder, number = base, 1
    while folder.exists():
        number += 1
        folder = base.with_name(f"{base.name}-{number}")
    return folder
