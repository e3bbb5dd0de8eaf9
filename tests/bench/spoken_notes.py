"""Spoken notes with their gold answers, as the program hears them, and which of a note's values are right."""

from __future__ import annotations

import argparse
import hashlib
import sys
import tempfile
from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from dictate.doubt import Held
from dictate.note import Note
from dictate.pipeline import notes_from_source
from dictate.settings import Settings
from tests.bench.score_corpus import VOICES, KeptRecogniser, Spoken, make_sources, true_finishes
from tests.scoring import IDENTITY, LEVELS, LISTS, TERMS, at, same, words_of

SPARE = 0.25  # of a level, as the scorer has it
FINISH_S = 0.3  # a timed finish further off than that wants its onsets put right


@dataclass(frozen=True, slots=True)
class Case:
    """One text, as one voice said it in one room: the note that came of it, and what it should be."""

    name: str  # of the text, whoever said it
    room: str  # "quiet", or the decibels above the babble
    spoken: Spoken
    note: Note
    path: Path  # of the recording, only while cases are being made

    @property
    def gold(self) -> Mapping[str, Any]:
        """The gold answers."""
        return self.spoken.gold[0]


def add_options(parser: argparse.ArgumentParser) -> None:
    """Which notes are spoken, by whom, in which room."""
    parser.add_argument("folders", type=Path, nargs="+", metavar="FOLDER")
    parser.add_argument("--keep", type=Path, required=True, metavar="DIR", help="as in score_corpus.py")
    parser.add_argument("--per-note", type=int, default=3, metavar="N", help="voices that speak each text")
    parser.add_argument("--voices", default=VOICES)
    parser.add_argument(
        "--rooms", nargs="+", default=["quiet", "15"], help="quiet, or decibels above the babble"
    )
    parser.add_argument("--only-kept", action="store_true", help="leave out what was not yet heard")


class Heard:
    """The recogniser of kept hearings; it tells what was not yet heard."""

    def __init__(self, keep: Path, settings: Settings | None = None) -> None:
        """`settings`: with words of the taster's own, to be listened for."""
        self.recogniser = KeptRecogniser(keep, settings)

    def knows(self, source: Path) -> bool:
        """Was this recording heard before?"""
        return self.recogniser.knows(hashlib.sha256(source.read_bytes()).hexdigest())

    def note(self, source: Path, settings: Settings) -> Note | None:
        """The recording's note (the longest, where a cue was heard that was none)."""
        notes = notes_from_source(source, recogniser=self.recogniser, settings=settings)
        return max(notes, key=lambda n: len(n.transcript), default=None)


def cases(
    options: argparse.Namespace,
    heard: Heard,
    *,
    folders: Sequence[Path],
    settings: Settings | None = None,
    only: Container[tuple[str, str]] | None = None,
) -> Iterator[Case]:
    """The notes of all texts of some folders, in each room, by each voice; those of one wine alone. `only`:
    names of what is spoken and rooms."""
    for folder in folders:
        for room in options.rooms:
            told = argparse.Namespace(
                speech=True, snr=None if room == "quiet" else float(room), voices=options.voices,
                per_note=options.per_note, only="", only_made=options.only_kept,
            )  # fmt: skip
            with tempfile.TemporaryDirectory() as out:
                for spoken in make_sources(folder, Path(out), options=told):
                    if len(spoken.gold) != 1 or (only is not None and (spoken.name, room) not in only):
                        continue
                    if options.only_kept and not heard.knows(spoken.source):
                        continue
                    note = heard.note(spoken.source, settings or Settings())
                    if note is not None:
                        print(f"\r{spoken.name} {room}      ", end="", file=sys.stderr, flush=True)
                        yield Case(text_of(spoken), room, spoken, note, spoken.source)
                    spoken.source.unlink()
    print(file=sys.stderr)


def text_of(spoken: Spoken) -> str:
    """The name of a text, whichever of its voices."""
    return spoken.name.rpartition("-")[0] if spoken.name.rpartition("-")[2].isdigit() else spoken.name


def is_right(held: Held, case: Case) -> bool | None:
    """Does a value need no correction? By the scorer's rules (`tests/scoring.py`); None where the gold does
    not tell. A thing said to be absent is right where the gold says so, or where it was said at all."""
    gold, field = case.gold, held.field
    if field == "finish.seconds":
        return _finish_right(case)
    if field.endswith(".absent"):
        told = [*(at(gold, field) or []), *(gold.get("never") or [])]
        script = words_of(" ".join(line.say for line in case.spoken.lines))
        said = any(bool(words) and words <= script for words in map(words_of, (held.text, held.value.said)))
        return said or any(same(held.text, one) for one in told)
    if field in LISTS or field == "faults":
        return any(same(held.text, one) for one in at(gold, field) or [])
    wanted = at(gold, field)
    if field in TERMS:
        if wanted is None and field in ("wine.colour", "wine.style"):
            return None
        return wanted is not None and same(held.text, wanted)
    if field in LEVELS:
        return wanted is not None and wanted[0] - SPARE <= float(held.text) <= wanted[1] + SPARE
    if field in IDENTITY:
        bare = ["".join(c for c in str(x).lower() if c.isalnum()) for x in (wanted, held.text)]
        return wanted is not None and (bare[0] == bare[1] or same(held.text, wanted))
    if field == "verdict.score":
        score = at(gold, field)
        return score is not None and float(held.text) == score[0]
    if field in ("verdict.drink_from", "verdict.drink_to"):
        window = at(gold, "verdict.drink") or [None, None]
        return bool(held.value == window[field == "verdict.drink_to"])
    return None


def _finish_right(case: Case) -> bool | None:
    seconds, truth = case.note.finish.seconds, true_finishes(case.spoken.lines)
    if case.note.finish.how == "timed":
        return bool(truth) and seconds is not None and abs(seconds - truth[-1]) <= FINISH_S
    stated = at(case.gold, "finish.seconds")
    if stated is None or seconds is None:
        return False
    low, high = stated if isinstance(stated, list) else (stated, stated)
    return bool(low - 0.5 <= seconds <= high + 0.5)
