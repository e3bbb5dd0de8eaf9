"""`dictate review`: notes heard, read and put right on a page of this computer. EDGE."""

from __future__ import annotations

import argparse
import queue
import webbrowser
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from dictate.audio import SourceError
from dictate.commands import DONE, FAILED
from dictate.commands.bench import add_source_options, source_of
from dictate.commands.keep import library_path, open_library
from dictate.commands.named import add_notes_options, notes_named
from dictate.commands.signals import stopped_by_signals
from dictate.find import parse_query
from dictate.listen.portaudio import MicrophoneError
from dictate.personal.store import load_own
from dictate.recognise import ModelError, find_listeners
from dictate.settings import Settings, with_own
from dictate.show import show_lines, tell

if TYPE_CHECKING:
    from dictate.review.voice import Voice

_OF_VOICE: Final = ("device", "rehearse", "model")


def add_review_command(commands: argparse._SubParsersAction[Any]) -> None:
    """The options of `dictate review`."""
    review = commands.add_parser(
        "review", help="hear notes and put them right, in the browser", allow_abbrev=False
    )
    add_notes_options(review, "notes of the library by number, or note files (.json) and folders of them")
    review.add_argument(
        "--port", type=_port, default=0, metavar="N", help="the page's port (default: a free one)"
    )
    review.add_argument("--no-browser", action="store_true", help="only print the link")
    review.add_argument("--voice", action="store_true", help="turn the microphone on: put right by voice too")
    add_source_options(review)
    review.set_defaults(run=run_review)


def _port(text: str) -> int:
    """Raises ArgumentTypeError."""
    if not (text.isascii() and text.isdigit() and len(text) < 6 and int(text) < 65536):
        raise argparse.ArgumentTypeError(f"{text!r} is no port; give a number below 65536")
    return int(text)


def run_review(options: argparse.Namespace) -> int:
    """Opens the page until Ctrl-C; the exit code. Raises QueryError, LibraryError, OSError."""
    if not options.voice and (needless := [name for name in _OF_VOICE if getattr(options, name) is not None]):
        tell(f"--{needless[0]} is of the microphone; give --voice too")
        return FAILED
    asked = _asked(options)
    if asked is None:
        return FAILED
    from dictate.review.server import ReviewError, ReviewPage  # the web server takes its time to import

    try:
        with ExitStack() as stack:
            voice = _voice(options, stack) if options.voice else None
            page = ReviewPage(library_path(options), asked=asked, port=options.port, voice=voice)
            stack.callback(page.stop)
            page.start()
            _show(page.url, options, listens_to=voice.listening.name if voice else "")
    except (ReviewError, MicrophoneError, ModelError, SourceError) as error:
        tell(str(error))
        return FAILED
    return DONE  # everything is saved already


def _voice(options: argparse.Namespace, stack: ExitStack) -> Voice:
    """The microphone beside the page, until the stack ends. Raises MicrophoneError, ModelError, SourceError,
    WordsError."""
    from dictate.review.listening import Listening
    from dictate.review.voice import Voice

    find_listeners(options.model)  # told now, not when the first words were said
    settings = with_own(Settings(model=options.model), load_own())
    return Voice(Listening(source_of(options, stack), settings), settings)


def _show(url: str, options: argparse.Namespace, *, listens_to: str) -> None:
    """Until Ctrl-C."""
    ended = queue.SimpleQueue[None]()  # an Event could not be set by the thread that waits for it
    with stopped_by_signals(lambda: ended.put(None)):
        show_lines([f"Review: {url}", "Only this computer can see it. Ctrl-C ends."])
        if listens_to:
            show_lines([f"Listening to {listens_to}; nothing of it is kept."])
        if not options.no_browser:
            webbrowser.open(url)
        ended.get()


def _asked(options: argparse.Namespace) -> tuple[int, ...] | None:
    """The numbers of the notes to go through, () for all; None where something named is no note. Files are
    taken into the library first, where what a hand put right before stays."""
    numbers: list[int] = []
    with open_library(options) as library:
        for name in options.notes:
            if not name.endswith(".json") and name.isascii() and name.isdigit():
                numbers.append(library.number(name))
                continue
            named = notes_named([Path(name)])
            if named.problems or not named.notes:
                tell(
                    named.problems[0]
                    if named.problems
                    else f"{name}: no note there; give notes or their folder"
                )
                return None
            numbers += [kept.number for kept in library.add_all(named.notes)]
        if options.find is not None:
            found = library.find(parse_query(options.find))
            if not found.total:
                tell(f"“{options.find}” finds no note; ask otherwise, or leave --find out")
                return None
            numbers += found.numbers
    return tuple(dict.fromkeys(numbers))
