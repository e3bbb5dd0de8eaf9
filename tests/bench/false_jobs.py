"""What the bench of false cues listens to: sentences that hold cue words, real speech, sound without speech.

Each job builds its recording and knows the lines of it that it wrote; `key` names what is heard.
"""

from __future__ import annotations

import hashlib
import json
import random
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from importlib import metadata
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from dictate.audio import load_recording
from dictate.audio.recording import Recording
from tests.bench.spoken import MATERIAL
from tests.bench.unspoken import KINDS, LEVELS_DB, coloured, unspoken
from tests.speech.synth import LEVEL, RATE, Line, room_noise, speech, timed_lines, with_noise

VOICES = ("piper:joe", "kokoro:jf_tebukuro@en-us", "flite:slt", "flite:rms")
BABBLERS = ("piper:joe", "flite:slt", "flite:rms", "flite:awb")
FRESH = ("fresh", "fresh-two")  # halves by writers who had seen no rule
TOGETHER = 4  # sentences in one running clock
APART_S = 3.0
PIECE_S = 60.0  # of sound without speech
HOUR_S = 3600.0
Part = Literal["sentences", "real", "silent", "babble"]
Floats = NDArray[np.float32]
Built = tuple[Floats, tuple[Line, ...]]


def seed_of(text: str) -> int:
    """The same each time, another for each text."""
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:4], "big")


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence in which no cue is said. `tempts`: the cue it could be taken for; `clock`: whether that
    needs a running clock; `holds`: the cue's own words stand in it (else it only sounds like them)."""

    say: str
    tempts: str
    clock: bool
    holds: bool


def sentences(half: str | None = None) -> tuple[Sentence, ...]:
    """Those of cue_words.json; `half`: "choose" (the even places) or "report" (the odd ones). Or "fresh":
    those of cue_words_fresh.json, by a writer who had seen neither the rules nor the other sentences;
    "fresh-two": those of a second such writer, heard for the first time on 28 November 2026."""
    name = f"cue_words_{half.replace('-', '_')}" if half in FRESH else "cue_words"
    rows = json.loads((MATERIAL / f"{name}.json").read_text(encoding="utf-8"))
    chosen = {None: rows, "choose": rows[::2], "report": rows[1::2], **dict.fromkeys(FRESH, rows)}[half]
    return tuple(Sentence(**row) for row in chosen)


@dataclass(frozen=True, slots=True)
class Said:
    """Sentences by one voice: one alone, or some inside a running clock."""

    sentences: tuple[Sentence, ...]
    voice: str
    running: bool
    snr_db: float | None = None
    part: Part = "sentences"

    @property
    def condition(self) -> str:
        """Of the noise."""
        return "clean" if self.snr_db is None else f"{self.snr_db:g}"

    @property
    def setting(self) -> str:
        """Of the clock."""
        return "clock running" if self.running else "no clock"

    @property
    def key(self) -> str:
        """Names what is heard."""
        texts = " / ".join(s.say for s in self.sentences)
        return f"{self.voice}|{self.condition}|{self.setting}|{texts}"

    def build(self) -> Built:
        """Samples (n,) and all lines; `stage` of a sentence is "sentence", the others are cues."""
        lines: list[dict[str, Any]] = []
        for one in self.sentences:
            lines += [{"say": one.say, "stage": "sentence", "cue": None}, {"wait": APART_S}]
        if self.running:
            before = [_cue("Next wine, number two.", "begin"), {"wait": 1.0}, _cue("Spitting now.", "away")]
            lines = [*before, {"wait": APART_S}, *lines, _cue("All gone.", "gone")]
        else:
            lines.pop()
        samples, placed = timed_lines(lines, self.voice, seed=self.key)
        if self.snr_db is not None:
            others = [v for v in VOICES if v != self.voice]
            noise = room_noise(len(samples), seed=seed_of(self.key), voices=others)
            samples = with_noise(samples, noise, snr_db=self.snr_db, lines=placed)
        return samples, placed


def _cue(say: str, kind: str) -> dict[str, Any]:
    return {"say": say, "stage": "cue", "cue": kind}


def said_jobs(half: str | None, conditions: tuple[str, ...], *, limit: int | None = None) -> list[Said]:
    """Each sentence with each voice, alone and in a running clock (in an order of the voice's own, so
    that those which share a clock differ), in each condition. `limit`: recordings of each half, setting
    and condition."""
    if half is None:  # sentences of both halves never share a recording: what is kept of one serves for all
        both = [said_jobs(h, (c,), limit=limit) for c in conditions for h in ("choose", "report")]
        return [job for jobs in both for job in jobs]
    chosen = sentences(half)
    jobs: list[Said] = []
    for condition in conditions:
        snr_db = None if condition == "clean" else float(condition)
        for running in (False, True):
            count, own = TOGETHER if running else 1, []
            for voice in VOICES:
                order = list(chosen)
                random.Random(voice).shuffle(order)
                groups = (tuple(order[n : n + count]) for n in range(0, len(order), count))
                own.append([Said(group, voice, running, snr_db) for group in groups])
            jobs += [job for turn in zip(*own, strict=True) for job in turn][:limit]
    return jobs


