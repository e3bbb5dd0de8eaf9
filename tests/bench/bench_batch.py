"""A batch of 1 to 64 recordings by processes and by Dask, beside the plain recogniser's batched pipeline.

    python tests/bench/bench_batch.py [--counts 1 4 16 64] [--seconds 90] [--workers 1 2] [--cluster 1 2]
        [--model base] [--plain-threads 2] [--long MINUTES] [--keep DIR]

Recordings are pieces of the demo's, `--seconds` long, each begun elsewhere so that no two are alike. What
is timed is the whole: weights loaded, sound in, notes and library on the disk. Prints a table: real-time
factor (seconds by the clock a second of sound), memory of the largest worker (MB, its own pages), whether
all ways gave the same notes, and at the end the ratio to faster-whisper's own BatchedInferencePipeline
(base, int8, word times, its batch of 8, weights loaded too) on the same sound in the same run. `--long 180`
adds one recording of three hours, which one process hears whole and several in spans. 64 recordings of 90 s
on two cores: about half an hour for each way.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import threading
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402
import soundfile  # noqa: E402

from dictate.audio import load_recording  # noqa: E402
from tests.batch import kills  # noqa: E402
from tests.batch.runs import notes_below  # noqa: E402

DEMO = sorted((ROOT / "audio_demo").glob("*.flac"))
_RATE = 16000
_BATCH = 8
_LOOK_S = 0.5


@dataclass(frozen=True, slots=True)
class Row:
    """One run. `wall_s` of the whole, `most_mb`: of the worker that had most."""

    how: str
    count: int
    sound_s: float
    wall_s: float
    most_mb: float
    notes: int


def main() -> None:
    """Measure and print."""
    options = _options()
    with tempfile.TemporaryDirectory(dir=options.keep) as made:
        folder = Path(made)
        rows = []
        print(
            f"{'how':22} {'recordings':>10} {'sound, s':>9} {'took, s':>9} {'factor':>7} {'worker, MB':>10}"
        )
        for count in options.counts:
            source = folder / f"in {count}"
            sound_s = _make(source, count, seconds=options.seconds)
            rows += _all_ways(options, source, sound_s=sound_s)
        _beside(rows, source, threads=options.plain_threads, sound_s=sound_s)
        if options.long:
            source = folder / "in long"
            _all_ways(options, source, sound_s=_make_long(source, seconds=options.long * 60))


def _all_ways(options: argparse.Namespace, source: Path, *, sound_s: float) -> list[Row]:
    """A folder by processes and by Dask, and whether the notes are equal."""
    ways = [(f"{n} processes", ("--workers", str(n))) for n in options.workers]
    ways += [(f"{n} Dask workers", ("--workers", str(n), "--cluster", "local")) for n in options.cluster]
    rows, same = [], set()
    named = ("--model", options.model) if options.model else ()
    for how, more in ways:
        out = source.with_name(f"out of {source.name} by {how}")
        rows.append(_run(source, out, how=how, more=(*more, *named), sound_s=sound_s))
        same.add(str(_documents(out)))
    print(f"{'':22} notes of all ways are {'equal' if len(same) == 1 else 'NOT equal'}", flush=True)
    return rows


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--counts", type=int, nargs="+", default=[1, 4, 16, 64])
    parser.add_argument("--seconds", type=float, default=90.0)
    parser.add_argument("--workers", type=int, nargs="*", default=[1, 2])
    parser.add_argument("--cluster", type=int, nargs="*", default=[1, 2])
    parser.add_argument("--model", help="the batch's, instead of the program's own choice of two")
    parser.add_argument("--plain-threads", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--long", type=float, default=0.0, metavar="MINUTES")
    parser.add_argument("--keep", type=Path, default=None, help="where the recordings lie meanwhile")
    return parser.parse_args()


def _make(folder: Path, count: int, *, seconds: float) -> float:
    """Write so many recordings; their seconds together."""
    folder.mkdir(parents=True)
    sounds = [load_recording(path).samples for path in DEMO]
    total = 0
    for number in range(count):
        samples = sounds[number % len(sounds)]
        first = (number // len(sounds) * 7 * _RATE) % max(1, len(samples) - 20 * _RATE)
        piece = samples[first : first + round(seconds * _RATE)]
        soundfile.write(folder / f"{number:03}.flac", piece, _RATE)
        total += len(piece)
    return total / _RATE


def _make_long(folder: Path, *, seconds: float) -> float:
    """Write one recording of the demo's in a row, again and again; its seconds."""
    folder.mkdir(parents=True)
    whole = np.concatenate([load_recording(path).samples for path in DEMO])
    samples = np.resize(whole, round(seconds * _RATE))
    soundfile.write(folder / "long.flac", samples, _RATE)
    return len(samples) / _RATE


