"""What a worker does with one recording: sound decoded, words heard, notes made. EDGE.

A recording that cannot be used is an answer too.
"""

from __future__ import annotations

import contextlib
import pickle
import time
import traceback
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from dictate.audio import NoSoundError, Recording, SourceError, Stretch, find_speech, load_recording
from dictate.audio.dated import recorded_year
from dictate.batch.values import Close, Failed, Hear, Job, Made, Open, Part, Reply, Shared, Task
from dictate.note import Note
from dictate.note import Recording as NoteRecording
from dictate.pipeline import notes_from_source, notes_from_words, second_hearing
from dictate.recognise import ModelError, find_listeners
from dictate.recognise.judging import Judge, Weighed
from dictate.recognise.recogniser import joined
from dictate.settings import Settings

LONG_S: Final = 900.0  # of sound: from there on a recording is shared
SPAN_S: Final = 240.0  # of speech in a span, about: a minute's work
_HELD = 2  # recordings that are kept decoded: the one at hand and the one ahead
Progress = Callable[[float], None]


class Hears(Protocol):
    """A recogniser whose breath groups can be heard apart."""

    @property
    def name(self) -> str:
        """See `Recogniser`."""
        ...

    def weigh(self, samples: NDArray[np.float32], stretches: Sequence[Stretch]) -> Iterator[Weighed]:
        """See `WhisperRecogniser`."""
        ...

    def judge(self) -> Judge:
        """See `WhisperRecogniser`."""
        ...


@dataclass(frozen=True, slots=True)
class Ready:
    """A task whose recording is decoded; none where the job is a transcript. `took_s`: seconds of work."""

    task: Task
    recording: Recording | None
    took_s: float


