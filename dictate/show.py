"""What the terminal shows: summaries, progress with time left, one-line errors. EDGE."""

from __future__ import annotations

import contextlib
import errno
import os
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from io import TextIOWrapper

from rich.console import Console
from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn
from rich.table import Table
from rich.text import Text

from dictate.export import as_summary, clean, closing_lines
from dictate.note import Note

SECONDS_BETWEEN_LINES = 15.0  # where standard error is no terminal
_FIRST_COLUMN, _NARROW_COLUMN = 18, 10  # letters wide


def show_note(note: Note, *, where: str, year: int | None = None) -> None:
    """One note's summary on standard output and, dimmed, where it was written; `year` of the tasting."""
    console = _console()
    title, _, rest = as_summary(note, year).partition("\n")
    console.print(Text(title, style="bold"))
    console.print(Text(rest), soft_wrap=not console.is_terminal)
    console.print(Text(f"  {'File:':<13} {clean(where)}", style="dim"), soft_wrap=True)
    console.print()


def show_closing(notes: Sequence[Note]) -> None:
    """The scale, what the clock is worth and the cautions, once, below all notes."""
    console = _console()
    for line in closing_lines(notes):
        console.print(Text(line), soft_wrap=not console.is_terminal)


def show_lines(lines: Iterable[str], *, keep_spaces: bool = False) -> None:
    """Lines on standard output; spaces that begin a line are kept where asked for."""
    console = _console()
    for line in lines:
        indent = " " * (len(line) - len(line.lstrip(" "))) if keep_spaces else ""
        console.print(Text(indent + clean(line)), soft_wrap=True)


def print_bytes(data: bytes) -> None:
    """Data on standard output, as they are. Raises OSError, also where its caller has closed it."""
    if sys.stdout is None:
        raise OSError(errno.EBADF, "standard output is closed")
    sys.stdout.buffer.write(data)


def columns_across() -> int:
    """How many narrow columns of a table have room beside each other."""
    return max(1, (_console().width - _FIRST_COLUMN) // _NARROW_COLUMN)


def show_table(
    title: str, *, heads: Sequence[str], rows: Sequence[Sequence[str]], foot: Sequence[str] = ()
) -> None:
    """A table on standard output, plain: its title, heads and rows, lines below it. Nothing in it is
    markup."""
    console = _console()
    if title:
        console.print(Text(clean(title), style="bold"))
    if rows:
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_header=any(heads))
        for head in heads:
            table.add_column(Text(clean(head), style="dim"), overflow="fold")
        for row in rows:
            table.add_row(*(Text(clean(cell)) for cell in row))
        console.print(table)
    for line in foot:
        console.print(Text(clean(line), style="dim"), soft_wrap=not console.is_terminal)
    console.print()


def tell(message: str) -> None:
    """One line on standard error; where that cannot be written, the exit code has to do."""
    if sys.stderr is None:  # closed by the caller; print would take standard output instead
        return
    with contextlib.suppress(OSError):
        print(f"dictate: {clean(message)}", file=sys.stderr, flush=True)  # noqa: T201


def make_output_safe() -> None:
    """Letters that a terminal's encoding lacks become "?", not an error."""
    if isinstance(sys.stdout, TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")


def silence_output() -> None:
    """Keep Python from trying to flush what can't be written when it ends."""
    with contextlib.suppress(OSError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


class _Console(Console):
    def on_broken_pipe(self) -> None:
        """The reader, "head" say, has enough: the notes are still written."""
        silence_output()


def _console() -> Console:
    if sys.stdout is None:  # closed by the caller
        return _Console(quiet=True)
    return _Console(highlight=False, markup=False, emoji=False)


@contextmanager
def progress_of(name: str) -> Iterator[Callable[[float], None]]:
    """A callback for the share done, 0 to 1: a bar with the time left on a terminal's standard error,
    elsewhere a line now and then."""
    if sys.stderr is None or not sys.stderr.isatty():
        yield _Lines(name)
        return
    columns = (TextColumn("{task.description}"), BarColumn(), TaskProgressColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(clean(name).replace("[", "\\["), total=1.0)

        def on_share(share: float) -> None:
            bar.update(task, completed=share)

        yield on_share


class _Lines:
    """Says how far it is, at most every SECONDS_BETWEEN_LINES."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._began = self._last = time.monotonic()

    def __call__(self, share: float) -> None:
        now = time.monotonic()
        if not 0 < share < 1 or now - self._last < SECONDS_BETWEEN_LINES:
            return
        self._last = now
        left = (now - self._began) / share * (1 - share)
        tell(f"{self._name}: {share:.0%} done, about {max(1, round(left))} s left")
