"""The spoken sentences of the word benches: which voice says what, and their samples, clean or in babble."""

from __future__ import annotations

import hashlib
import json
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np

from dictate.audio.recording import Recording
from tests.speech.synth import RATE, Line, made_speech, room_noise, speech, with_noise

MATERIAL = Path(__file__).parent / "material"
VOICES = ("piper:joe", "kokoro:jf_alpha@en-gb-x-rp", "kokoro:jm_kumo@en-us", "flite:rms")
Part = Literal["quarter", "half", "all"]
PARTS: tuple[Part, ...] = ("quarter", "half", "all")
AROUND = round(0.4 * RATE)  # samples before and behind the sentence: silence, or noise alone


@dataclass(frozen=True, slots=True)
class Utterance:
    """One sentence said by one voice; `term` and `kind` are empty for an ordinary sentence."""

    text: str
    voice: str
    term: str = ""
    kind: str = ""
    snr_db: float | None = None

    @property
    def key(self) -> str:
        """Names what is heard: sentence, voice and noise."""
        noise = "clean" if self.snr_db is None else f"{self.snr_db:g} dB"
        return f"{self.voice}|{noise}|{self.text}"

    @property
    def seed(self) -> int:
        """Of the noise: the same each time, another for each utterance."""
        return int.from_bytes(hashlib.sha256(self.key.encode()).digest()[:4], "big")

    @property
    def spoken(self) -> str:
        """The text that the voice is given: flite cannot read an accent, and would drop the letter."""
        if not self.voice.startswith("flite:"):
            return self.text
        apart = unicodedata.normalize(
            "NFKD", self.text.replace("ß", "ss").replace("ı", "i").replace("ø", "o")
        )
        return "".join(c for c in apart if not unicodedata.combining(c))

    @property
    def made(self) -> bool:
        """Has the voice said it already?"""
        return made_speech(self.voice, self.spoken).exists()


def term_utterances(
    name: str, voices: Sequence[str], *, snr_db: float | None = None, part: Part = "all"
) -> list[Utterance]:
    """The utterances of terms-NAME.json. "half": each sentence is said by every second voice (with two
    sentences a term all voices say it once); "quarter": by one voice, in turn. Each part comes first in the
    greater."""
    rows = json.loads((MATERIAL / f"terms-{name}.json").read_text(encoding="utf-8"))
    parts: tuple[list[Utterance], ...] = ([], [], [])
    for place, row in enumerate(rows):
        for carrier, text in enumerate(row["say"]):
            for number, voice in enumerate(voices):
                one = Utterance(text, voice, row["term"], row["kind"], snr_db)
                turn = (place + carrier + number) % 2, (place // 2 + carrier + number // 2) % 2
                parts[2 if turn[0] else turn[1]].append(one)
    return [one for these in parts[: PARTS.index(part) + 1] for one in these]


def ordinary_utterances(name: str, voices: Sequence[str], *, snr_db: float | None = None) -> list[Utterance]:
    """The sentences of ordinary[-tune].json, one voice each, in turn."""
    file = "ordinary.json" if name == "measure" else f"ordinary-{name}.json"
    texts = json.loads((MATERIAL / file).read_text(encoding="utf-8"))
    return [Utterance(text, voices[n % len(voices)], snr_db=snr_db) for n, text in enumerate(texts)]


def recording_of(utterance: Utterance) -> Recording:
    """The utterance as a recording at 16 kHz: 0.4 s, the sentence, 0.4 s; with `snr_db` babble of the other
    voices lies under all of it, that much below the power of the sentence."""
    said = speech(utterance.voice, utterance.spoken)
    silence = np.zeros(AROUND, "float32")
    samples = np.concatenate([silence, said, silence])
    if utterance.snr_db is not None:
        others = [v for v in VOICES if v != utterance.voice]
        noise = room_noise(len(samples), seed=utterance.seed, voices=others)
        line = Line(utterance.text, "", None, AROUND / RATE, (AROUND + len(said)) / RATE)
        samples = with_noise(samples, noise, snr_db=utterance.snr_db, lines=[line])
    return Recording(samples, RATE, "0" * 64, len(samples) / RATE, Path("made.wav"))


def all_utterances() -> Iterator[Utterance]:
    """All that the benches say, in the order in which it is wanted."""
    yield from term_utterances("tune", VOICES)
    for name in ("tune", "measure"):
        if (MATERIAL / ("ordinary.json" if name == "measure" else f"ordinary-{name}.json")).exists():
            yield from ordinary_utterances(name, VOICES)
    yield from term_utterances("measure", VOICES)
