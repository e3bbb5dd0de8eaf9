"""The order of the rooms, nothing else: words -> repair -> cues -> segment -> extract -> notes."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from dictate import __version__
from dictate.assemble import Clock, assemble_notes, fill_from_list, keep_listed, read_clock
from dictate.cues import (
    CueTable,
    FoundCues,
    Samples,
    cue_table,
    doubt_lost,
    find_cues,
    settle_cues,
    time_cues,
)
from dictate.doubt import Doubt, DoubtTable, Unread, doubt_table, doubts_of, unread_of
from dictate.extract import Rules, compile_rules, degree_of, read_fields, with_usage
from dictate.learn import Known
from dictate.lexicon import Lexicon, load_lexicon, load_sounds, load_table
from dictate.lexicon.letter_sounds import load_letters
from dictate.note import MadeWith, Note
from dictate.note import Recording as NoteRecording
from dictate.personal.entries import personal_entries
from dictate.personal.habits import LevelUse, Own
from dictate.personal.words import PersonalWord
from dictate.phonetics.terms import TermSounds
from dictate.recognise.recogniser import HeardStretch, Recogniser, joined
from dictate.recognise.typed import is_transcript, read_transcript
from dictate.recognise.weights import ModelError
from dictate.repair import RepairTable, SecondHearing, repair_table, repair_words
from dictate.segment import segment_words
from dictate.segment.evidence import StageTable, stage_table
from dictate.settings import Settings
from dictate.values import Cue, Heard, ListedWine, Phrase, Reading, Word


@lru_cache(maxsize=1)
def _shipped_rules() -> Rules:
    return compile_rules(load_table)


@lru_cache(maxsize=2)
def _rules(levels: tuple[LevelUse, ...] = ()) -> Rules:
    return with_usage(_shipped_rules(), [(use.word, use.level, use.field) for use in levels])


@lru_cache(maxsize=1)
def _stages() -> StageTable:
    return stage_table(load_table("stages"))


@lru_cache(maxsize=1)
def _repairs() -> RepairTable:
    return repair_table(load_table("repair"))


@lru_cache(maxsize=1)
def _doubts() -> DoubtTable:
    return doubt_table(load_table("doubt"))


@lru_cache(maxsize=8)
def _cues(added: tuple[tuple[str, tuple[str, ...]], ...]) -> CueTable:
    return cue_table(load_table("cues"), added=dict(added))


@lru_cache(maxsize=2)
def _lexicon(words: tuple[PersonalWord, ...], wines: tuple[ListedWine, ...]) -> Lexicon:
    return load_lexicon().with_entries(personal_entries(words, wines))


def _known(settings: Settings) -> Lexicon:
    """The words that are listened for: tasted blind, no listed name may put itself in a taster's mouth."""
    return _lexicon(settings.words, () if settings.blind else settings.wines)


@lru_cache(maxsize=2)
def sounds_of(lexicon: Lexicon) -> TermSounds:
    """How the terms of a lexicon sound; takes about half a second, once a lexicon."""
    table = _repairs()
    return TermSounds(
        lexicon.entries,
        terms=table.terms,
        sounds=load_sounds(),
        letters=load_letters(),
        often=table.often,
    )


def second_hearing(settings: Settings) -> SecondHearing:
    """What a recogniser needs to hear the trade's words, the taster's own and those of the wine list."""
    lexicon = _known(settings)
    return SecondHearing(lexicon, sounds_of(lexicon), table=_repairs())


@dataclass(frozen=True, slots=True)
class Derived:
    """Notes, and what a listener who is still listening wants to know beside: the cues in order, the phrases
    with their stages, the spans that were off the record (seconds; the last may still be open), and of the
    last wine the cues between which its finish clock ran or runs."""

    notes: tuple[Note, ...] = ()
    cues: tuple[Cue, ...] = ()
    phrases: tuple[Phrase, ...] = ()
    private: tuple[tuple[float, float], ...] = ()
    away: Cue | None = None
    gone: Cue | None = None


def notes_from_words(
    heard: Heard, *, settings: Settings, recording: NoteRecording, samples: Samples | None = None
) -> tuple[Note, ...]:
    """Words (and, to time the cues, the samples they came from: mono float32, 16 kHz) to notes.

    No speech gives no notes. Private speech reaches nothing behind `find_cues`.
    """
    return derive(heard, settings=settings, recording=recording, samples=samples).notes


def derive(
    heard: Heard,
    *,
    settings: Settings,
    recording: NoteRecording,
    samples: Samples | None = None,
    gaps: Sequence[tuple[float, float]] = (),
) -> Derived:
    """As `notes_from_words`, with what the rooms found on the way. `gaps`: where sound was lost, seconds."""
    lexicon = _known(settings)
    _, found = _put_right(heard, lexicon, settings)
    cues = doubt_lost(time_cues(found.cues, samples), gaps)
    phrases = segment_words(found.kept, cues, lexicon=lexicon, table=_stages())
    readings = read_fields(phrases, lexicon, rules=_rules(settings.levels))
    made_with = MadeWith(program=__version__, model=heard.recogniser, lexicon=lexicon.version)
    notes = assemble_notes(readings, phrases, lexicon=lexicon, recording=recording, made_with=made_with)
    filled = fill_from_list(notes, settings.wines, lexicon=lexicon, before=settings.wines_before)
    last = [p for p in phrases if p.wine == phrases[-1].wine]
    clock = read_clock(last) if last else Clock()
    return Derived(filled, cues, tuple(phrases), found.private, clock.away, clock.gone)


