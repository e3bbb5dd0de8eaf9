"""Notes of a batch on the disk and in the library: files first, the library, then what is out of date. EDGE.

Killed anywhere between, the same recording done again ends in the same files and the same library.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from dictate.batch.manifest import Doubtful, Line, Making, NoteMade
from dictate.batch.repaired import repaired_in
from dictate.batch.values import Made
from dictate.export import wine_title
from dictate.files import take_away, write_note
from dictate.library import keep_notes
from dictate.note import Note, read_note
from dictate.pipeline import doubts_in, routine_chance


class Keeper:
    """Writes notes below a folder and into a library. `problem`: why the library has not got all of them,
    one line, "" where it has."""

    def __init__(self, to: Path, library: Path | None) -> None:
        self._to = to
        self._library = library
        self.problem = ""

    @property
    def library(self) -> str:
        """The library's file, as a manifest has it; "" for none."""
        return str(self._library.resolve()) if self._library is not None else ""

    def keep(self, made: Made, *, place: Path, source: Path, making: Making) -> Line:
        """Write notes into the folder `place` below --to, and what came of it as a line. Raises OSError."""
        folder = self._to / place
        files = [write_note(note, folder, year=made.year)[0] for note in made.notes]
        kept, library = self._into_library(made.notes)
        for index, (note, before) in enumerate(zip(kept, made.notes, strict=True)):
            if note != before:  # a hand had put it right: under the id of its file
                own = note.model_copy(update={"id": before.id})
                files[index] = write_note(own, folder, year=made.year)[0]
        take_away(folder, lambda known: known.rpartition("-")[0] == made.sha256[:16], but=files)
        notes = tuple(
            NoteMade(note.id, wine_title(note), str(file.relative_to(self._to)), _doubtful(note, made.year))
            for note, file in zip(kept, files, strict=True)
        )
        return Line(
            sha256=made.sha256, source=str(source), making=making, notes=notes, sound_s=made.sound_s,
            took_s=made.took_s, repaired=repaired_in(kept), library=library,
        )  # fmt: skip

    def has_files(self, line: Line) -> bool:
        """Whether the notes that a line tells of are where they were."""
        return all((self._to / note.file).is_file() for note in line.notes)

    def bring(self, line: Line) -> str:
        """Put the notes of a line, whose files are there, into the library; returns its file, "" where it
        cannot take them."""
        notes = []
        for note in line.notes:
            try:
                notes.append(read_note(json.loads((self._to / note.file).read_text(encoding="utf-8"))))
            except (OSError, ValueError):
                return ""
        return self._into_library(notes)[1]

    def _into_library(self, notes: Sequence[Note]) -> tuple[tuple[Note, ...], str]:
        """The notes as the library has them, and its file, "" where it cannot take them."""
        if self._library is None:
            return tuple(notes), ""
        kept, why = keep_notes(notes, self._library)
        self.problem = self.problem or why
        return kept, "" if why else self.library


def _doubtful(note: Note, year: int | None) -> tuple[Doubtful, ...]:
    routine = routine_chance()
    return tuple(
        Doubtful(doubt.field, round(doubt.right, 3), doubt.reason)
        for doubt in doubts_in(note, year=year)
        if doubt.right < routine
    )
