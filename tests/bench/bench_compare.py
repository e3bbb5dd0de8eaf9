"""Time to compare 10, 100, 1,000 and 10,000 notes, and how it grows. Prints, asserts nothing; about a minute.

python tests/bench/bench_compare.py [--most 10000]
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable

from dictate.compare import (
    Comparison,
    as_document,
    as_rows,
    as_sheet,
    as_tables,
    compare_notes,
    compare_repeats,
    compare_tasters,
    compare_years,
)
from dictate.note import Note
from dictate.pictures import draw_sheet
from tests.compare.made import flight

TASTERS = 10
RUNS = 3
COLUMNS = ("beside", "years", "repeats", "tasters", "tables", "csv", "json")


def best(run: Callable[[], object]) -> float:
    """Seconds of the quickest of a few runs."""
    spent = []
    for _ in range(RUNS):
        began = time.perf_counter()
        run()
        spent.append(time.perf_counter() - began)
    return min(spent)


def tasters(notes: list[Note]) -> Comparison:
    wines = max(1, len(notes) // TASTERS)
    return compare_tasters({f"T{n}": notes[n * wines : (n + 1) * wines] for n in range(TASTERS)})


def placed(notes: list[Note]) -> list[Note]:
    """Each taster's notes numbered from 1, so that they are of one flight."""
    wines = max(1, len(notes) // TASTERS)
    return [
        n.model_copy(update={"wine": n.wine.model_copy(update={"position": i % wines + 1})})
        for i, n in enumerate(notes)
    ]


def compared(count: int) -> list[float]:
    """Seconds of each way to compare and to show, in the order of COLUMNS."""
    notes = flight(count)
    flight_of = placed(notes)
    beside = compare_notes(notes)
    return [
        best(lambda: compare_notes(notes)),
        best(lambda: compare_years(notes)),
        best(lambda: compare_repeats(notes)),
        best(lambda: tasters(flight_of)),
        best(lambda: as_tables(beside)),
        best(lambda: as_rows(beside)),
        best(lambda: as_document(beside)),
    ]


def drawn(count: int) -> list[float]:
    """Seconds of an SVG and a PNG."""
    sheet = as_sheet(compare_notes(flight(count)))
    return [best(lambda: draw_sheet(sheet, ".svg")), best(lambda: draw_sheet(sheet, ".png"))]


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--most", type=int, default=10_000)
    most = parser.parse_args().most
    compare_tasters({"A": flight(3), "B": flight(3, seed=2)})  # the statistics library is loaded once
    print(f"{'notes':>7} " + " ".join(f"{name:>9}" for name in COLUMNS))
    for count in (10, 100, 1_000, 10_000):
        if count <= most:
            print(f"{count:>7} " + " ".join(f"{1000 * s:>6.1f} ms" for s in compared(count)), flush=True)
    for count in (2, 8, 40, 200):
        svg, png = drawn(count)
        print(f"picture of {count:>3} wines: SVG {svg:.2f} s, PNG {png:.2f} s", flush=True)


if __name__ == "__main__":
    main()
