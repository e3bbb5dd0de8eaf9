"""What a worker does with one recording: sound decoded, words heard, notes made. EDGE.

All that goes in and comes out is frozen and can be pickled. A recording that cannot be used is an answer too.
"""

from __future__ import annotations

import contextlib
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from dictate.audio import NoSoundError, Recording, SourceError, load_recording
from dictate.audio.dated import recorded_year
from dictate.batch.values import Answer, Failed, Job, Made
from dictate.note import Note
from dictate.note import Recording as NoteRecording
from dictate.pipeline import notes_from_source, notes_from_words, second_hearing
from dictate.recognise import ModelError, Recogniser, find_listeners
from dictate.settings import Settings


@dataclass(frozen=True, slots=True)
class Ready:
    """A recording that is decoded; none where the job is a transcript."""

    job: Job
    recording: Recording | None
    took_s: float


class Maker:
    """Makes notes; the weights are loaded once, at the first recording that can be decoded."""

    def __init__(self, settings: Settings, *, threads: int) -> None:
        """`threads`: of the recogniser."""
        self._settings, self._threads = settings, threads
        self._recogniser: Recogniser | None = None

    def ready(self, job: Job) -> Ready | Failed:
        """Decode the sound: what can be done while another recording is heard."""
        began = time.monotonic()
        try:
            recording = None
            if job.kind != "transcript":
                recording = load_recording(job.path, salvage=self._settings.salvage)
        except SourceError as error:
            none = job.kind == "guess" or (job.kind == "film" and isinstance(error, NoSoundError))
            return Failed(job.number, _without_path(error, job.path), none)
        except MemoryError:
            return Failed(job.number, "needs more memory than there is; give fewer --workers, or cut it")
        except Exception as error:  # one recording never stops the rest
            return Failed(job.number, _broken(error))
        return Ready(job, recording, time.monotonic() - began)

    def make(self, ready: Ready, progress: Callable[[float], None] | None = None) -> Answer:
        """The notes of a recording; `progress` gets the share done, 0 to 1."""
        began = time.monotonic()
        job = ready.job
        try:
            notes, sha256, sound_s = self._notes(ready, progress)
        except (SourceError, ModelError) as error:
            return Failed(job.number, _without_path(error, job.path))
        except MemoryError:
            return Failed(job.number, "needs more memory than there is; give fewer --workers, or cut it")
        except Exception as error:
            return Failed(job.number, _broken(error))
        took_s = ready.took_s + time.monotonic() - began
        return Made(job.number, sha256, notes, recorded_year(job.path), sound_s, took_s)

    def _notes(
        self, ready: Ready, progress: Callable[[float], None] | None
    ) -> tuple[tuple[Note, ...], str, float]:
        """Notes, SHA-256 of what was heard, seconds of it."""
        job, sound = ready.job, ready.recording
        if sound is None:
            notes = notes_from_source(job.path, recogniser=None, settings=self._settings)
            sha256 = next((n.recording.sha256 for n in notes if n.recording is not None), job.sha256)
            return notes, sha256, 0.0
        heard = self._loaded().recognise(sound, progress=progress)
        place = NoteRecording(path=str(job.path), sha256=sound.sha256, start_s=0, end_s=sound.duration_s)
        notes = notes_from_words(heard, settings=self._settings, recording=place, samples=sound.samples)
        return notes, sound.sha256, sound.duration_s

    def _loaded(self) -> Recogniser:
        if self._recogniser is None:
            from dictate.recognise.whisper import WhisperRecogniser  # takes a second to import

            weights = find_listeners(self._settings.model)
            again = second_hearing(self._settings)
            self._recogniser = WhisperRecogniser(weights, threads=self._threads, again=again)
        return self._recogniser


def _without_path(error: Exception, path: Path) -> str:
    return str(error).removeprefix(f"{path}: ").removeprefix(f"{path}:")


def _broken(error: Exception) -> str:
    """What broke and where, without its message: that may hold words said off the record."""
    place = ""
    with contextlib.suppress(IndexError):
        last = traceback.extract_tb(error.__traceback__)[-1]
        place = f" at {Path(last.filename).name}:{last.lineno}"
    return f"the program broke down on it ({type(error).__name__}{place}); please report that"
