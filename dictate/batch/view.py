"""How far a batch is: a bar with what is being done, or a line now and then. EDGE."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

from rich.console import Console, Group
from rich.live import Live
from rich.progress_bar import ProgressBar
from rich.table import Table
from rich.text import Text

from dictate.batch.run import State, View
from dictate.export import clean
from dictate.show import SECONDS_BETWEEN_LINES, tell

_MOST = 16  # recordings being done that are shown


def time_left(seconds: float | None) -> str:
    """What is left, as people say it: "about 3 h 20 min left"."""
    if seconds is None:
        return "time left unknown"
    minutes = round(seconds / 60)
    if minutes < 1:
        return "less than a minute left"
    hours, rest = divmod(minutes, 60)
    return f"about {hours} h {rest} min left" if hours else f"about {minutes} min left"


def told(state: State) -> str:
    """How far it is, on one line."""
    failed = f", {state.failed} not done" if state.failed else ""
    return f"{state.done} of {state.total} files{failed}; {time_left(state.left_s)}"


@contextmanager
def view_of_batch() -> Iterator[View]:
    """A view on standard error: a bar on a terminal, else a line now and then."""
    if sys.stderr is None or not sys.stderr.isatty():
        yield _Lines()
        return
    console = Console(stderr=True, highlight=False, markup=False, emoji=False)
    with Live(console=console, transient=True, auto_refresh=False) as live:
        yield _Bar(live)


class _Bar:
    """One bar for all, and a line for each recording that is being done."""

    def __init__(self, live: Live) -> None:
        self._live = live

    def show(self, state: State) -> None:
        """See `View`."""
        grid = Table.grid(padding=(0, 1))
        share = sum(share for _, share in state.at_work)
        bar = ProgressBar(total=max(1, state.total), completed=state.done + share, width=20)
        grid.add_row(bar, Text(told(state)))
        shown = [
            Text(f"  {share:4.0%} {clean(path.name)}", overflow="ellipsis", no_wrap=True)
            for path, share in state.at_work[:_MOST]
        ]
        self._live.update(Group(grid, *shown), refresh=True)

    def tell(self, message: str) -> None:
        """See `View`."""
        self._live.console.print(Text(f"dictate: {clean(message)}"), soft_wrap=True)


class _Lines:
    """A line at most every SECONDS_BETWEEN_LINES."""

    def __init__(self) -> None:
        self._last = time.monotonic()

    def show(self, state: State) -> None:
        """See `View`."""
        now = time.monotonic()
        if now - self._last >= SECONDS_BETWEEN_LINES:
            self._last = now
            tell(told(state))

    def tell(self, message: str) -> None:
        """See `View`."""
        tell(message)
