"""What `dictate listen` and `dictate resume` share: options, views, signals, and how a session ends. EDGE."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

from dictate.commands import DONE, FAILED
from dictate.commands.doctor import device_option
from dictate.commands.keep import add_keep_options, keep_and_tell
from dictate.commands.note import wines_on
from dictate.commands.signals import stopped_by_signals
from dictate.export import wine_title
from dictate.note import Note
from dictate.personal.store import load_own
from dictate.settings import Settings, with_own
from dictate.show import show_closing, show_lines, show_note, tell

if TYPE_CHECKING:  # a quarter of a second to import: no other command waits for it
    from dictate.board import Board
    from dictate.board.web import WebView
    from dictate.listen.capture import Source
    from dictate.listen.folder import SessionFolder

SAY = 'Say "next wine" to begin, "end of tasting" to end; Ctrl-C ends too. Nothing is lost either way.'


def add_bench_options(command: argparse.ArgumentParser) -> None:
    """The options of a session, new or not."""
    command.add_argument("--list", type=Path, metavar="FILE", help="a wine list (CSV), as for note")
    command.add_argument(
        "--blind", action="store_true", help="keep the list shut until the end: no name is shown or heard"
    )
    add_source_options(command)
    command.add_argument(
        "--volume", type=_volume, default=0.3, metavar="0..1", help="of the short sounds, 0 for none (0.3)"
    )
    add_keep_options(command)
    command.add_argument("--page", action="store_true", help="show the bench view as a page on this computer")
    command.add_argument(
        "--bench-address", metavar="ADDRESS", help="... and to a tablet, by this address of this computer"
    )


def add_source_options(command: argparse.ArgumentParser) -> None:
    """What is listened to, and by what."""
    command.add_argument("--device", metavar="NAME", help="microphone by name or number (see: devices)")
    command.add_argument(
        "--rehearse", type=Path, metavar="FILE", help="a recording in place of the microphone, to try it"
    )
    command.add_argument("--model", metavar="NAME", help="weights by name or folder (default: what is found)")


def _volume(text: str) -> float:
    """Raises ArgumentTypeError."""
    try:
        volume = float(text)
    except ValueError:
        volume = -1
    if not 0 <= volume <= 1:
        raise argparse.ArgumentTypeError(f"{text!r} is no number from 0 to 1")
    return volume


def settings_of(options: argparse.Namespace) -> Settings:
    """What was chosen. Raises WordsError, SheetError."""
    return with_own(
        Settings(model=options.model, wines=wines_on(options.list), blind=options.blind), load_own()
    )


def to_finish(session: Path, options: argparse.Namespace) -> str:
    """The command that finishes a session as it was begun: its list, weights and library, and blind."""
    words = ["dictate", "resume", "--close", str(session)]
    if options.list is not None:
        words += ["--list", str(options.list)]
    if options.blind:
        words.append("--blind")
    if options.model is not None:
        words += ["--model", options.model]
    if options.library is not None:
        words += ["--library", str(options.library)]
    if options.no_library:
        words.append("--no-library")
    return shlex.join(words)


def source_of(options: argparse.Namespace, stack: ExitStack) -> Source:
    """The microphone, opened until the stack ends, or a recording. Raises MicrophoneError, SourceError."""
    from dictate.listen.microphone import Microphone
    from dictate.listen.rehearsal import Rehearsal

    if options.rehearse is not None:
        return Rehearsal(options.rehearse)
    return stack.enter_context(Microphone(device_option(options.device)))


def page_of(options: argparse.Namespace, stack: ExitStack) -> WebView | None:
    """The bench page, served until the stack ends, where it is wanted. Raises BenchPageError."""
    if not options.page and options.bench_address is None:
        return None
    from dictate.board.web import WebView, who_can_see

    page = WebView() if options.bench_address is None else WebView(address=options.bench_address)
    page.start()
    stack.callback(page.stop)
    show_lines([f"Bench page: {page.url}"])
    if options.bench_address is not None:
        show_lines([who_can_see(options.bench_address)])
    return page


def run_session(
    folder: SessionFolder,
    settings: Settings,
    *,
    source: Source,
    volume: float,
    page: WebView | None,
    options: argparse.Namespace,
) -> int:
    """Listens until the taster ends it, keeps the notes in the library and shows them; returns the exit
    code."""
    from dictate.board.terminal import TerminalView
    from dictate.listen.earcons import EarconPlayer
    from dictate.listen.session import Session

    with ExitStack() as stack:
        player = EarconPlayer(volume)
        stack.callback(player.close)
        terminal = stack.enter_context(TerminalView())
        session = Session(
            folder,
            settings,
            source=source,
            show=_shown(terminal.show, page),
            player=player if volume else None,
        )
        with stopped_by_signals(session.stop):
            notes = session.run()
    unwritten = {note.id for note in session.unwritten}
    for made, note in zip(notes, keep_and_tell(notes, options), strict=True):
        if note.id not in unwritten:
            _write_corrected(made, note, folder=folder)
            where = f"{folder.files[note.id][0]} and .md"
            show_note(note, where=where, year=folder.began.year)
    show_closing(notes)
    if not session.failure:
        return DONE
    lost = "; ".join(wine_title(note) for note in session.unwritten)
    not_written = f"; not written: {lost}" if lost else ""
    room = " once there is room" if session.is_full else ""
    tell(f"{session.failure}{not_written}; then: {to_finish(folder.path, options)}{room}")
    return FAILED


def _write_corrected(made: Note, kept: Note, *, folder: SessionFolder) -> None:
    """What a hand put right in the library goes into the session's file too."""
    if kept == made:
        return
    try:
        folder.write(kept)
    except OSError as error:
        tell(f"{folder.path}: {error.strerror}; your corrections are in the library, not in the note's file")


def _shown(show: Callable[[Board], None], page: WebView | None) -> Callable[[Board], None]:
    if page is None:
        return show

    def both(board: Board) -> None:
        show(board)
        page.show(board)

    return both
