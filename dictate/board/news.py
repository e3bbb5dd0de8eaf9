"""The newest board, handed from any thread to the web server's loop. EDGE: it reads the clock.

Only the newest is kept: a client that is slow gets fewer boards, never a queue.
"""

from __future__ import annotations

import asyncio
import contextlib
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

from dictate.board.board import Board


@dataclass(frozen=True, slots=True)
class Latest:
    """The newest board, its number from 1 (0: none yet) and for how long it has been the newest."""

    number: int
    board: Board | None
    age_s: float
    closed: bool


class News:
    """Holds the newest board. `put` and `close` from any thread; `changed` in the loop alone."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._board: Board | None = None
        self._number = 0
        self._put_s = 0.0
        self._closed = False
        self._waking = False
        self._loop: asyncio.AbstractEventLoop | None = None
        self.changed = asyncio.Event()

    def join_loop(self) -> None:
        """Called in the loop whose waiters are to be woken."""
        self._loop = asyncio.get_running_loop()

    def put(self, board: Board) -> None:
        """Make this the newest board."""
        with self._lock:
            self._board, self._put_s = board, time.monotonic()
            self._number += 1
        self._wake_loop()

    def close(self) -> None:
        """No more boards will come."""
        with self._lock:
            self._closed = True
        self._wake_loop()

    def latest(self) -> Latest:
        """What is newest now."""
        with self._lock:
            return Latest(self._number, self._board, time.monotonic() - self._put_s, self._closed)

    def _wake_loop(self) -> None:
        with self._lock:
            if self._waking or self._loop is None:
                return  # one call waiting is enough, or callbacks would pile up
            self._waking = True
        self.in_loop(self._wake)

    def in_loop(self, call: Callable[[], None]) -> None:
        """Have the loop call this, if it still runs."""
        if self._loop is not None:
            with contextlib.suppress(RuntimeError):  # the loop has ended
                self._loop.call_soon_threadsafe(call)

    def _wake(self) -> None:
        with self._lock:
            self._waking = False
        self.changed.set()
        self.changed = asyncio.Event()