class Maker:
    """Does tasks; the weights are loaded once, at the first recording that can be decoded."""

    def __init__(self, settings: Settings, *, threads: int) -> None:
        """`threads`: of the recogniser."""
        self._settings, self._threads = settings, threads
        self._recogniser: Hears | None = None
        self._held: dict[str, Recording] = {}  # by SHA-256
        self._lent: dict[str, Path] = {}

    def lend(self, sha256: str, path: Path | None) -> None:
        """Where the bytes of a recording lie that is not to be found under its own name; None: no longer."""
        if path is None:
            self._lent.pop(sha256, None)
        else:
            self._lent[sha256] = path

    def holds(self, sha256: str) -> bool:
        """Whether a recording is decoded already."""
        return sha256 in self._held

    def ready(self, task: Task) -> Ready | Failed:
        """Decode the sound, unless it is held: what can be done while another recording is heard."""
        began = time.monotonic()
        try:
            recording = None if task.job.kind == "transcript" else self._decoded(task.job)
            if recording and not isinstance(task, Open) and recording.sha256 != task.sha256:
                raise SourceError("changed while it was heard; start the same command again")
        except Exception as error:  # one recording never stops the rest
            return self._failed(task, error)
        return Ready(task, recording, time.monotonic() - began)

    def make(self, ready: Ready, progress: Progress | None = None) -> Reply:
        """Do what was asked; `progress` gets the share done, 0 to 1."""
        began = time.monotonic() - ready.took_s
        task, sound = ready.task, ready.recording
        try:
            if sound is None:
                return self._typed(task, began)
            if isinstance(task, Hear):
                stretches = [Stretch(*each) for each in task.stretches]
                heard = pickle.dumps(self._heard(sound, stretches, progress))
                return Part(task.job.number, task.span, heard, time.monotonic() - began)
            if isinstance(task, Close):
                parts = [pickle.loads(part) for part in task.parts]
                return self._made(task, sound, list(chain.from_iterable(parts)), began - task.took_s)
            found = find_speech(sound.samples)
            if task.may_share and sound.duration_s >= LONG_S and len(spans := in_spans(found)) > 1:
                return Shared(task.job.number, sound.sha256, spans, time.monotonic() - began)
            return self._made(task, sound, self._heard(sound, found, progress), began)
        except Exception as error:
            return self._failed(task, error)

    def _decoded(self, job: Job) -> Recording:
        """The sound of a job; that of others is given up. Raises SourceError."""
        recording = self._held.pop(job.sha256, None)
        if recording is None:
            path = self._lent.get(job.sha256, job.path)
            recording = load_recording(path, salvage=self._settings.salvage)
        self._held[job.sha256] = recording  # the newest is last
        for old in list(self._held)[:-_HELD]:
            del self._held[old]
        return recording

    def _heard(
        self, sound: Recording, stretches: Sequence[Stretch], progress: Progress | None
    ) -> list[Weighed]:
        heard: list[Weighed] = []
        for weighed in self._loaded().weigh(sound.samples, stretches):
            heard.append(weighed)
            if progress:
                progress(len(heard) / len(stretches))
        return heard

    def _made(self, task: Task, sound: Recording, heard: Sequence[Weighed], began: float) -> Made:
        """Notes of all breath groups of a recording."""
        recogniser, job = self._loaded(), task.job
        judge = recogniser.judge()
        words = joined([judge.judge(each) for each in heard], sound.duration_s, recogniser=recogniser.name)
        place = NoteRecording(path=str(job.path), sha256=sound.sha256, start_s=0, end_s=sound.duration_s)
        notes = notes_from_words(words, settings=self._settings, recording=place, samples=sound.samples)
        self._held.pop(job.sha256, None)
        year = recorded_year(self._lent.get(job.sha256, job.path))
        return Made(job.number, sound.sha256, notes, year, sound.duration_s, time.monotonic() - began)

    def _typed(self, task: Task, began: float) -> Made:
        """Notes of a transcript."""
        job = task.job
        notes: tuple[Note, ...] = notes_from_source(job.path, recogniser=None, settings=self._settings)
        sha256 = next((n.recording.sha256 for n in notes if n.recording is not None), job.sha256)
        return Made(job.number, sha256, notes, recorded_year(job.path), 0.0, time.monotonic() - began)

    def _loaded(self) -> Hears:
        if self._recogniser is None:
            from dictate.recognise.whisper import WhisperRecogniser  # takes a second to import

            weights = find_listeners(self._settings.model)
            again = second_hearing(self._settings)
            self._recogniser = WhisperRecogniser(weights, threads=self._threads, again=again)
        return self._recogniser

    def _failed(self, task: Task, error: Exception) -> Failed:
        job = task.job
        if isinstance(error, SourceError):
            none = job.kind == "guess" or (job.kind == "film" and isinstance(error, NoSoundError))
            return Failed(job.number, _without_path(error, self._lent.get(job.sha256, job.path)), none)
        if isinstance(error, ModelError):
            return Failed(job.number, str(error))
        if isinstance(error, MemoryError):
            return Failed(job.number, "needs more memory than there is; give fewer --workers, or cut it")
        return Failed(job.number, broken(error))


def in_spans(stretches: Sequence[Stretch]) -> tuple[tuple[tuple[float, float], ...], ...]:
    """Breath groups in runs of about SPAN_S seconds of speech, none of which parts what is heard together."""
    from dictate.recognise.windows import in_windows  # takes a second to import

    spans: list[list[tuple[float, float]]] = [[]]
    speech_s = 0.0
    for run in in_windows(stretches):
        if speech_s >= SPAN_S:
            spans.append([])
            speech_s = 0.0
        spans[-1] += [(stretch.start_s, stretch.end_s) for stretch in run]
        speech_s += sum(stretch.end_s - stretch.start_s for stretch in run)
    return tuple(tuple(span) for span in spans if span)


def _without_path(error: Exception, path: Path) -> str:
    return str(error).removeprefix(f"{path}: ").removeprefix(f"{path}:")


def broken(error: Exception) -> str:
    """What broke and where, without its message: that may hold words said off the record."""
    place = ""
    with contextlib.suppress(IndexError):
        last = traceback.extract_tb(error.__traceback__)[-1]
        place = f" at {Path(last.filename).name}:{last.lineno}"
    return f"the program broke down on it ({type(error).__name__}{place}); please report that"
