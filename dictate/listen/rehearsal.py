"""A recording in place of the microphone, as though it were being said: to try, to show, to test. EDGE."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from dictate.audio.recording import load_recording
from dictate.listen.microphone import SAMPLE_RATE, Block


class Rehearsal:
    """Gives a recording's sound block by block, at the pace of the clock on the wall."""

    def __init__(self, path: Path, *, block_s: float = 0.05, pace: float = 1.0, tail_s: float = 1.5) -> None:
        """`pace`: times as fast, 0 for as fast as it is taken; `tail_s`: silence behind it, in which the last
        words end. Raises SourceError."""
        samples = load_recording(path).samples
        silence = np.zeros(round(tail_s * SAMPLE_RATE), np.float32)
        whole = np.clip(np.concatenate([samples, silence]) * 32768, -32768, 32767)
        self._samples = np.round(whole).astype(np.int16)
        self._block = round(block_s * SAMPLE_RATE)
        self._pace = pace
        self._stopped = threading.Event()
        self.name = path.name

    def blocks(self) -> Iterator[Block]:
        """Blocks until the end, or until `stop`."""
        began = time.monotonic()
        for first in range(0, len(self._samples), self._block):
            block = self._samples[first : first + self._block]
            if self._pace:
                due = began + (first + len(block)) / SAMPLE_RATE / self._pace
                if self._stopped.wait(max(0.0, due - time.monotonic())):
                    return
            elif self._stopped.is_set():
                return
            yield Block(block)

    def stop(self) -> None:
        """End it at once; from any thread."""
        self._stopped.set()
