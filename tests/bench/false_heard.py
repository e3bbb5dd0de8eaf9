"""What the program hears of the jobs of the bench of false cues, kept as it comes, and the cues it finds.

Words are kept, not cues: a change of the grammar needs no new hearing, one of the recogniser does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

from pydantic import TypeAdapter

from dictate import pipeline
from dictate.cues import time_cues
from dictate.note import Note
from dictate.note import Recording as NoteRecording
from dictate.recognise.whisper import WhisperRecogniser
from dictate.settings import Settings
from dictate.values import Cue, Heard
from tests.bench.crowd import work_through
from tests.bench.false_jobs import Job, recording_of
from tests.bench.heard import code_of, recogniser
from tests.bench.kept import KeptRows
from tests.speech.synth import Line


@dataclass(frozen=True, slots=True)
class Result:
    """What was heard of a job, its lines, and which code heard it (fingerprint)."""

    heard: Heard
    lines: tuple[Line, ...]
    code: str


_RESULT = TypeAdapter(Result)


class Results:
    """Results in FOLDER/false-cues.jsonl, or in memory alone."""

    def __init__(self, folder: Path | None, *, again: bool = False) -> None:
        """`again`: what was kept is thrown away."""
        self._kept = KeptRows(folder / "false-cues.jsonl" if folder else None, again=again)

    def get(self, key: str) -> Result | None:
        """What was heard of a job, if it was."""
        row = self._kept.rows.get(key)
        return _RESULT.validate_python({k: v for k, v in row.items() if k != "key"}) if row else None

    def put(self, key: str, result: Result) -> None:
        """Keep a result, at once."""
        self._kept.put({"key": key, **asdict(result)})

    def of_other_code(self, keys: Sequence[str]) -> int:
        """How many of them were heard by other code than there is now."""
        found = (self._kept.rows.get(key) for key in keys)
        return sum(r is not None and r["code"] != code_of() for r in found)


_models: list[WhisperRecogniser] = []


def hear(job: Job) -> tuple[str, Result]:
    """The job's key and what the program hears of it, on one thread."""
    recording, lines = recording_of(job)
    if not _models:
        _models.append(recogniser("on", threads=1))
    return job.key, Result(_models[0].recognise(recording), lines, code_of())


def hear_all(jobs: Sequence[Job], results: Results, *, processes: int) -> None:
    """Hear what is not yet kept; each result is kept at once, so Ctrl-C loses nothing."""
    todo = [job for job in jobs if results.get(job.key) is None]
    for key, result in work_through(hear, todo, processes=processes):
        results.put(key, result)


def notes_and_cues(heard: Heard) -> tuple[tuple[Note, ...], tuple[Cue, ...]]:
    """What the pipeline itself makes of words: the notes, and the cues on the way to them.

    Without the samples: the cues' onsets are the recogniser's word times, at most half a second off.
    """
    seen: list[tuple[Cue, ...]] = []

    def spy(*args: Any, **named: Any) -> tuple[Cue, ...]:
        seen.append(time_cues(*args, **named))
        return seen[-1]

    place = NoteRecording(path="made.wav", sha256="0" * 64, start_s=0, end_s=heard.duration_s)
    with patch.object(pipeline, "time_cues", spy):
        notes = pipeline.notes_from_words(heard, settings=Settings(), recording=place)
    return notes, tuple(cue for cues in seen for cue in cues)
