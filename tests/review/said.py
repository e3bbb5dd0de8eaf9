"""A microphone and ears that hear what a test says: words, when they were said, and how surely."""

from __future__ import annotations

from collections.abc import Callable
from itertools import count

from dictate.audio.speech import Stretch
from dictate.recognise.recogniser import HeardStretch
from dictate.review.listening import Utterance
from dictate.values import Word


class Script:
    """In the place of `Listening`: the recogniser is real in `test_voice_heard.py`, too slow for all else."""

    name = "USB microphone"

    def __init__(self) -> None:
        self.seconds = 1.0
        self.is_on = True
        self.problem = ""
        self._numbers = count(1)
        self._tell: Callable[[Utterance], None] = lambda _: None
        self._changed: Callable[[], None] = lambda: None

    def turn(self, *, on: bool) -> None:
        self.is_on = on
        self._changed()

    def start(self, tell: Callable[[Utterance], None], changed: Callable[[], None]) -> None:
        self._tell, self._changed = tell, changed

    def stop(self) -> None:
        pass

    def say(self, text: str, *, sure: bool = True, number: int = 0, broken: bool = False) -> int:
        """A breath group of half a second, which ends a little before now; its number."""
        self.seconds += 5
        number = number or next(self._numbers)
        at = self.seconds - 1.0
        words = tuple(Word(w, at + i * 0.01, at + i * 0.01 + 0.01) for i, w in enumerate(text.split()))
        self._tell(Utterance(number, Stretch(at, at + 0.5), HeardStretch(words), sure, broken))
        return number
