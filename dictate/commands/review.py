"""`dictate review`: notes heard, read and put right on a page of this computer. EDGE."""

from __future__ import annotations

import argparse
import queue
import webbrowser
from pathlib import Path
from typing import Any

from dictate.commands import DONE, FAILED
from dictate.commands.keep import library_path, open_library
from dictate.commands.named import add_notes_options, notes_named
from dictate.commands.signals import stopped_by_signals
from dictate.find import parse_query
from dictate.show import show_lines, tell


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
    review.set_defaults(run=run_review)


def _port(text: str) -> int:
    """Raises ArgumentTypeError."""
    if not (text.isascii() and text.isdigit() and len(text) < 6 and int(text) < 65536):
        raise argparse.ArgumentTypeError(f"{text!r} is no port; give a number below 65536")
    return int(text)


def run_review(options: argparse.Namespace) -> int:
    """Opens the page until Ctrl-C; the exit code. Raises QueryError, LibraryError, OSError."""
    asked = _asked(options)
    if asked is None:
        return FAILED
    from dictate.review.server import ReviewError, ReviewPage  # the web server takes its time to import

    page = ReviewPage(library_path(options), asked=asked, port=options.port)
    try:
        page.start()
    except ReviewError as error:
        tell(str(error))
        return FAILED
    ended = queue.SimpleQueue[None]()  # an Event could not be set by the thread that waits for it
    try:
        with stopped_by_signals(lambda: ended.put(None)):
            show_lines([f"Review: {page.url}", "Only this computer can see it. Ctrl-C ends."])
            if not options.no_browser:
                webbrowser.open(page.url)
            ended.get()
    finally:
        page.stop()
    return DONE  # everything is saved already


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
