"""What it costs to cut sound while it comes, beside the cut of the whole recording at once, in one run.

    python tests/bench/bench_cutter.py [--repeat 3]

CPU time (`process_time`) of a second of sound, as a ratio to `find_speech` on the same sound, median of the
runs: over a recording, by how long the session has gone on, and by how long the breath group is that is being
said (one without a pause, 18 s). It must not grow from left to right. Most of it is the voice detector, which
gets 50 ms at a time here and all at once there. A minute. Measures only, asserts nothing.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.audio import find_speech, load_recording  # noqa: E402
from dictate.audio.cutter import LiveCutter  # noqa: E402

RATE = 16000
BLOCK = 800


def costs(cutter: LiveCutter, samples: np.ndarray, *, edges_s: list[float]) -> list[float]:
    """CPU seconds a second of sound, in each span between two edges."""
    found = []
    for first, last in zip(edges_s, edges_s[1:], strict=False):
        began = time.process_time()
        for at in range(round(first * RATE), round(last * RATE), BLOCK):
            cutter.feed(samples[at : at + BLOCK])
        found.append((time.process_time() - began) / (last - first))
    return found


def whole_cost(samples: np.ndarray) -> float:
    began = time.process_time()
    find_speech(samples)
    return (time.process_time() - began) / (len(samples) / RATE)


def table(title: str, samples: np.ndarray, *, edges_s: list[float], begin_s: float, repeat: int) -> None:
    """A line of ratios; the cutter hears the sound before `begin_s` first."""
    runs = []
    for _ in range(repeat):
        cutter = LiveCutter()
        for at in range(0, round(begin_s * RATE), BLOCK):
            cutter.feed(samples[at : at + BLOCK])
        whole = whole_cost(samples)
        runs.append([cost / whole for cost in costs(cutter, samples, edges_s=edges_s)])
    ratios = [statistics.median(column) for column in zip(*runs, strict=True)]
    names = [f"{a - begin_s:g}-{b - begin_s:g} s" for a, b in zip(edges_s, edges_s[1:], strict=False)]
    print(title)
    print("   ".join(f"{name}: x{ratio:.1f}" for name, ratio in zip(names, ratios, strict=True)))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--repeat", type=int, default=3)
    args = parser.parse_args()
    samples = load_recording(ROOT / "audio_demo" / "tank-room.flac").samples
    runs = [
        costs(LiveCutter(), samples, edges_s=[0, 90])[0] / whole_cost(samples) for _ in range(args.repeat)
    ]
    print(f"a recording of {len(samples) / RATE:.0f} s: x{statistics.median(runs):.1f} of find_speech")
    session = np.tile(samples, 9)
    table("by the length of the session", session, edges_s=[0, 60, 240, 420, 600, 780], begin_s=0, repeat=1)
    first = find_speech(samples)[0]
    said = samples[round(first.start_s * RATE) : round((first.end_s - 0.2) * RATE)]
    without_pause = np.concatenate([samples, np.tile(said, 4)])
    begin_s = len(samples) / RATE
    table(
        "by the length of the breath group",
        without_pause,
        edges_s=[begin_s, *(begin_s + s for s in (3, 6, 12, 18))],
        begin_s=begin_s,
        repeat=args.repeat,
    )


if __name__ == "__main__":
    main()
