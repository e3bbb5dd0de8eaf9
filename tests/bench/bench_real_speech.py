"""Real people's recordings: word error rate of a reading, and false cues in all of them.

usage: python tests/bench/bench_real_speech.py

Source: the WAV files inside the package moonshine-voice 0.1.5. `two_cities.wav` is read from a novel of
1859 whose text is in the public domain; of the others no words are used, only whether a spoken cue was
imagined in them. Word errors are counted by jiwer on text through the Whisper paper's normaliser.
"""

from __future__ import annotations

import sys
import time
from importlib import metadata
from pathlib import Path

import jiwer
from whisper_normalizer.english import EnglishTextNormalizer

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.audio import load_recording  # noqa: E402
from dictate.cues import cue_table, find_cues  # noqa: E402
from dictate.lexicon import load_lexicon, load_table  # noqa: E402
from dictate.pipeline import second_hearing, sounds_of  # noqa: E402
from dictate.recognise import find_listeners  # noqa: E402
from dictate.recognise.whisper import WhisperRecogniser  # noqa: E402
from dictate.repair import repair_table, repair_words  # noqa: E402
from dictate.settings import Settings  # noqa: E402

# The novel's first sentence, as printed in 1859; in the public domain.
OPENING = """
It was the best of times, it was the worst of times, it was the age of wisdom, it was the age of
foolishness, it was the epoch of belief, it was the epoch of incredulity, it was the season of
Light, it was the season of Darkness, it was the spring of hope, it was the winter of despair, we
had everything before us, we had nothing before us, we were all going direct to Heaven, we were all
going direct the other way – in short, the period was so far like the present period, that some of
its noisiest authorities insisted on its being received, for good or for evil, in the superlative
degree of comparison only.
"""


def main() -> None:
    """One line a recording."""
    weights = find_listeners()
    recogniser = WhisperRecogniser(weights, again=second_hearing(Settings()))
    plain = EnglishTextNormalizer()
    sounds = sounds_of(load_lexicon())
    lexicon, repairs, cues = load_lexicon(), repair_table(load_table("repair")), cue_table(load_table("cues"))
    files = metadata.distribution("moonshine-voice").files or []
    for path in sorted(Path(str(f.locate())) for f in files if f.name.endswith(".wav")):
        recording = load_recording(path)
        began = time.perf_counter()
        heard = recogniser.recognise(recording)
        took = time.perf_counter() - began
        mended = repair_words(
            heard.words, lexicon, table=repairs, sounds=sounds, again=heard.again, refused=heard.refused
        )
        found = find_cues(mended.words, cues).cues
        line = f"{path.name}: {recording.duration_s:.1f} s, {len(heard.words)} words, false cues {len(found)}"
        line += f", words repaired {len(mended.steps)}, real-time factor {took / recording.duration_s:.2f}"
        if path.name == "two_cities.wav":
            text = " ".join(w.text for w in heard.words)
            line += f", word error rate {jiwer.wer(plain(OPENING), plain(text)):.3f}"
        print(line, flush=True)


if __name__ == "__main__":
    main()
