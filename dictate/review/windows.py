"""The page's open windows, as the voice knows them: which was used last, what it shows, when it plays. EDGE:
all of it runs in the server's loop."""

from __future__ import annotations

import asyncio
import contextlib
import time
from collections import deque
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from typing import Any, Final

from dictate.audio.speech import Stretch
from dictate.review.api import Here

HOLD_S: Final = 20.0  # a question without news is answered after so long
GONE_S: Final = 3.0  # a window that has asked nothing for so long is closed
_LOOK_S: Final = 1.0  # between looks whether who asked is still there
# What is played is in the microphone's sound a little later: the way out, the room, and the way in again.
_EARLY_S: Final = 0.1
_LATE_S: Final = 0.4
_MOST: Final = 64  # windows, and stretches of playing, that are kept


@dataclass(slots=True)
class Window:
    """A window of the page. `used`: which use of any window was the last of this one; `message`: what it was
    told last; `since_s`: it plays since that second of sound."""

    here: Here
    used: int
    message: dict[str, Any] | None = None
    since_s: float | None = None
    asks: int = 0  # questions that are held
    asked_s: float = 0.0  # by the clock, when it asked last
    changed: asyncio.Event = field(default_factory=asyncio.Event)

    @property
    def is_open(self) -> bool:
        """Whether it is still there."""
        return self.asks > 0 or time.monotonic() - self.asked_s < GONE_S

    @property
    def has_done(self) -> bool:
        """Whether it has done what it was told last."""
        return self.message is None or self.message["number"] == self.here.seen


class Windows:
    """All of them; `now_s`: how much sound has come, which is the clock of what is played."""

    def __init__(self, now_s: Callable[[], float]) -> None:
        self._now_s = now_s
        self._all: dict[str, Window] = {}
        self._uses = 0
        self._played: deque[Stretch] = deque(maxlen=_MOST)
        self.state = 1  # counts what all windows are to be told
        self._closing = False

    def last_used(self) -> Window | None:
        """The open window that was used last."""
        return max((w for w in self._all.values() if w.is_open), key=lambda w: w.used, default=None)

    def played_during(self, stretch: Stretch) -> bool:
        """Whether a window played sound while something was said, seconds of sound."""
        return any(
            played.start_s - _EARLY_S < stretch.end_s and stretch.start_s < played.end_s + _LATE_S
            for played in (*self._played, *self._playing())
        )

    def _playing(self) -> list[Stretch]:
        now_s = self._now_s()
        for window in self._all.values():
            if window.since_s is not None and not window.is_open:
                self._stopped(window)
        return [Stretch(w.since_s, now_s) for w in self._all.values() if w.since_s is not None]

    def _stopped(self, window: Window) -> None:
        if window.since_s is not None:
            self._played.append(Stretch(window.since_s, self._now_s()))
            window.since_s = None

    def tell_all(self) -> None:
        """Something is new for all windows."""
        self.state += 1
        self._wake()

    def close(self) -> None:
        """No question is held any longer."""
        self._closing = True
        self._wake()

    def _wake(self) -> None:
        for window in self._all.values():
            window.changed.set()

    def give(self, window: Window, message: dict[str, Any]) -> None:
        """Tell one window something to do."""
        window.message = message
        window.changed.set()

    def comes(self, here: Here) -> Window:
        """A window asks, and tells what it shows; what it asked before is answered."""
        window = self._all.get(here.window)
        if window is None:
            self._forget()
            window = self._all[here.window] = Window(here, self._next())
        elif here.used:
            window.used = self._next()
        window.changed.set()
        window.changed = asyncio.Event()
        window.here, window.asked_s = here, time.monotonic()
        if here.playing and window.since_s is None:
            window.since_s = self._now_s()
        elif not here.playing:
            self._stopped(window)
        return window

    def _next(self) -> int:
        self._uses += 1
        return self._uses

    def _forget(self) -> None:
        for name in [name for name, window in self._all.items() if not window.is_open][:-_MOST]:
            self._stopped(self._all.pop(name))

    async def news(
        self, window: Window, *, is_gone: Callable[[], Awaitable[bool]], hold_s: float = HOLD_S
    ) -> bool:
        """Wait until there is something to tell the window. Whether it is still the one that asks: false
        where another one goes by its name."""
        here, changed = window.here, window.changed
        end_s = time.monotonic() + hold_s
        window.asks += 1
        try:
            while not self._closing and window.here is here and here.state == self.state and window.has_done:
                left_s = end_s - time.monotonic()
                if left_s <= 0 or await is_gone():
                    break
                with contextlib.suppress(TimeoutError):
                    async with asyncio.timeout(min(left_s, _LOOK_S)):
                        await changed.wait()
                changed.clear()
        finally:
            window.asks -= 1
            window.asked_s = time.monotonic()
        return window.here is here
