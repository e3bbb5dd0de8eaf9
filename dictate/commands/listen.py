"""`dictate listen`: a tasting by microphone, hands free; notes as the taster talks. EDGE."""

from __future__ import annotations

import argparse
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dictate.audio import SourceError
from dictate.commands import DONE, FAILED
from dictate.commands.doctor import device_option
from dictate.commands.note import wines_on
from dictate.export import CAUTIONS
from dictate.files import check_folder
from dictate.listen.portaudio import MicrophoneError
from dictate.personal.store import load_words
from dictate.recognise import ModelError, find_listeners
from dictate.settings import Settings
from dictate.show import show_closing, show_lines, show_note, tell

if TYPE_CHECKING:  # a quarter of a second to import: no other command waits for it
    from dictate.board import Board
    from dictate.board.web import WebView
    from dictate.listen.session import Source

SAY = 'Say "next wine" to begin, "end of tasting" to end; Ctrl-C ends too. Nothing is lost either way.'


def add_listen_command(commands: argparse._SubParsersAction[Any]) -> None:
    """The options of `dictate listen`."""
    listen = commands.add_parser("listen", help="a tasting by microphone, hands free", allow_abbrev=False)
    listen.add_argument("--list", type=Path, metavar="FILE", help="a wine list (CSV), as for note")
    listen.add_argument("--device", metavar="NAME", help="microphone by name or number (see: devices)")
    listen.add_argument(
        "--rehearse", type=Path, metavar="FILE", help="a recording in place of the microphone, to try it"
    )
    listen.add_argument(
        "--to", type=Path, default=Path("tastings"), metavar="DIR", help="folder for sessions (tastings)"
    )
    listen.add_argument("--model", metavar="NAME", help="weights by name or folder (default: what is found)")
    listen.add_argument(
        "--volume", type=_volume, default=0.3, metavar="0..1", help="of the short sounds, 0 for none (0.3)"
    )
    listen.add_argument("--page", action="store_true", help="show the bench view as a page on this computer")
    listen.add_argument(
        "--bench-address", metavar="ADDRESS", help="... and to a tablet, by this address of this computer"
    )
    listen.set_defaults(run=run_listen)


def _volume(text: str) -> float:
    """Raises ArgumentTypeError."""
    try:
        volume = float(text)
    except ValueError:
        volume = -1
    if not 0 <= volume <= 1:
        raise argparse.ArgumentTypeError(f"{text!r} is no number from 0 to 1")
    return volume


def run_listen(options: argparse.Namespace) -> int:
    """Listens until the taster ends it; returns the exit code.

    Raises OSError where nothing can be written, WordsError or SheetError as `dictate note` does.
    """
    from dictate.board.terminal import TerminalView
    from dictate.board.web import BenchPageError
    from dictate.listen.earcons import EarconPlayer
    from dictate.listen.session import Session

    check_folder(options.to)
    settings = Settings(model=options.model, words=load_words(), wines=wines_on(options.list))
    try:
        find_listeners(options.model)  # told now, not when the first words were said
        with ExitStack() as stack:
            source = _source(options, stack)
            page = _page(options, stack)
            player = EarconPlayer(options.volume)
            stack.callback(player.close)
            show_lines([CAUTIONS, f"Listening to {source.name}. {SAY}"])
            terminal = stack.enter_context(TerminalView())
            session = Session(
                _folder(options.to),
                settings,
                source=source,
                show=_shown(terminal.show, page),
                player=player if options.volume else None,
            )
            with _stopped_by_signals(session.stop):
                notes = session.run()
    except (MicrophoneError, ModelError, SourceError, BenchPageError) as error:
        tell(str(error))
        return FAILED
    for note in notes:
        show_note(note, where=f"{session.file_of(note)} and .md", year=datetime.now().year)
    show_closing(notes)
    return DONE


def _source(options: argparse.Namespace, stack: ExitStack) -> Source:
    from dictate.listen.microphone import Microphone
    from dictate.listen.rehearsal import Rehearsal

    if options.rehearse is not None:
        return Rehearsal(options.rehearse)
    return stack.enter_context(Microphone(device_option(options.device)))


def _page(options: argparse.Namespace, stack: ExitStack) -> WebView | None:
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


def _shown(show: Callable[[Board], None], page: WebView | None) -> Callable[[Board], None]:
    if page is None:
        return show

    def both(board: Board) -> None:
        show(board)
        page.show(board)

    return both


def _folder(parent: Path) -> Path:
    """A folder for a session of now; another number behind it where there is one of this minute."""
    base = parent / datetime.now().strftime("%Y-%m-%d-%H%M")
    folder, number = base, 1
    while folder.exists():
        number += 1
        folder = base.with_name(f"{base.name}-{number}")
    return folder


@contextmanager
def _stopped_by_signals(stop: Callable[[], None]) -> Iterator[None]:
    """Ctrl-C, a closed terminal and a polite kill end the session in order; a second Ctrl-C does not wait."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    names = ("SIGINT", "SIGTERM", "SIGHUP")
    numbers = [getattr(signal, name) for name in names if hasattr(signal, name)]
    before = {number: signal.getsignal(number) for number in numbers}

    def end(number: int, _: object) -> None:
        signal.signal(number, before[number])
        stop()

    for number in numbers:
        signal.signal(number, end)
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
