"""The bench view in the terminal. EDGE.

`show` only leaves the board for a thread that draws: a terminal that is slow or stuck holds nothing up.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from types import TracebackType

from rich.console import Console, Group
from rich.live import Live
from rich.text import Text

from dictate.board.board import Board, is_moving
from dictate.board.lines import changes, draw

DRAW_EVERY_S = 0.1  # while the clock runs: its tenths
LOOK_EVERY_S = 1.0  # otherwise, for a new size of the window
LINES_KEPT = 200  # of those not printed yet, where output is stuck
CLOSE_S = 2.0  # how long the end waits for a stuck terminal


class TerminalView:
    """Shows boards on a terminal; where that can't be drawn on, prints a line when something changes.

    A context manager. `console` is for tests: by default standard output.
    """

    def __init__(self, console: Console | None = None) -> None:
        self._console = console or Console(highlight=False, markup=False, emoji=False)
        self._draws = self._console.is_terminal and not self._console.is_dumb_terminal
        self._plain = not _can_write("█▮▯", self._console)
        self._lock = threading.Lock()
        self._news = threading.Event()
        self._board: Board | None = None
        self._arrived_s = 0.0
        self._lines: deque[str] = deque(maxlen=LINES_KEPT)
        self._ended = False
        self._thread: threading.Thread | None = None

    def __enter__(self) -> TerminalView:
        target = self._draw_all if self._draws else self._print_all
        self._thread = threading.Thread(target=target, name="board-terminal", daemon=True)
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._ended = True
        self._news.set()
        if self._thread is not None:
            self._thread.join(CLOSE_S)

    def show(self, board: Board) -> None:
        """Show this board from now on. Thread-safe, returns at once, never raises."""
        with self._lock:
            if not self._draws:
                self._lines += changes(self._board, board)
            self._board, self._arrived_s = board, time.monotonic()
        self._news.set()

    def _print_all(self) -> None:
        try:
            while True:
                self._news.wait()
                self._news.clear()
                ended = self._ended  # read before the lines: what was shown before the end is printed
                with self._lock:
                    lines = [*self._lines]
                    self._lines.clear()
                for line in lines:
                    self._console.print(Text(_writable(line, self._console)), soft_wrap=True)
                if ended:
                    return
        except (OSError, ValueError):  # output closed: the recording matters more
            return

    def _draw_all(self) -> None:
        try:
            with Live(console=self._console, screen=True, auto_refresh=False, transient=True) as live:
                size = None
                while not self._ended:
                    fresh = self._news.is_set()
                    self._news.clear()
                    if fresh or self._counts() or self._console.size != size:
                        size = self._console.size
                        live.update(self._picture(), refresh=True)
                        time.sleep(DRAW_EVERY_S)  # no more often, however many boards come
                    self._news.wait(0 if self._counts() else LOOK_EVERY_S)
        except (OSError, ValueError):
            return

    def _counts(self) -> bool:
        board = self._board
        return board is not None and board.clock.state == "running" and is_moving(board)

    def _picture(self) -> Group:
        with self._lock:
            board, arrived_s = self._board, self._arrived_s
        if board is None:
            return Group()
        at_s = board.at_s + (time.monotonic() - arrived_s if is_moving(board) else 0.0)
        width, height = self._console.size
        lines = draw(board, width=width, height=height, at_s=at_s, plain=self._plain)
        for line in lines:
            line.plain = _writable(line.plain, self._console)
            line.no_wrap, line.overflow = True, "crop"
        return Group(*lines)


def _can_write(text: str, console: Console) -> bool:
    return _writable(text, console) == text


def _writable(text: str, console: Console) -> str:
    """Text with "?" for what the terminal's encoding lacks."""
    try:
        return text.encode(console.encoding, "replace").decode(console.encoding, "replace")
    except LookupError:
        return text.encode("ascii", "replace").decode("ascii")
