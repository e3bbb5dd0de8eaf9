"""Long work of the benches: piece after piece, in one process or several, with progress."""

from __future__ import annotations

import multiprocessing
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

Work = TypeVar("Work")
Result = TypeVar("Result")
_FEW = 3  # below that more processes are not worth their start


def work_through(
    do: Callable[[Work], Result],
    todo: Sequence[Work],
    *,
    processes: int = 1,
    apart: bool = False,
    start: Callable[[], None] | None = None,
    done: str = "heard",
) -> Iterator[Result]:
    """Results as they come, in any order; progress to standard error as each is taken, so keep a result at
    once and Ctrl-C loses nothing. `do`, and `start` (called once in each new process): functions of a
    module; `apart`: in a process of its own even if it is one, whose memory is freed at the end."""
    alone = not todo or ((processes < 2 or len(todo) < _FEW) and not apart)
    began = time.monotonic()
    for count, result in enumerate(map(do, todo) if alone else _shared(do, todo, processes, start), 1):
        yield result
        left = (len(todo) - count) * (time.monotonic() - began) / count / 60
        end = "\n" if count == len(todo) else ""
        told = f"\r{count} of {len(todo)} {done}, {left:.0f} minutes left "
        print(told, end=end, file=sys.stderr, flush=True)


def _shared(
    do: Callable[[Work], Result], todo: Sequence[Work], processes: int, start: Callable[[], None] | None
) -> Iterator[Result]:
    context = multiprocessing.get_context("spawn")  # threads of a loaded model do not survive a fork
    with context.Pool(processes, initializer=start) as pool:
        yield from pool.imap_unordered(do, todo, chunksize=1)
