"""A note with everything on it that the page shows, and the recording that it was made from."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

import numpy as np
import soundfile

from dictate import note as n
from dictate.values import Stage

RATE = 16000
LONG_S = 30.0
START_S, END_S = 2.0, 28.0
FROM_S, TO_S = 14.0, 22.5


def recording(folder: Path, *, seconds: float = LONG_S, name: str = "bench.wav") -> Path:
    """A tone under quiet noise wherever something is said, and where the cues of the clock are."""
    rng = np.random.default_rng(1)
    samples = rng.normal(0, 0.001, int(seconds * RATE))
    for start_s in (2.5, 5.0, 7.5, 10.0, FROM_S, TO_S, 24.0):
        first, last = int(start_s * RATE), int((start_s + 0.8) * RATE)
        if last <= len(samples):
            samples[first:last] += 0.3 * np.sin(np.arange(last - first) * 2 * np.pi * 440 / RATE)
    path = folder / name
    soundfile.write(path, samples, RATE, subtype="PCM_16")
    return path


def phrase(text: str, stage: Stage, *, at: float, confidence: float = 0.99) -> n.TranscriptPhrase:
    """A phrase, a word each 0.3 s."""
    words = [
        n.TranscriptWord(text=word, at=(at + i * 0.3, at + i * 0.3 + 0.28), confidence=confidence)
        for i, word in enumerate(text.split())
    ]
    return n.TranscriptPhrase(text=text, at=(at, at + len(words) * 0.3), stage=stage, words=words)


def made(path: Path | None = None, *, number: int = 1, **more: Any) -> n.Note:
    """The note; `more`: fields that are other."""
    sha256 = hashlib.sha256(path.read_bytes()).hexdigest() if path else ""
    place = n.Recording(path=str(path), sha256=sha256, start_s=START_S, end_s=END_S) if path else None
    fields: dict[str, Any] = {
        "id": f"note-{number}",
        "wine": n.Wine(
            position=number,
            producer=n.Text(text="Tin Wistle", said="Tin Wistle", at=(2.8, 3.4), confidence=0.31),
            colour=n.Term(term="red", said="red", at=(3.4, 3.7)),
        ),
        "nose": n.Nose(
            aromas=[
                n.Descriptor(term="cedar", family="woods and resins", said="cedar", at=(5.0, 5.3)),
                n.Descriptor(term="sailing", said="sailing", at=(5.3, 5.6), confidence=0.2, known=False),
            ],
        ),
        "palate": n.Palate(acidity=n.Level(level=5, said="acidity is medium", at=(7.5, 8.4))),
        "finish": n.Finish(seconds=8.5, how="timed", from_s=FROM_S, to_s=TO_S, confidence=0.9),
        "transcript": [
            phrase("number one Tin Wistle red", "identity", at=2.5, confidence=0.4),
            phrase("cedar sailing", "nose", at=5.0, confidence=0.3),
            phrase("acidity is medium", "palate", at=7.5),
            phrase("spitting now", "cue", at=FROM_S),
            phrase("all gone", "cue", at=TO_S),
        ],
        "recording": place,
    }
    return n.Note(**{**fields, **more})
