"""What the program, and the plain recogniser, make of the sessions of clocks.py; kept as it comes.

`_whole` and `_plain` are the only places that say what the program and the plain recogniser are.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from functools import lru_cache
from hashlib import sha256
from pathlib import Path
from typing import Any, Literal
from unittest import mock

import numpy as np
from pydantic import TypeAdapter

from dictate import pipeline
from dictate.audio.recording import Recording
from dictate.note import Recording as NoteRecording
from dictate.recognise.weights import find_listeners, find_weights
from dictate.recognise.whisper import WhisperRecogniser
from dictate.settings import Settings
from dictate.values import Cue, Heard, Word
from tests.bench.clocks import Condition, Session, in_condition, speech_wanted, take
from tests.bench.crowd import work_through
from tests.bench.kept import kept_by_mode
from tests.speech.synth import RATE, made_speech, speech

Mode = Literal["heard", "plain"]
MODES: tuple[Mode, ...] = ("heard", "plain")
HOUSE = Path(__file__).parents[2] / "dictate"
HEARING = ("audio", "recognise", "repair", "phonetics", "lexicon")  # what recognition depends on
_HEARD, _WORDS = TypeAdapter(Heard), TypeAdapter(tuple[Word, ...])


@dataclass(frozen=True, slots=True)
class Job:
    """One recording: a session under a condition."""

    session: Session
    condition: Condition

    @property
    def key(self) -> str:
        """Names it among what is kept."""
        return f"{self.session.name}|{self.condition}"


@lru_cache(maxsize=2)
def code_of(folders: tuple[str, ...]) -> str:
    """Fingerprint of the code and words in folders of the house; of all of it for ("",)."""
    digest = sha256()
    for folder in folders:
        for path in sorted((HOUSE / folder).rglob("*")):
            if path.suffix in (".py", ".toml"):
                digest.update(path.read_bytes())
    return digest.hexdigest()[:8]


class Kept:
    """Results in FOLDER/heard.jsonl and FOLDER/plain.jsonl, one line a recording (the last holds); without
    a folder in memory. Lines are dicts: `key`, `code`, `spent_s` (of a core); of "heard" also `heard` (what
    the recogniser gave), `rooms` (fingerprint of the whole house), `cues`, `finishes`; of "plain" `words`.
    """

    def __init__(self, folder: Path | None, *, again: Iterable[str] = ()) -> None:
        """`again`: modes whose kept results are thrown away."""
        self._kept = kept_by_mode(folder, MODES, again=tuple(again))

    def get(self, mode: Mode, job: Job) -> dict[str, Any] | None:
        """What is kept of a recording."""
        return self._kept[mode].rows.get(job.key)

    def put(self, mode: Mode, row: dict[str, Any]) -> None:
        """Keep a result, at once."""
        self._kept[mode].put(row)

    def words(self, mode: Mode, job: Job) -> tuple[Word, ...] | None:
        """The words heard of a recording."""
        row = self.get(mode, job)
        if row is None:
            return None
        return _WORDS.validate_python(row["heard"]["words"] if mode == "heard" else row["words"])

    def wanted(self, mode: Mode, job: Job) -> bool:
        """Is there nothing kept, or only what other rooms made of it?"""
        row = self.get(mode, job)
        return row is None or (mode == "heard" and row["rooms"] != code_of(("",)))

    def of_other_code(self, jobs: Iterable[Job]) -> int:
        """How many recordings were heard by other code than there is now."""
        rows = (self.get("heard", job) for job in jobs)
        return sum(row is not None and row["code"] != code_of(HEARING) for row in rows)


_models: dict[str, Any] = {}
_threads = 1


def _recogniser() -> WhisperRecogniser:
    if "heard" not in _models:
        _models.clear()  # one model at a time in memory
        # no second hearing: it leaves cues alone, and takes half of the time
        _models["heard"] = WhisperRecogniser(find_listeners(), threads=_threads)
    found = _models["heard"]
    assert isinstance(found, WhisperRecogniser)
    return found


def _whole(samples: np.ndarray, job: Job, heard: dict[str, Any] | None) -> dict[str, Any]:
    """What the program makes of samples; `heard`: an earlier row, whose recognition is taken over."""
    began = time.process_time()
    recording = Recording(samples, RATE, "0" * 64, len(samples) / RATE, Path("made.wav"))
    words = _HEARD.validate_python(heard["heard"]) if heard else _recogniser().recognise(recording)
    spent_s = heard["spent_s"] if heard else time.process_time() - began
    place = NoteRecording(path="made.wav", sha256=recording.sha256, start_s=0, end_s=recording.duration_s)
    timed: list[Cue] = []
    real = vars(pipeline)["time_cues"]

    def watched(*args: Any, **more: Any) -> tuple[Cue, ...]:
        found: tuple[Cue, ...] = real(*args, **more)
        timed[:] = found
        return found

    # a note holds the onsets of a finish alone: the others are read where the pipeline times them
    with mock.patch.object(pipeline, "time_cues", watched):
        notes = pipeline.notes_from_words(words, settings=Settings(), recording=place, samples=samples)
    return {
        "key": job.key,
        "code": heard["code"] if heard else code_of(HEARING),
        "rooms": code_of(("",)),
        "spent_s": spent_s,
        "cues": [
            {
                "kind": c.kind,
                "text": " ".join(w.text for w in c.words),
                "onset_s": float(c.onset_s),
                "confidence": float(c.confidence),
            }
            for c in timed
        ],
        "finishes": [
            note.finish.model_dump(include={"seconds", "from_s", "to_s", "confidence"})
            for note in notes
            if note.finish.how == "timed"
        ],
        "heard": _HEARD.dump_python(words, mode="json"),
    }


def _plain(samples: np.ndarray, job: Job) -> dict[str, Any]:
    """What faster-whisper's own transcribe writes: its defaults (beam 5), its voice filter on."""
    if "plain" not in _models:
        from faster_whisper import WhisperModel

        _models.clear()
        _models["plain"] = WhisperModel(
            str(find_weights().folder), device="cpu", compute_type="int8", cpu_threads=_threads
        )
    began = time.process_time()
    segments, _ = _models["plain"].transcribe(samples, language="en", word_timestamps=True, vad_filter=True)
    words = [
        Word(w.word.strip(), float(w.start), float(w.end), min(1.0, float(w.probability)), utterance=n)
        for n, segment in enumerate(segments)
        for w in segment.words or ()
    ]
    spent_s = time.process_time() - began
    return {
        "key": job.key,
        "code": code_of(HEARING),
        "spent_s": spent_s,
        "words": [asdict(w) for w in words],
    }


def _hear(work: tuple[Mode, Job, dict[str, Any] | None]) -> tuple[Mode, dict[str, Any]]:
    mode, job, heard = work
    samples = in_condition(take(job.session), job.session, condition=job.condition)
    return mode, _plain(samples, job) if mode == "plain" else _whole(samples, job, heard)


def hear_all(jobs: Sequence[Job], kept: Kept, *, processes: int, modes: Sequence[Mode]) -> None:
    """Hear what is not yet kept, mode by mode; each result is kept at once, so Ctrl-C loses nothing."""
    todo = [(mode, job, kept.get(mode, job)) for mode in modes for job in jobs if kept.wanted(mode, job)]
    for mode, row in work_through(_hear, todo, processes=processes):
        kept.put(mode, row)


def make_speech(chosen: Sequence[Session], *, noisy: bool) -> None:
    """Have the voices say what they have not said yet, in a process of its own (its memory is freed)."""
    todo = [pair for pair in speech_wanted(chosen, noisy=noisy) if not made_speech(*pair).exists()]
    for _ in work_through(_say, todo, apart=True, done="lines spoken"):
        pass


def _say(pair: tuple[str, str]) -> None:
    speech(*pair)
