"""How long the lexicon takes to load, in fresh processes: wall and processor time, and as multiples.

    python tests/bench/bench_load.py [--runs 9]

Each run is a process of its own, so nothing is warm but the disk's cache. The fixed work, done in the same
process, is tomllib (Python's own reader) parsing the same word files: machines and their load differ, the
multiple hardly does. Goals of issue 3: the lexicon under 150 ms; ours for the sounds: under 60 ms. "Every
spelling" is what the index puts off until words are asked for; a tasting needs part of it.
"""

from __future__ import annotations

import argparse
import json
import statistics
import subprocess
import sys
import time
import tomllib
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).parents[2]
STEPS = {
    "import": "imports that loading needs",
    "lexicon": "load_lexicon (goal: 150 ms)",
    "spellings": "every spelling asked for",
    "sounds": "load_sounds (goal: 60 ms)",
    "rules": "load_table, all tables",
    "numpy": "import numpy, to compare",
    "reference": "tomllib, the same word files",
}


def one_run() -> dict[str, tuple[float, float]]:
    """Step -> wall and processor seconds, in this process."""
    took: dict[str, tuple[float, float]] = {}

    def timed(step: str, work: Callable[[], object]) -> None:
        wall, cpu = time.perf_counter(), time.process_time()
        work()
        took[step] = time.perf_counter() - wall, time.process_time() - cpu

    sys.path.insert(0, str(ROOT))
    timed("import", lambda: __import__("dictate.lexicon"))
    from dictate.lexicon import load_lexicon, load_sounds, load_table
    from dictate.lexicon.load import HERE, WORDS

    timed("lexicon", load_lexicon)
    lexicon = load_lexicon()
    timed("spellings", lambda: [lexicon.lookup(text) for e in lexicon.entries for text in e.said])
    timed("sounds", load_sounds)
    names = [path.stem for path in sorted((HERE / "rules").glob("*.toml"))]
    timed("rules", lambda: [load_table(name) for name in names])
    texts = [path.read_text(encoding="utf-8") for path in sorted(WORDS.glob("*.toml"))]
    timed("reference", lambda: [tomllib.loads(text) for text in texts])
    timed("numpy", lambda: __import__("numpy"))
    return took


def main() -> None:
    """Prints the medians over fresh processes."""
    parser = argparse.ArgumentParser(description="how long the lexicon takes to load")
    parser.add_argument("--runs", type=int, default=9)
    parser.add_argument("--child", action="store_true", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.child:
        print(json.dumps(one_run()))
        return
    command = [sys.executable, __file__, "--child"]
    runs = [
        json.loads(subprocess.run(command, stdout=subprocess.PIPE, text=True, check=True).stdout)
        for _ in range(options.runs)
    ]
    print(f"medians of {options.runs} processes      wall ms   CPU ms   CPU as multiple of tomllib")
    for step, told in STEPS.items():
        wall, cpu = (statistics.median(run[step][i] for run in runs) * 1000 for i in (0, 1))
        ratio = statistics.median(run[step][1] / run["reference"][1] for run in runs)
        print(f"{told:31} {wall:7.0f}  {cpu:7.0f}   {ratio:6.2f}")


if __name__ == "__main__":
    main()
