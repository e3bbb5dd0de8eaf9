"""A library as it grows: time to load, to find, to add one more, and its size.

    python tests/bench/bench_library.py              # 1,000, 10,000 and 100,000 notes; about ten minutes
    python tests/bench/bench_library.py --counts 1000

Synthetic notes (tests/library/made.py), in a folder that goes afterwards. Each query is asked anew
`--times` times with 50 hits shown (the default of `dictate find`); the median and the slowest are printed in
milliseconds, opening the library not counted; and the median of the processor's own time, which is longer by
less where other programs run.
"""

from __future__ import annotations

import argparse
import itertools
import statistics
import tempfile
import time
from pathlib import Path

from dictate.find import parse_query
from dictate.library import Library
from tests.library.made import made_notes

QUERIES = [
    ("", "added"),
    ("acidity over 7", "finish"),
    ("finish over 20 seconds", "finish"),
    ("smells of cedar", "added"),
    ("from Chinon 2018", "quality"),
    ("by copper ladle and acidity over 7", "added"),
    ("acidity", "added"),  # a word that nearly every note has
    ("not smells of cedar and tannin under 3", "tannin"),
    ("fault cork taint", "added"),
    ("(from Barolo or from Chinon) before 2000 tastes of leather not fault", "title"),
    ("smells of red berries or tastes of citrus", "vintage"),
]
_BATCH = 500


def measured(count: int, times: int, *, folder: Path) -> None:
    """Print one library's figures."""
    path = folder / f"library-{count}.sqlite"
    notes = made_notes(count)
    began = time.perf_counter()
    with Library.open(path) as library:
        while batch := list(itertools.islice(notes, _BATCH)):
            library.add_all(batch)
        load_s = time.perf_counter() - began
        added = []
        for note in made_notes(20, seed=2):
            began = time.perf_counter()
            library.add(note.model_copy(update={"id": f"one-more-{note.id}"}))
            added.append(time.perf_counter() - began)
        print(
            f"\n{count:,} notes: loaded in {load_s:.1f} s ({load_s / count * 1000:.2f} ms a note), "
            f"{path.stat().st_size / 1e6:.0f} MB, one more note: {statistics.median(added) * 1000:.1f} ms"
        )
        print(f"{'median':>8} {'slowest':>8} {'cpu':>8} {'hits':>8}  query, sorted by")
        for text, by in QUERIES:
            took, busy = [], []
            for _ in range(times):
                began, began_cpu = time.perf_counter(), time.process_time()
                found = library.find(parse_query(text), by=by, limit=50)
                took.append((time.perf_counter() - began) * 1000)
                busy.append((time.process_time() - began_cpu) * 1000)
            figures = f"{statistics.median(took):8.1f} {max(took):8.1f} {statistics.median(busy):8.1f}"
            print(f"{figures} {found.total:8,}  {text or 'all'}, {by}")
    began = time.perf_counter()
    with Library.open(path) as library:
        opened_s = time.perf_counter() - began
        began = time.perf_counter()
        library.backup()
        print(f"opened in {opened_s * 1000:.1f} ms, backed up in {time.perf_counter() - began:.1f} s")


def main() -> None:
    """Read the options, print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--counts", type=int, nargs="+", default=[1_000, 10_000, 100_000])
    parser.add_argument("--times", type=int, default=15)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        for count in options.counts:
            measured(count, options.times, folder=Path(folder))


if __name__ == "__main__":
    main()
