"""Samples while they are decoded: few in memory, many in a file without a name, mapped into memory. EDGE.

The file is unlinked from its beginning: what was said off the record is in no named file but the recording.
"""

from __future__ import annotations

import mmap
import tempfile
from typing import IO, Final

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]

IN_MEMORY: Final = 16000 * 600  # samples; ten minutes at 16 kHz are 38 MB
BLOCK: Final = 1 << 20  # samples that are worked on at a time


class KeptSamples:
    """Blocks of samples in, one array out; beyond `limit` samples it is a file's, and the system may take its
    pages out of memory when it needs room."""

    def __init__(self, limit: int = IN_MEMORY) -> None:
        self._limit = limit
        self._blocks: list[Samples] = []
        self._file: IO[bytes] | None = None
        self.count = 0

    def put(self, block: Samples) -> None:
        """The next samples, shape (n,). Raises OSError where there is no room for them."""
        self.count += len(block)
        self._blocks.append(block)
        if self._file is None and self.count > self._limit:
            self._file = tempfile.TemporaryFile("wb+", buffering=BLOCK)  # noqa: SIM115  # closed by `whole`
        if self._file is not None:
            for each in self._blocks:
                self._file.write(np.ascontiguousarray(each).data)
            self._blocks.clear()

    def whole(self) -> Samples:
        """All of them, shape (n,); no more can be put. Raises OSError."""
        if self._file is None:
            return np.concatenate(self._blocks) if self._blocks else np.zeros(0, np.float32)
        with self._file as file:
            file.flush()
            mapped = mmap.mmap(file.fileno(), 0)  # stays when the file is closed
        return np.frombuffer(mapped, np.float32)
