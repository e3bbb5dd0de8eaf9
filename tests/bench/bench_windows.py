"""Wrong words where each breath group is heard by itself, and where it is heard among its neighbours.

    python tests/bench/bench_windows.py [FOLDER of texts, default tests/corpus/held] [--snr 15] [--per-note 1]

Each text is spoken (score_corpus.py) and heard twice by the program's recogniser, one thread, without its
second hearing for trade words: breath group by breath group, as a live session does, and in windows of 28 s.
Prints the share of wrong words (inserted, lost or replaced, for a word said, behind the Whisper paper's
normaliser) and the real-time factor of each.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.audio import load_recording  # noqa: E402
from dictate.recognise import Recogniser, find_listeners  # noqa: E402
from dictate.recognise.whisper import WhisperRecogniser  # noqa: E402
from tests.bench.bench_damage import plain  # noqa: E402
from tests.bench.fit_again import errors  # noqa: E402
from tests.bench.score_corpus import VOICES, make_sources  # noqa: E402
from tests.listen.apart import Apart  # noqa: E402


def main() -> None:
    """Speak, hear both ways, print."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folder", type=Path, nargs="?", default=ROOT / "tests/corpus/held")
    parser.add_argument("--snr", type=float)
    parser.add_argument("--voices", default=VOICES)
    parser.add_argument("--per-note", type=int, default=1)
    parser.add_argument("--only", default="")
    options = parser.parse_args()
    options.speech = True
    recogniser = WhisperRecogniser(find_listeners(), threads=1)
    ways: dict[str, Recogniser] = {"each by itself": Apart(recogniser), "among neighbours": recogniser}
    wrong, took = dict.fromkeys(ways, 0), dict.fromkeys(ways, 0.0)
    said, seconds = 0, 0.0
    with tempfile.TemporaryDirectory() as out:
        for spoken in make_sources(options.folder, Path(out), options=options):
            truth = " ".join(line.say for line in spoken.lines)
            recording = load_recording(spoken.source)
            said, seconds = said + len(plain(truth)), seconds + recording.duration_s
            for how, ear in ways.items():
                began = time.perf_counter()
                heard = ear.recognise(recording)
                took[how] += time.perf_counter() - began
                wrong[how] += errors(truth, " ".join(word.text for word in heard.words))
            print(f"\r{spoken.name}", end="", file=sys.stderr, flush=True)
    print(f"\n{said} words, {seconds:.0f} s")
    for how in ways:
        print(f"{how:18} {wrong[how] / said:6.1%} of words wrong, real-time factor {took[how] / seconds:.3f}")


if __name__ == "__main__":
    main()
