"""`dictate note`: recordings or timed transcripts in, notes out. EDGE."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dictate.audio import SourceError
from dictate.audio.dated import recorded_year
from dictate.commands import DONE, FAILED, SOME_FAILED
from dictate.commands.keep import add_keep_options, keep_and_tell
from dictate.export import list_differences
from dictate.files import check_folder, notes_as_json, write_note
from dictate.note import Note
from dictate.personal.store import load_own, read_wine_list
from dictate.pipeline import notes_from_source, second_hearing
from dictate.recognise import ModelError, Recogniser, Weights, find_listeners
from dictate.recognise.weights import name_of
from dictate.settings import Settings, with_own
from dictate.show import print_bytes, progress_of, show_closing, show_note, tell
from dictate.values import Heard, ListedWine

if TYPE_CHECKING:
    from dictate.audio import Recording  # PyAV takes its time to import

CLOCK_HELP = (
    "The finish clock runs from the first sound of the cue that starts it (spitting now) to the first "
    "sound of the cue that stops it (it's gone), in steps of 0.01 s. That is how finely it is told, not"
    " how true it is: the last cue is a spoken reaction and comes about 0.2 s late (0.16 to 0.25 s at "
    "the fastest), the first is an announcement and does not. Nothing is taken off for it. One taster "
    "is late by much the same each time, so your own wines can be compared; a few tenths between two "
    "tasters mean nothing. Where a cue begins unclearly in the sound, the note says 'about'; where the "
    "clock was never stopped, 'at least'."
)


def add_note_command(commands: argparse._SubParsersAction[Any]) -> None:
    """The options of `dictate note`."""
    note = commands.add_parser(
        "note", help="recordings or timed transcripts to notes", epilog=CLOCK_HELP, allow_abbrev=False
    )
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
    note.add_argument(
        "--list",
        type=Path,
        metavar="FILE",
        help="a wine list (CSV) that fills in what you do not say of a wine",
    )
    add_keep_options(note)
    note.set_defaults(run=run_note)


class LateRecogniser:
    """A recogniser that loads its weights at the first recording that can be decoded."""

    def __init__(self, settings: Settings) -> None:
        self._settings = settings
        self._loaded: Recogniser | None = None

    @property
    def name(self) -> str:
        """See `Recogniser`; loads nothing. Raises ModelError."""
        return name_of(self._weights)

    def recognise(self, recording: Recording, *, progress: Callable[[float], None] | None = None) -> Heard:
        """See `Recogniser`. Raises ModelError."""
        return self._load().recognise(recording, progress=progress)

    @cached_property
    def _weights(self) -> tuple[Weights, ...]:
        return find_listeners(self._settings.model)

    def _load(self) -> Recogniser:
        if self._loaded is None:
            from dictate.recognise.whisper import WhisperRecogniser  # takes a second to import

            self._loaded = WhisperRecogniser(self._weights, again=second_hearing(self._settings))
        return self._loaded


def wines_on(path: Path | None) -> tuple[ListedWine, ...]:
    """The wines of a list, none of None; says what is odd about it. Raises SheetError."""
    if path is None:
        return ()
    listed = read_wine_list(path)
    for remark in (*listed.remarks, *(() if listed.wines else ("no wine in it",))):
        tell(f"{path}: {remark}")
    return listed.wines


def _settings(options: argparse.Namespace) -> Settings:
    """The settings asked for, with the taster's own words."""
    return with_own(
        Settings(
            model=options.model,
            language=options.language,
            salvage=options.salvage,
            wines=wines_on(options.list),
        ),
        load_own(),
    )


def run_note(options: argparse.Namespace) -> int:
    """Makes the notes asked for; returns the exit code.

    Raises OSError where they cannot be written, WordsError or SheetError where the taster's own words
    or the wine list cannot be read.
    """
    settings = _settings(options)
    recogniser = LateRecogniser(settings)
    if not options.json:
        check_folder(options.to)  # an hour's recording must not be worked on for nothing
    notes: list[Note] = []
    broken: list[Path] = []
    told: set[str] = set()
    for path in options.sources:
        try:
            with progress_of(path.name) as progress:
                here = replace(settings, wines_before=len(notes))
                found = notes_from_source(path, recogniser=recogniser, settings=here, progress=progress)
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
            _write_and_show(found, options, year=recorded_year(path))
    if len(broken) == len(options.sources):
        return FAILED
    if options.json:
        print_bytes(notes_as_json(notes).encode("utf-8"))
    else:
        show_closing(notes)
    _tell_of_list(notes, settings.wines, differences=options.json)
    if broken:
        names = ", ".join(map(str, broken))
        tell(f"{len(broken)} of {len(options.sources)} sources could not be used: {names}; see above")
    return SOME_FAILED if broken else DONE


def _tell_of_list(notes: Sequence[Note], wines: Sequence[ListedWine], *, differences: bool) -> None:
    """What the list lacks, and (where no summary shows it) in what it differs from what was said."""
    numbers = {w.position for w in wines} - {None}
    for note in notes:
        name = f"number {note.wine.position}" if note.wine.position is not None else "a wine without a number"
        if numbers and note.wine.position is not None and note.wine.position not in numbers:
            tell(f"{name} is not on the list, so nothing was filled in")
        if differences and (found := list_differences(note)):
            tell(f"{name}: {'; '.join(found)}")


def _write_and_show(notes: Sequence[Note], options: argparse.Namespace, *, year: int | None) -> None:
    """The files first: they are there whatever the library does. What a hand put right goes into them too."""
    files = {note.id: write_note(note, options.to, year=year)[0] for note in notes}
    for made, note in zip(notes, keep_and_tell(notes, options), strict=True):
        if note != made:  # under the id of its file, whatever the library knows it by
            files[made.id], _ = write_note(note.model_copy(update={"id": made.id}), options.to, year=year)
        show_note(note, where=f"{files[made.id]} and .md", year=year)
