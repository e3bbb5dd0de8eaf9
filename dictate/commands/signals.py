"""How a command that goes on until it is told to end is told so. EDGE."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def stopped_by_signals(stop: Callable[[], None]) -> Iterator[None]:
    """Ctrl-C, a closed terminal and a polite kill call `stop`, from the main thread, also in a program that
    was started with Ctrl-C ignored (behind `&` in a script); a second Ctrl-C does not wait."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    names = ("SIGINT", "SIGTERM", "SIGHUP")
    numbers = [getattr(signal, name) for name in names if hasattr(signal, name)]
    before = {number: signal.getsignal(number) for number in numbers}

    def end(number: int, _: object) -> None:
        ignored = number == signal.SIGINT and before[number] is signal.SIG_IGN
        signal.signal(number, signal.default_int_handler if ignored else before[number])
        stop()

    for number in numbers:
        signal.signal(number, end)
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
