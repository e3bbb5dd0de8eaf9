"""One recording made again: heard once, or read anew from its notes' words; all its notes. EDGE."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from dictate.audio import SourceError
from dictate.library import Library, LibraryError, OutdatedError
from dictate.note import Note
from dictate.note import Recording as NoteRecording
from dictate.pipeline import Derived, derive
from dictate.recognise.typed import is_transcript, read_transcript
from dictate.recognise.weights import ModelError
from dictate.redo.gather import Source
from dictate.redo.heard import Shut, off_the_record, same_clock, without, words_of
from dictate.redo.keeping import keep
from dictate.redo.older import TRANSCRIPT
from dictate.redo.parts import layers
from dictate.redo.values import Hear, Made, Outcome
from dictate.settings import Settings
from dictate.values import Heard

if TYPE_CHECKING:
    from dictate.audio import Recording as Sound

_TRIES: Final = 5


def redo_source(source: Source, library: Library, *, hear: Hear) -> Outcome:
    """Make the wanted notes of a recording again, and keep them: each with its hand's corrections, as a
    revision more, all of them or none.

    A note is the one made from the same speech. Where wines are parted otherwise now, the notes stay as they
    are and that is told; `hear.recut` takes it: the note that shares most goes on, another part is a new
    note, and a note whose speech is another's now is removed, but where a hand had put something right in it.
    Raises SourceError, ModelError where the recording cannot be used, LibraryError.
    """
    known = [*library.notes(source.numbers), *library.notes(source.removed)]
    made = _from_words(source, known, hear) if hear.by == "words" else _from_sound(source, known, hear)
    for _ in range(_TRIES):
        try:
            return keep(source, library, made=made, hear=hear)
        except OutdatedError:  # a hand was at it while this was heard
            continue
    raise LibraryError(f"{source.name}: its notes are changed all the time; try again later")


# the notes that the recording gives now


def _from_sound(source: Source, known: Sequence[Note], hear: Hear) -> Made:
    path = source.place
    if path is None:
        raise SourceError(
            f"{source.name}: the recording is not where it was; tell where with: dictate library recordings "
            "FOLDER, or make its notes again with --from words"
        )
    settings = replace(hear.settings, wines_before=hear.before)
    if is_transcript(path):
        heard = read_transcript(path)
        _check(source, hashlib.sha256(path.read_bytes()).hexdigest())
        return Made(_derived(heard, source, known, settings=settings).notes)
    sound = _loaded(path, salvage=settings.salvage)
    _check(source, sound.sha256)
    gaps, is_blind = _of_session(path)
    settings = replace(settings, blind=settings.blind or is_blind)
    if hear.recogniser is None:
        raise ModelError("no recogniser given for a recording")
    heard = hear.recogniser.recognise(sound, progress=hear.progress)
    return Made(_derived(heard, source, known, settings=settings, sound=sound, gaps=gaps).notes)


def _check(source: Source, sha256: str) -> None:
    if sha256 != source.sha256:
        raise SourceError(
            f"{source.place}: is another recording than its notes were made from; tell where that is with: "
            "dictate library recordings FOLDER"
        )


def _derived(
    heard: Heard, source: Source, known: Sequence[Note], *, settings: Settings, sound: Sound | None = None,
    gaps: Sequence[tuple[float, float]] = (),
) -> Derived:  # fmt: skip
    """Notes of what was heard, but for what was off the record before."""
    place = NoteRecording(path=str(source.place), sha256=source.sha256, start_s=0, end_s=heard.duration_s)
    shut: list[Shut] = []
    for layer in layers(known):
        then = Heard(words_of(layer), heard.duration_s, heard.recogniser)
        shut += off_the_record(derive(then, settings=settings, recording=place).cues)
    return derive(
        without(heard, shut), settings=settings, recording=place,
        samples=None if sound is None else sound.samples, gaps=gaps,
    )  # fmt: skip


def _of_session(path: Path) -> tuple[tuple[tuple[float, float], ...], bool]:
    """Where a session lost sound, and whether it was blind, by the log beside its recording."""
    from dictate.listen.eventlog import read_log
    from dictate.listen.folder import LOG, RECORDING
    from dictate.listen.left import what_was_left

    log = path.with_name(LOG)
    if path.name != RECORDING or not log.is_file():
        return (), False
    try:
        left = what_was_left(read_log(log))
    except OSError:
        return (), False
    return left.gaps, left.blind


def _from_words(source: Source, known: Sequence[Note], hear: Hear) -> Made:
    """The words are read anew, not heard. The clock stays as it was read in the sound; one between other cues
    is timed in the sound, where that is there."""
    settings = replace(hear.settings, wines_before=hear.before)
    words = words_of(layers(known)[0] if known else ())
    end_s = max((word.end_s for word in words), default=0.0)
    first = next((n.recording for n in known if n.recording is not None), None)
    path = str(source.place) if source.place is not None else first.path if first else source.name
    place = NoteRecording(path=path, sha256=source.sha256, start_s=0, end_s=end_s)
    heard = Heard(words, end_s, TRANSCRIPT)
    notes = derive(heard, settings=settings, recording=place).notes
    old = known[: len(source.numbers)]
    if source.is_sound and any(_is_timed_anew(note, old) for note in notes):
        sound = _sound(source, salvage=settings.salvage)
        if sound is not None:
            again = derive(heard, settings=settings, recording=place, samples=sound.samples).notes
            return Made(again, heard=False)
    return Made(notes, heard=False, timed=False)


def _is_timed_anew(note: Note, old: Sequence[Note]) -> bool:
    return note.finish.how == "timed" and not any(same_clock(note, each) for each in old)


def _loaded(path: Path, *, salvage: bool) -> Sound:
    from dictate.audio import load_recording  # PyAV takes its time to import

    return load_recording(path, salvage=salvage)


def _sound(source: Source, *, salvage: bool) -> Sound | None:
    """The recording, None where it cannot be used: the words are there all the same."""
    try:
        sound = _loaded(source.place, salvage=salvage) if source.place else None
    except SourceError:
        return None
    return sound if sound is not None and sound.sha256 == source.sha256 else None
