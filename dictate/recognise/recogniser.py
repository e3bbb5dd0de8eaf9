"""What the house asks of a recogniser."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from dictate.audio.recording import Recording
from dictate.values import Heard


class Recogniser(Protocol):
    """Anything that turns a recording into words in order of time."""

    @property
    def name(self) -> str:
        """Model and arithmetic, as written into a note: "whisper-base int8"."""
        ...

    def recognise(self, recording: Recording, *, progress: Callable[[float], None] | None = None) -> Heard:
        """The words of a recording; `progress` is called with the share done, 0 to 1, ascending.

        Words lie inside breath groups; all words of one breath group share their `utterance`.
        """
        ...
