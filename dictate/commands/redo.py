"""`dictate redo`: notes of the library made again with what there is now, hand corrections kept. EDGE."""

from __future__ import annotations

import argparse
import json
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from dictate import __version__
from dictate.audio import SourceError
from dictate.audio.dated import recorded_year
from dictate.commands import DONE, FAILED, SOME_FAILED, STOPPED
from dictate.commands.keep import add_library_option, agreed, open_library
from dictate.commands.note import LateRecogniser, wines_on
from dictate.commands.signals import stopped_by_signals
from dictate.files import check_folder, rewrite_note
from dictate.find import parse_query
from dictate.language.counted import counted
from dictate.library import Library, LibraryError
from dictate.note import MadeWith
from dictate.personal.store import load_own
from dictate.pipeline import present_lexicon
from dictate.recognise import ModelError
from dictate.redo import Choice, Hear, Outcome, Redone, Source, gathered, redo_source
from dictate.redo.lines import (
    SHARE_OF_TIME,
    about,
    choice_data,
    choice_rows,
    length,
    redone_data,
    redone_lines,
)
from dictate.redo.older import TRANSCRIPT
from dictate.settings import Settings, with_own
from dictate.show import print_bytes, progress_of, show_lines, show_table, tell

_SHOWN = 50  # recordings of the table in front of the work
_HELP = (
    "A note is made again from its recording: it is heard again, or with --from words only read anew from "
    "the words that the note holds, which takes no time and needs no recording, but mends nothing misheard. "
    "What you put right by hand stays. Each is a revision more; dictate library undo NOTE takes it back."
)


def add_redo_command(commands: argparse._SubParsersAction[Any]) -> None:
    """The options of `dictate redo`."""
    redo = commands.add_parser(
        "redo", help="make older notes again from their recordings", epilog=_HELP, allow_abbrev=False
    )
    redo.add_argument(
        "notes", nargs="*", metavar="NOTE", help="by number or id (default: all that are older)"
    )
    redo.add_argument("--find", metavar="QUERY", help="the older ones of those that a query finds")
    redo.add_argument(
        "--from", dest="by", choices=("sound", "words"), default="sound",
        help="hear the recording again, or read anew the words that the note holds (default: sound)",
    )  # fmt: skip
    redo.add_argument(
        "--look", action="store_true", help="only tell what would be done, and how long it takes"
    )
    redo.add_argument("--recut", action="store_true", help="where wines are parted otherwise now, take that")
    redo.add_argument("--list", type=Path, metavar="FILE", help="the flight's wine list (CSV), given again")
    redo.add_argument("--blind", action="store_true", help="with --list: its names are not listened for")
    redo.add_argument("--model", metavar="NAME", help="weights by name or folder (default: what is found)")
    redo.add_argument(
        "--salvage",
        action="store_true",
        help="of a recording that is cut short or damaged, take what is there",
    )
    redo.add_argument("--to", type=Path, metavar="DIR", help="write the notes' files too, into a folder")
    redo.add_argument("--as", dest="form", choices=("text", "json"), default="text", help="(default: text)")
    redo.add_argument("--yes", action="store_true", help="do not ask")
    add_library_option(redo)
    redo.set_defaults(run=run_redo)


@dataclass(slots=True)
class _Run:
    """What was done so far."""

    outcomes: list[Outcome] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)
    stopped: bool = False

    def fails(self, *lines: str) -> None:
        for line in lines:
            if line not in self.problems:
                tell(line)
            self.problems.append(line)

    @property
    def redone(self) -> list[Redone]:
        return [redone for outcome in self.outcomes for redone in outcome.redone]

    @property
    def code(self) -> int:
        if self.stopped:
            return STOPPED
        return DONE if not self.problems else SOME_FAILED if self.redone else FAILED


def run_redo(options: argparse.Namespace) -> int:
    """Makes notes again; the exit code. Raises QueryError, LibraryError, SheetError, WordsError, OSError."""
    if options.list is not None and not options.notes and options.find is None:
        tell("a list is of one flight; name the notes of it too, or find them with --find QUERY")
        return FAILED
    if options.to is not None:
        check_folder(options.to)
    wines = wines_on(options.list)
    settings = with_own(
        Settings(model=options.model, salvage=options.salvage, wines=wines, blind=options.blind), load_own()
    )
    recogniser = LateRecogniser(settings)
    with open_library(options) as library:
        choice = _chosen(library, options, settings=settings, recogniser=recogniser)
        run = _Run()
        todo = _possible(choice, options, run=run)
        if options.look or not todo.count:
            _show_choice(todo, options)
            return run.code if not todo.count else DONE
        if options.form == "text":
            _show_choice(todo, options)
        if not agreed(f"Make {counted(todo.count, 'note')} again? Each can be put back as it was.", options):
            return FAILED
        hear = Hear(settings, by=options.by, recogniser=recogniser, recut=options.recut)
        _work_through(todo.sources, library, run=run, hear=hear, options=options)
    _close(run, options)
    return run.code


def _chosen(
    library: Library, options: argparse.Namespace, *, settings: Settings, recogniser: LateRecogniser
) -> Choice:
    """The notes asked for; recordings that were moved within their folder are found again."""
    hears = options.by == "sound"
    named = [library.number(name) for name in options.notes]
    among = None if options.find is None else library.find(parse_query(options.find)).numbers
    model = ""
    models = {making.made_with.model for making in library.makings() if making.made_with is not None}
    if hears and models - {TRANSCRIPT}:
        try:
            model = recogniser.name
        except ModelError as error:  # transcripts need none
            tell(str(error))
    present = MadeWith(program=__version__, model=model, lexicon=present_lexicon(settings))
    choice = gathered(library, present, named=named, among=among, hears=hears)
    if any(source.place is None for source in choice.sources) and library.look_for_recordings():
        choice = gathered(library, present, named=named, among=among, hears=hears)
    return choice