def _run(source: Path, out: Path, *, how: str, more: tuple[str, ...], sound_s: float) -> Row:
    """One batch, as a program of its own."""
    began = time.monotonic()
    running = kills.started(source, out, *more)
    most = _Most(running.pid)
    _, error = running.communicate()
    wall_s = time.monotonic() - began
    if running.returncode:
        print(f"{how}: exit code {running.returncode}: {error[-300:]}")
    row = Row(how, len(list(source.iterdir())), sound_s, wall_s, most.stop(), len(_documents(out)))
    factor = row.wall_s / row.sound_s
    print(
        f"{how:22} {row.count:10} {sound_s:9.0f} {wall_s:9.1f} {factor:7.3f} {row.most_mb:10.0f}", flush=True
    )
    return row


class _Most:
    """The most memory that one process of a session had beside its leader (Linux: private pages and shared
    ones in proportion)."""

    def __init__(self, leader: int) -> None:
        self._leader, self._most, self._stopped = leader, 0.0, threading.Event()
        self._thread = threading.Thread(target=self._look, daemon=True)
        self._thread.start()

    def stop(self) -> float:
        """MB."""
        self._stopped.set()
        self._thread.join()
        return self._most

    def _look(self) -> None:
        while not self._stopped.wait(_LOOK_S):
            for process in kills.left_alive(self._leader):
                if process != self._leader:
                    self._most = max(self._most, _mb(process))


def _mb(process: int) -> float:
    """Anonymous memory of a process: what the system cannot read from a file again."""
    try:
        lines = Path(f"/proc/{process}/status").read_text().splitlines()
    except OSError:
        return 0.0
    return sum(int(line.split()[1]) for line in lines if line.startswith("RssAnon")) / 1024


def _documents(out: Path) -> dict[str, object]:
    return {name: document for name, document in notes_below(out).items() if name.endswith(".json")}


_PLAIN = """
import sys, time
from pathlib import Path
from faster_whisper import BatchedInferencePipeline, WhisperModel
from dictate.recognise import find_weights
began = time.monotonic()
folder, threads, batch = sys.argv[1], *map(int, sys.argv[2:])
weights = str(find_weights("base").folder)
pipeline = BatchedInferencePipeline(
    WhisperModel(weights, device="cpu", compute_type="int8", cpu_threads=threads)
)
for path in sorted(Path(folder).iterdir()):
    segments, _ = pipeline.transcribe(
        str(path), language="en", beam_size=5, word_timestamps=True, batch_size=batch
    )
    list(segments)
print(time.monotonic() - began)
"""


def _beside(rows: list[Row], source: Path, *, threads: int, sound_s: float) -> None:
    """The plain recogniser on the recordings of the last rows, weights loaded too."""
    done = subprocess.run(
        [sys.executable, "-c", _PLAIN, str(source), str(threads), str(_BATCH)],
        capture_output=True, text=True, check=True, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    plain_s = float(done.stdout.split()[-1])
    print(f"{f'plain, {threads} threads':22} {'':10} {sound_s:9.0f} {plain_s:9.1f} {plain_s / sound_s:7.3f}")
    for row in rows:
        if row.sound_s == sound_s:
            print(f"{row.how}: {row.wall_s / plain_s:.2f} times the plain recogniser")


if __name__ == "__main__":
    main()
