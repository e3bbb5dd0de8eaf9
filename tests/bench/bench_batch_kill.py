"""Kill -9 at random moments of `dictate batch`, then the same command: are the notes those of one unharmed?

    python tests/bench/bench_batch_kill.py --kills 20 [--folder audio_demo] [--workers 2] [--seed 8]

One folder is done whole, another is killed again and again at moments drawn from the time that the first
took (each kill begins where the last left off; what is done is taken away when nothing is left to kill).
Prints for each kill how many recordings the manifest told, and whether a process outlived its parent; at
the end whether all notes and the library are equal. On two cores with audio_demo about 1.5 minutes a kill
at most.
"""

from __future__ import annotations

import argparse
import random
import shutil
import signal
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.batch import kills  # noqa: E402
from tests.batch.runs import library_of, notes_below  # noqa: E402

_GONE_S = 10.0  # workers end by themselves within


def main() -> None:
    """Kill, go on, compare, print."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--kills", type=int, default=20)
    parser.add_argument("--seed", type=int, default=8)
    parser.add_argument("--workers", default="2")
    parser.add_argument("--folder", type=Path, default=ROOT / "audio_demo")
    options = parser.parse_args()
    chance = random.Random(options.seed)
    with tempfile.TemporaryDirectory() as made:
        whole, out = Path(made) / "whole", Path(made) / "out"
        began = time.monotonic()
        ended = kills.finished(options.folder, whole, "--workers", options.workers)
        took_s = time.monotonic() - began
        print(f"whole: exit code {ended.returncode}, {took_s:.0f} s", flush=True)
        faults = 0
        for number in range(options.kills):
            at_s = chance.uniform(0.5, took_s)
            faults += _kill(options, out, at_s=at_s, number=number)
            if _is_done(out, whole):
                faults += _differs(out, whole)
                shutil.rmtree(out)
                out.with_suffix(".sqlite").unlink()
        kills.finished(options.folder, out, "--workers", options.workers)
        faults += _differs(out, whole)
    print(f"{options.kills} kills; with faults: {faults}")


def _kill(options: argparse.Namespace, out: Path, *, at_s: float, number: int) -> int:
    """One kill; 1 where a process outlived it."""
    running = kills.started(options.folder, out, "--workers", options.workers)
    try:
        running.wait(at_s)
    except kills.subprocess.TimeoutExpired:
        running.send_signal(signal.SIGKILL)
    until = time.monotonic() + _GONE_S
    while (left := kills.left_alive(running.pid)) and time.monotonic() < until:
        time.sleep(0.05)
    running.communicate()
    manifest = out / "batch.jsonl"
    lines = max(0, manifest.read_bytes().count(b"\n") - 1) if manifest.exists() else 0
    print(f"{number:3} {at_s:6.1f} s: {lines} told{f', still there: {left}' if left else ''}", flush=True)
    return bool(left)


def _is_done(out: Path, whole: Path) -> bool:
    return (out / "batch.html").exists() and len(notes_below(out)) == len(notes_below(whole))


def _differs(out: Path, whole: Path) -> int:
    """1 where notes or library are not those of the batch that was not killed."""
    same = notes_below(out) == notes_below(whole)
    kept = library_of(out.with_suffix(".sqlite")) == library_of(whole.with_suffix(".sqlite"))
    print(f"    notes {'equal' if same else 'DIFFER'}, library {'equal' if kept else 'DIFFERS'}", flush=True)
    return not (same and kept)


if __name__ == "__main__":
    main()
