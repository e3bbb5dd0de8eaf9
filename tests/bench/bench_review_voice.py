"""The review by voice: lines said by machine voices, to what the page would do; talk that must do nothing.

    python tests/bench/bench_review_voice.py [--parts talk speech] [--voices piper:joe flite:slt ...]

talk: sentences of the corpus that were said to somebody else, and those of material/cue_words.json, which
were made to sound like cues and speak of wine: how many would change a note (text alone; seconds).
speech: each line below by each voice in a quiet room, by the quick ear and by the careful one: how many are
understood as meant, and CPU seconds of one core a line. A minute a voice on an idle machine.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import yaml

from dictate.audio.speech import Stretch
from dictate.pipeline import second_hearing
from dictate.recognise import find_listeners
from dictate.recognise.recogniser import HeardStretch
from dictate.recognise.whisper import Hearing, WhisperRecogniser
from dictate.review.corrected import Correction
from dictate.review.spoken import Command, Understood
from dictate.settings import Settings
from tests.conftest import VOICES
from tests.review.test_spoken import NOTE, heard, understood_of
from tests.speech.synth import RATE, speech

HERE = Path(__file__).parent
LOOKED = "palate.acidity"
LINES = (
    "accept", "accept that", "accept all", "next", "back", "play that", "undo", "undo that", "take that back",
    "scrap that", "higher", "a bit lower", "stop listening", "next note", "go to the acidity",
    "acidity is high", "no, make the acidity high", "that's high", "set the acidity to seven",
    "scrap the violets", "add tobacco to the nose", "it's a Syrah", "change the violets to roses",
)  # fmt: skip
EDGE_S = 0.5


def talk() -> Iterator[str]:
    """What was said to somebody else."""
    for file in sorted((HERE.parent / "corpus" / "dev").glob("*.yaml")):
        for line in yaml.safe_load(file.read_text("utf-8")).get("lines", []):
            if line.get("stage") == "aside" and "say" in line:
                yield line["say"]
    for case in json.loads((HERE / "material" / "cue_words.json").read_text("utf-8")):
        yield case["say"]


def show_talk() -> None:
    """How much talk would change a note."""
    texts = [*dict.fromkeys(talk())]
    changed = 0
    for text in texts:
        found = understood_of(heard(text), key=LOOKED)
        if isinstance(found, Correction | Command):
            changed += 1
            print(f"  {text}: {found}")
    print(f"talk: {changed} of {len(texts)} would do something")


def spoken(voice: str, line: str) -> tuple[np.ndarray, Stretch]:
    """A line in a quiet room, and where it stands in it."""
    edge = np.zeros(round(EDGE_S * RATE), np.float32)
    said = speech(voice, line)
    samples = np.concatenate([edge, said, edge])
    noise = np.random.default_rng(1).normal(0, 0.001, len(samples)).astype(np.float32)
    return samples + noise, Stretch(EDGE_S, EDGE_S + len(said) / RATE)


def is_meant(found: Understood, line: str) -> bool:
    """Whether it asks for what the line asks for where every word is heard."""
    return found == understood_of(heard(line), key=LOOKED)


def show_speech(voices: list[str]) -> None:
    """How much is understood as meant, by either ear."""
    weights = find_listeners(None)
    ears = {
        "quick": WhisperRecogniser(weights[:1], threads=1, prompt="", beams=1, window=1000, cue_phrases=()),
        "careful": WhisperRecogniser(weights, threads=1, again=second_hearing(Settings()), cue_phrases=()),
    }
    for name, ear in ears.items():
        hearing, right, spent_s = Hearing(ear), 0, 0.0
        for voice in voices:
            for line in LINES:
                samples, stretch = spoken(voice, line)
                began_s = time.process_time()
                words: HeardStretch = hearing.hear(samples, stretch, running=False)
                spent_s += time.process_time() - began_s
                found = understood_of(words, key=LOOKED)
                right += is_meant(found, line)
                if not is_meant(found, line):
                    print(f"  {name} {voice}: {line} -> {' '.join(w.text for w in words.words)}: {found}")
        count = len(voices) * len(LINES)
        print(f"speech, {name} ear: {right} of {count} as meant, {spent_s / count:.2f} CPU s each")


def main() -> None:
    """Prints, asserts nothing."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--parts", nargs="+", default=["talk", "speech"], choices=["talk", "speech"])
    parser.add_argument("--voices", nargs="+", default=[*VOICES])
    options = parser.parse_args()
    assert NOTE.palate.acidity is not None
    if "talk" in options.parts:
        show_talk()
    if "speech" in options.parts:
        show_speech(options.voices)


if __name__ == "__main__":
    main()