def _put_right(heard: Heard, lexicon: Lexicon, settings: Settings) -> tuple[tuple[Word, ...], FoundCues]:
    """The words as repaired, and the cues in them."""
    cues = _cues(settings.cues)
    heard = settle_cues(heard, cues)
    repaired = repair_words(
        heard.words,
        lexicon,
        table=_repairs(),
        sounds=sounds_of(lexicon),
        again=heard.again,
        refused=heard.refused,
    )
    return repaired.words, find_cues(repaired.words, cues)


@dataclass(frozen=True, slots=True)
class Remark:
    """What was said of a note that is there already: its words, repaired, the phrases they are in and what is
    read from them; `is_private`: something in it was off the record, and nothing of it is told."""

    words: tuple[Word, ...] = ()
    phrases: tuple[Phrase, ...] = ()
    readings: tuple[Reading, ...] = ()
    is_private: bool = False


def remark_in(heard: HeardStretch, *, before: Sequence[Word] = (), settings: Settings) -> Remark:
    """A breath group read as it would be behind other words (`before`, all of them earlier): what it says
    itself, and nothing of these."""
    lexicon = _known(settings)
    both = joined([HeardStretch(tuple(before)), heard], 0.0, recogniser="")
    words, found = _put_right(both, lexicon, settings)
    if found.private:
        return Remark(is_private=True)
    phrases = segment_words(found.kept, found.cues, lexicon=lexicon, table=_stages())
    readings = read_fields(phrases, lexicon, rules=_rules(settings.levels))
    from_s = before[-1].end_s if before else -1.0
    return Remark(
        tuple(word for word in words if word.start_s >= from_s),
        tuple(phrases),
        tuple(r for r in readings if phrases[r.phrase].words[r.first].start_s >= from_s),
    )


def notes_from_source(
    path: Path,
    *,
    recogniser: Recogniser | None,
    settings: Settings,
    progress: Callable[[float], None] | None = None,
) -> tuple[Note, ...]:
    """Notes of one recording or timed transcript (`.vtt`, `.srt`); `recogniser` may be None for the
    latter. `progress` gets the share done, 0 to 1.

    Raises SourceError where the source cannot be used, ModelError where there is no recogniser for it.
    """
    if is_transcript(path):
        heard = read_transcript(path)
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
        place = NoteRecording(path=str(path), sha256=digest, start_s=0, end_s=heard.duration_s)
        return notes_from_words(heard, settings=settings, recording=place)
    from dictate.audio.recording import load_recording  # PyAV takes its time to import

    if recogniser is None:
        raise ModelError("no recogniser given for a recording")
    sound = load_recording(path, salvage=settings.salvage)
    heard = recogniser.recognise(sound, progress=progress)
    place = NoteRecording(path=str(path), sha256=sound.sha256, start_s=0, end_s=sound.duration_s)
    return notes_from_words(heard, settings=settings, recording=place, samples=sound.samples)


def listed_as_before(new: Note, old: Note, *, settings: Settings) -> Note:
    """A note made anew without a list, with what the list gave that stood beside the older one."""
    return keep_listed(old, new, lexicon=_known(settings))


def present_lexicon(settings: Settings) -> str:
    """The version of the lexicon that a note would be made with."""
    return _known(settings).version


def routine_chance() -> float:
    """The chance, 0 to 1, from which on a value is not doubtful."""
    return _doubts().routine


def doubts_in(note: Note, *, year: int | None = None) -> tuple[Doubt, ...]:
    """The values of a note with the chance that each is right, the likeliest wrong first: `doubts_of`."""
    return doubts_of(note, _doubts(), year=year)


def unread_in(note: Note) -> tuple[Unread, ...]:
    """What was said of the wine, fed no field and was probably meant to: `unread_of`."""
    return unread_of(note, _doubts())


@lru_cache(maxsize=1)
def _measured() -> frozenset[str]:
    """Words that name what has a level."""
    nouns = (noun for entry in load_table("levels")["attribute"].values() for noun in entry["nouns"])
    return frozenset(word.strip("?") for noun in nouns for part in noun.split() for word in part.split("|"))


def known_with(own: Own) -> Known:
    """What looking at corrections needs to know, for a taster with these words and habits."""
    sounds, letters = load_sounds(), load_letters()
    return Known(
        own,
        lexicon=_lexicon(own.words, ()),
        sounds_of=lambda entry: TermSounds([entry], terms=(), sounds=sounds, letters=letters),
        is_everyday=_repairs().ordinary,
        degree_of=lambda words: degree_of(_rules(own.habits.levels), words),
        nouns=_measured(),
    )