@lru_cache(maxsize=1)
def real_recordings() -> tuple[Floats, ...]:
    """The recordings of real people (see bench_real_speech.py), 16 kHz, their speech brought to LEVEL: else
    the quieter talkers would count as a far table's beside the louder ones, and never be recognised."""
    files = metadata.distribution("moonshine-voice").files or []
    paths = sorted(Path(str(f.locate())) for f in files if f.name.endswith(".wav"))
    found = (load_recording(p).samples for p in paths)
    return tuple((s * (LEVEL / _speech_level(s))).astype(np.float32) for s in found)


def _speech_level(samples: Floats) -> float:
    """RMS of what is louder than a fiftieth of the peak: of speech, not of pauses."""
    loud = np.abs(samples) > 0.02 * np.abs(samples).max()
    return float(np.sqrt(np.mean(samples[loud] ** 2)))


@dataclass(frozen=True, slots=True)
class Real:
    """All real recordings in an order of the piece's own, at another gain, in noise; about 93 s."""

    number: int
    part: Part = "real"

    @property
    def noise(self) -> str:
        """Under it: none, pink at 20 dB, a room at 15 dB."""
        return ("no noise", "pink 20 dB", "room 15 dB")[self.number % 3]

    @property
    def setting(self) -> str:
        """Of the clock: half of the pieces of each noise begin with a spoken cue."""
        return "clock running" if self.number // 3 % 2 else "no clock"

    @property
    def gain_db(self) -> float:
        """-18 to +6."""
        return random.Random(f"gain {self.number}").uniform(-18, 6)

    @property
    def key(self) -> str:
        """Names what is heard."""
        return f"real at one level {self.number}|{self.noise}|{self.setting}|{self.gain_db:+.1f} dB"

    def build(self) -> Built:
        """Samples (n,), the cue line if any and one line, "real speech", of all the rest."""
        order = list(real_recordings())
        random.Random(self.number).shuffle(order)
        pause = np.zeros(RATE, np.float32)
        samples = np.concatenate([part for one in order for part in (pause, one)] + [pause])
        lines: list[Line] = []
        if self.setting == "clock running":
            cue = speech(VOICES[self.number % len(VOICES)], "Spitting now.")
            cue *= LEVEL / _speech_level(cue)
            lines.append(Line("Spitting now.", "cue", "away", 1.0, 1.0 + len(cue) / RATE))
            # the pause in front of the first recording makes it two seconds
            samples = np.concatenate([pause, cue, pause, samples]).astype(np.float32)
        start_s = lines[0].end_s + 2 if lines else 1.0
        lines.append(Line("real speech", "sentence", None, start_s, len(samples) / RATE - 1))
        samples = samples * np.float32(10 ** (self.gain_db / 20))
        if self.noise != "no noise":
            room = self.noise.startswith("room")
            noise = (
                room_noise(len(samples), seed=self.number, voices=BABBLERS)
                if room
                else coloured(len(samples), np.random.default_rng(self.number), slope=1)
            )
            samples = with_noise(samples, np.asarray(noise), snr_db=15 if room else 20, lines=lines)
        return np.clip(samples, -1, 1).astype(np.float32), tuple(lines)


def real_jobs() -> list[Real]:
    """Pieces with at least an hour of recordings in them, as many of each noise and setting."""
    spoken_s = sum(map(len, real_recordings())) / RATE
    return [Real(n) for n in range(int(-(-HOUR_S // (spoken_s * 6))) * 6)]


@dataclass(frozen=True, slots=True)
class Unspoken:
    """A minute without speech, or (kind "babble") of a far table's talk alone."""

    kind: str
    level_db: float
    part: Part = "silent"
    setting: str = "no clock"

    @property
    def key(self) -> str:
        """Names what is heard."""
        return f"{self.kind}|{self.level_db:g} dB"

    def build(self) -> Built:
        """Samples (n,) and one line of all of it."""
        line = Line(self.kind, "sentence", None, 0.0, PIECE_S)
        seed = seed_of(self.key)
        if self.part == "babble":
            noise = room_noise(round(PIECE_S * RATE), seed=seed, voices=BABBLERS)
            noise *= 10 ** (self.level_db / 20) / np.sqrt(np.mean(noise**2))
            return np.clip(noise, -1, 1).astype(np.float32), (line,)
        return unspoken(self.kind, level_db=self.level_db, seed=seed, seconds=PIECE_S), (line,)


def silent_jobs() -> list[Unspoken]:
    """An hour: every kind at every level; and babble alone, counted apart, behind it."""
    hour = [Unspoken(kind, level) for kind in KINDS for level in LEVELS_DB]
    return hour + [Unspoken("babble alone", level, "babble") for level in LEVELS_DB]


Job = Said | Real | Unspoken


def recording_of(job: Job) -> tuple[Recording, tuple[Line, ...]]:
    """The job's recording as the program gets it, and its lines."""
    samples, lines = job.build()
    name = Path(f"{hashlib.sha256(job.key.encode()).hexdigest()[:8]}.wav")
    return Recording(samples, RATE, "0" * 64, len(samples) / RATE, name), lines


def all_jobs(
    parts: tuple[str, ...], *, half: str | None, conditions: tuple[str, ...], limit: int | None
) -> Iterator[Job]:
    """The jobs of these parts ("silent" brings "babble"); `limit` of each part (and setting)."""
    if "sentences" in parts:
        yield from said_jobs(half, conditions, limit=limit)
    if "real" in parts:
        yield from real_jobs()[:limit]
    if "silent" in parts:
        yield from silent_jobs()[:limit]
