"""Makes the speech of the word benches beforehand, into the temp folder; can be stopped and resumed.

    nice -n 15 python tests/bench/make_speech.py

About 4 s of one core for a sentence of the Kokoro voices, less than 1 s for the others: 3 hours in all.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.bench.spoken import VOICES, Utterance, all_utterances  # noqa: E402
from tests.speech.synth import BABBLE, speech  # noqa: E402


def main() -> None:
    """Say all that has not been said."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.parse_args()
    todo = [u for v in VOICES for text in BABBLE if not (u := Utterance(text, v)).made]
    todo += [u for u in all_utterances() if not u.made]
    began = time.monotonic()
    for count, utterance in enumerate(todo, 1):
        speech(utterance.voice, utterance.spoken)
        if count % 20 == 0 or count == len(todo):
            rate = (time.monotonic() - began) / count
            left = (len(todo) - count) * rate / 60
            print(f"{count} of {len(todo)} sentences, {left:.0f} minutes left", flush=True)


if __name__ == "__main__":
    main()
