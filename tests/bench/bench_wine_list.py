"""How often a spoken producer is written as it should be: raw, with own words, and with a wine list.

    python tests/bench/bench_wine_list.py [--voice piper:joe --voice kokoro:jm_kumo]

Twenty invented producers, one wine each, spoken by machine voices ("next wine, number four, from ...");
the list holds position and producer. Also: the list without positions, in another order, and the list
of another flight, which must not change a producer that was heard right.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

import soundfile as sf

sys.path.insert(0, str(Path(__file__).parents[2]))

from dictate.audio import load_recording
from dictate.note import Note
from dictate.note import Recording as NoteRecording
from dictate.personal import make_word
from dictate.pipeline import notes_from_words
from dictate.recognise import find_listeners
from dictate.recognise.whisper import WhisperRecogniser
from dictate.settings import Settings
from dictate.values import ListedWine
from tests.speech.synth import RATE, timed_lines

PRODUCERS = (
    "Heron's Rake", "Tin Whistle", "Copper Ladle", "Possum Ladder", "Domaine Vesselhart",
    "Weingut Marchlehner", "Bodega Aranzil", "Cantina Fico Storto", "Quinta do Salgueirinho",
    "Château Hérisson", "Gannet and Daughters", "Fir Oak Estate", "Schloss Bruggenthal",
    "Casa Torvelina", "Thistledown Row", "Kestrel Barn", "Tenuta Moscardano", "Clos du Merlebois",
    "Winterbourne Loft", "Saltmarsh Brothers",
)  # fmt: skip
LISTED = tuple(ListedWine(n, producer=p) for n, p in enumerate(PRODUCERS, 1))
RUNS = {
    "nothing": Settings(),
    "own words": Settings(words=tuple(make_word(p, "producer") for p in PRODUCERS)),
    "list": Settings(wines=LISTED),
    "list without numbers, reversed": Settings(wines=tuple(ListedWine(producer=p) for p in PRODUCERS[::-1])),
    "list of another flight": Settings(
        wines=tuple(ListedWine(n, producer=p) for n, p in enumerate((*PRODUCERS[7:], *PRODUCERS[:7]), 1))
    ),
}


def _right(notes: Sequence[Note]) -> int:
    """How many of the producers stand, spelt right, in the note of their number."""
    found = {n.wine.position: n.wine.producer.text for n in notes if n.wine.producer is not None}
    return sum(found.get(number) == producer for number, producer in enumerate(PRODUCERS, 1))


def main() -> None:
    """Prints, for each voice, the producers right of twenty."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--voice", action="append", help="as in tests/speech/voices.txt")
    voices = parser.parse_args().voice or ["piper:joe", "kokoro:jm_kumo"]
    weights = find_listeners()
    recogniser = WhisperRecogniser(weights)
    lines = []
    for number, producer in enumerate(PRODUCERS, 1):
        lines.append(
            {"say": f"next wine, number {number}, from {producer}", "stage": "identity", "cue": "begin"}
        )
        lines.append({"say": "on the nose, lemon and lime", "stage": "nose"})
    place = NoteRecording(path="made.wav", sha256="00" * 32, start_s=0, end_s=0)
    for voice in voices:
        samples, _ = timed_lines(lines, voice)
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "flight.wav"
            sf.write(str(path), samples, RATE)
            recording = load_recording(path)
        heard = recogniser.recognise(recording)
        for name, settings in RUNS.items():
            notes = notes_from_words(heard, settings=settings, recording=place)
            print(f"{voice:<16} {name:<31} {_right(notes):>2} of {len(PRODUCERS)} right")


if __name__ == "__main__":
    main()
