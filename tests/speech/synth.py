"""Recordings from lines of text, with the true time of every line: what tests are measured against."""

from __future__ import annotations

import hashlib
import os
import random
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import soundfile as sf
import soxr

from tests.speech.voices import say

RATE = 16_000
LEVEL = 0.08  # RMS of speech; full scale is 1
BABBLE = (
    "I think the other table is ready for the next flight",
    "could you pass the water please",
    "that one was much better than last year",
    "where did you put the list",
    "we are running about ten minutes late",
    "have you been to the growers yet this spring",
)


@dataclass(frozen=True, slots=True)
class Line:
    """One spoken line and where it stands in the recording, seconds."""

    say: str
    stage: str
    cue: str | None
    start_s: float
    end_s: float


def made_speech(voice: str, text: str) -> Path:
    """Where a line of speech is kept once it has been made (in the temp folder)."""
    name = hashlib.sha256(f"{voice}|{text}".encode()).hexdigest()[:32]
    return Path(tempfile.gettempdir()) / "dictate-test-speech" / f"{name}.wav"


def speech(voice: str, text: str, *, rate: int = RATE) -> np.ndarray:
    """A line of speech at `rate`, float32 (n,), silence cut off, its RMS set to LEVEL."""
    file = made_speech(voice, text)
    file.parent.mkdir(exist_ok=True)
    if not file.exists():
        samples, own_rate = say(voice, text)
        aside = file.with_suffix(f".{os.getpid()}.wav")  # another process may be reading
        sf.write(str(aside), np.clip(samples, -1, 1), own_rate)
        aside.replace(file)
    samples, own_rate = sf.read(str(file), dtype="float32")
    if samples.ndim > 1:
        samples = samples.mean(1)
    if own_rate != rate:
        samples = soxr.resample(samples, own_rate, rate)
    frame = rate // 100
    count = len(samples) // frame
    energy = np.sqrt(np.mean(samples[: count * frame].reshape(count, frame) ** 2, axis=1) + 1e-12)
    loud = np.where(energy > energy.max() * 0.02)[0]
    samples = samples[max(0, loud[0] * frame - frame // 4) : (loud[-1] + 1) * frame]
    return (samples / (np.sqrt(np.mean(samples**2)) + 1e-9) * LEVEL).astype("float32")


def timed_lines(
    lines: Sequence[Mapping[str, Any]], voice: str | None, *, seed: str = "", rate: int = RATE
) -> tuple[np.ndarray, tuple[Line, ...]]:
    """Lines of FORMAT (`say`, `stage`, `cue`; or `wait`) spoken one after another.

    Between lines 0.5 to 1.6 s of silence by `seed`, or the `wait` given. Without a voice the samples are
    silence and a line lasts as long as at 2.6 words a second. Returns samples (n,) and the lines' times.
    """
    chance = random.Random(seed)
    parts = [np.zeros(int(0.8 * rate), "float32")]
    placed: list[Line] = []
    waited = True
    for line in lines:
        if "wait" in line:
            parts.append(np.zeros(round(line["wait"] * rate), "float32"))
            waited = True
            continue
        if not waited:
            parts.append(np.zeros(round(chance.uniform(0.5, 1.6) * rate), "float32"))
        waited = False
        silent = np.zeros(int(len(line["say"].split()) / 2.6 * rate), "float32")
        spoken = speech(voice, line["say"], rate=rate) if voice else silent
        start = sum(map(len, parts)) / rate
        placed.append(Line(line["say"], line["stage"], line.get("cue"), start, start + len(spoken) / rate))
        parts.append(spoken)
    parts.append(np.zeros(rate, "float32"))
    return np.concatenate(parts), tuple(placed)


def room_noise(count: int, *, seed: int, voices: Sequence[str], rate: int = RATE) -> np.ndarray:
    """Babble, low noise and the clink of glasses: float32 (count,), level not set."""
    chance = random.Random(seed)
    noise = np.zeros(count, "float32")
    for _ in range(max(6, count // rate // 2)):
        spoken = speech(chance.choice(list(voices)), chance.choice(BABBLE), rate=rate)
        place = chance.randrange(0, max(1, count - len(spoken)))
        noise[place : place + len(spoken)] += spoken[: count - place]
    low = np.cumsum(np.random.default_rng(seed).normal(size=count))
    low -= np.convolve(low, np.ones(4001) / 4001, "same")
    noise += (low / (low.std() + 1e-9) * noise.std() * 0.7).astype("float32")
    time = np.arange(int(0.25 * rate)) / rate
    for _ in range(count // rate // 8):
        clink = np.exp(-time * 18) * np.sin(2 * np.pi * chance.uniform(2200, 4800) * time) * 0.05
        place = chance.randrange(0, max(1, count - len(clink)))
        noise[place : place + len(clink)] += clink[: count - place].astype("float32")
    return noise


def with_noise(samples: np.ndarray, noise: np.ndarray, *, snr_db: float, lines: Sequence[Line]) -> np.ndarray:
    """Samples with noise `snr_db` below the power of their spoken lines."""
    spoken = np.concatenate([samples[int(n.start_s * RATE) : int(n.end_s * RATE)] for n in lines])
    wanted = np.sqrt(np.mean(spoken**2) / 10 ** (snr_db / 10))
    return (samples + noise / (np.sqrt(np.mean(noise**2)) + 1e-9) * wanted).astype("float32")


def as_vtt(lines: Sequence[Line]) -> str:
    """The lines as a WebVTT file, one cue a line."""

    def stamp(s: float) -> str:
        return f"{int(s // 3600):02d}:{int(s // 60) % 60:02d}:{s % 60:06.3f}"

    blocks = [f"{stamp(n.start_s)} --> {stamp(n.end_s)}\n{n.say}\n" for n in lines]
    return "WEBVTT\n\n" + "\n".join(blocks)
