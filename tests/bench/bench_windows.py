"""Wrong words where each breath group is heard by itself, and where it is heard among its neighbours.

    python tests/bench/bench_windows.py [FOLDER of texts, default tests/corpus/held] [--snr 15] [--per-note 1]

Each text is spoken (score_corpus.py) and heard twice by the program's recogniser, one thread, without its
second hearing for trade words: breath group by breath group, as a live session does, and in windows of 28 s.
Prints the share of wrong words (inserted, lost or replaced, for a word said; capitals and marks left out) and
the real-time factor of each.
"""

from __future__ import annotations

import argparse
import re
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from rapidfuzz.distance import Levenshtein  # noqa: E402

from dictate.audio import Recording, find_speech, load_recording  # noqa: E402
from dictate.recognise import find_listeners  # noqa: E402
from dictate.recognise.whisper import Hearing, WhisperRecogniser  # noqa: E402
from tests.bench.score_corpus import VOICES, make_sources  # noqa: E402


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
    ways: dict[str, Callable[[Recording], list[str]]] = {
        "each by itself": lambda recording: _apart(recogniser, recording),
        "among neighbours": lambda recording: [w.text for w in recogniser.recognise(recording).words],
    }
    wrong, took = dict.fromkeys(ways, 0), dict.fromkeys(ways, 0.0)
    said, seconds = 0, 0.0
    with tempfile.TemporaryDirectory() as out:
        for spoken in make_sources(options.folder, Path(out), options=options):
            truth = _words(line.say for line in spoken.lines)
            recording = load_recording(spoken.source)
            said, seconds = said + len(truth), seconds + recording.duration_s
            for how, hear in ways.items():
                began = time.perf_counter()
                heard = hear(recording)
                took[how] += time.perf_counter() - began
                wrong[how] += Levenshtein.distance(truth, _words(heard))
            print(f"\r{spoken.name}", end="", file=sys.stderr, flush=True)
    print(f"\n{said} words, {seconds:.0f} s")
    for how in ways:
        print(f"{how:18} {wrong[how] / said:6.1%} of words wrong, real-time factor {took[how] / seconds:.3f}")


def _apart(recogniser: WhisperRecogniser, recording: Recording) -> list[str]:
    hearing = Hearing(recogniser)
    heard = [hearing.hear(recording.samples, stretch) for stretch in find_speech(recording.samples)]
    return [word.text for stretch in heard for word in stretch.words]


def _words(texts: Iterable[str]) -> list[str]:
    return re.findall(r"[a-z0-9']+", " ".join(texts).lower())


if __name__ == "__main__":
    main()