def _possible(choice: Choice, options: argparse.Namespace, *, run: _Run) -> Choice:
    """What can be done of it; the rest is told, a line each."""
    if options.by == "words":
        can = choice.sources
    else:
        can = tuple(source for source in choice.sources if source.place is not None)
        for source in choice.sources:
            if source.place is None:
                run.fails(
                    f"{source.name} is not where it was; its notes ({_numbers(source.wanted)}) stay; tell "
                    "where it is with: dictate library recordings FOLDER, or take --from words"
                )
    if choice.unrecorded and options.notes:
        run.fails(f"no recording is known of: {_numbers(choice.unrecorded)}; they stay as they are")
    elif choice.unrecorded:
        many = counted(len(choice.unrecorded), "note")
        tell(f"{many} of no recording: {_numbers(choice.unrecorded)}; they stay")
    if choice.unreadable:
        run.fails(f"cannot be read: {_numbers(choice.unreadable)}; see: dictate library check")
    if choice.refused:
        tell(
            f"put back by hand after they were made again so: {_numbers(choice.refused)}; they stay; to make "
            "them again all the same, name them"
        )
    return replace(choice, sources=can)


def _show_choice(choice: Choice, options: argparse.Namespace) -> None:
    if options.form == "json":
        _print_json(choice_data(choice) if options.look else [])
        return
    if not choice.count:
        show_lines([f"Nothing to make again: {counted(choice.current, 'note')} not older than what is here."])
        return
    sound_s = sum(source.seconds for source in choice.sources if source.is_sound)
    takes = (
        f"{about(sound_s * SHARE_OF_TIME)} for {length(sound_s)} of sound, by two cores"
        if sound_s and options.by == "sound"
        else "seconds: nothing is heard again"
    )
    rows = choice_rows(choice)
    more = [f"and {counted(len(rows) - _SHOWN, 'recording')} more"] if len(rows) > _SHOWN else []
    show_table(
        f"{counted(choice.count, 'note')} of {counted(len(choice.sources), 'recording')} to make again:",
        heads=["Recording", "Notes", "Length", "Older in"],
        rows=rows[:_SHOWN],
        foot=[*more, f"{counted(choice.current, 'note')} not older", f"It takes {takes}"],
    )


def _work_through(
    sources: Sequence[Source], library: Library, *, run: _Run, hear: Hear, options: argparse.Namespace
) -> None:
    """Recording by recording; Ctrl-C ends it behind the one at work."""
    ending = threading.Event()
    began = time.monotonic()

    def stop() -> None:
        ending.set()
        tell("stopping when this recording is done; Ctrl-C again stops at once, its notes stay as they are")

    with stopped_by_signals(stop):
        for place, source in enumerate(sources):
            if ending.is_set():
                run.stopped = True
                tell(f"stopped; {counted(len(sources) - place, 'recording')} left; the same command goes on")
                return
            _do(source, library, run=run, hear=hear, options=options)
            _tell_left(sources, place + 1, seconds=time.monotonic() - began, options=options)


def _do(source: Source, library: Library, *, run: _Run, hear: Hear, options: argparse.Namespace) -> None:
    try:
        with progress_of(source.name) as progress:
            here = replace(hear, progress=progress, before=len(run.redone))
            outcome = redo_source(source, library, hear=here)
    except (SourceError, ModelError, LibraryError) as error:
        run.fails(str(error))
        run.problems.append(source.name)
        return
    run.outcomes.append(outcome)
    run.fails(*outcome.problems)
    for redone in outcome.redone:
        if options.form == "text":
            show_lines(redone_lines(redone), keep_spaces=True)
        if options.to is not None:
            year = recorded_year(source.place) if source.place else None
            rewrite_note(redone.note, options.to, year=year)
    if options.form == "text":
        show_lines(outcome.told)


def _tell_left(sources: Sequence[Source], done: int, *, seconds: float, options: argparse.Namespace) -> None:
    if done == len(sources) or options.by == "words":
        return
    before, behind = (sum(s.seconds for s in part if s.is_sound) for part in (sources[:done], sources[done:]))
    left = f", {about(seconds / before * behind)} left" if before and behind else ""
    tell(f"{done} of {counted(len(sources), 'recording')} done{left}")


def _close(run: _Run, options: argparse.Namespace) -> None:
    if options.form == "json":
        _print_json([redone_data(redone) for redone in run.redone])
        return
    changed = [r for r in run.redone if not r.same]
    otherwise = [r for r in changed if r.difference.of_kind("machine") or r.is_new]
    against = [r for r in changed if r.difference.of_kind("conflict")]
    if run.redone:
        made = counted(len(run.redone), "note")
        against_new = f"in {len(against)} a correction of yours stands against a new reading"
        show_lines(
            [
                f"{made} made again; {len(otherwise)} read otherwise, {against_new}.",
                "Put one back as it was with: dictate library undo NOTE",
            ]
        )


def _print_json(data: Any) -> None:
    print_bytes((json.dumps(data, ensure_ascii=False, indent=1) + "\n").encode())


def _numbers(numbers: Sequence[int] | dict[int, Any]) -> str:
    return ", ".join(map(str, numbers))
