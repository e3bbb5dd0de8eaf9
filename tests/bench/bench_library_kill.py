"""A library whose program is killed (kill -9) in the middle of a hundred writes, a hundred times over.

    python tests/bench/bench_library_kill.py              # a hundred kills, about three minutes
    python tests/bench/bench_library_kill.py --kills 10

Moments are spread evenly from the opened library to the hundredth write. Prints how many writes were
acknowledged, what was lost of them, and what the check of the library told.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

from tests.library.kills import judge, killed_while_writing

_LONGEST_S = 1.5


def main() -> None:
    """Read the options, print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--kills", type=int, default=100)
    options = parser.parse_args()
    acknowledged = in_the_middle = 0
    wrong: list[str] = []
    with tempfile.TemporaryDirectory() as folder:
        for number in range(options.kills):
            path = Path(folder, f"{number}.sqlite")
            told = killed_while_writing(path, after_s=_LONGEST_S * number / options.kills)
            acknowledged += len(told)
            in_the_middle += 0 < len(told) < 114
            wrong += [f"kill {number}: {each}" for each in judge(path, told)]
    print(f"{options.kills} kills, {in_the_middle} of them amid the writes, {acknowledged:,} acknowledged")
    print("\n".join(wrong) if wrong else "nothing acknowledged lost, every check clean")


if __name__ == "__main__":
    main()
