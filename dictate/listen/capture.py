"""Takes sound from where it comes to the disk, and then to whoever works on it. EDGE: a thread of its own.

It waits for nobody: what is heard and written may lag, the recording does not.
"""

from __future__ import annotations

import errno
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from dictate.listen.eventlog import EventLog, GapEvent
from dictate.listen.gaps import Gap
from dictate.listen.microphone import Block
from dictate.listen.recorder import Recorder, silent

MICROPHONE_GONE = "the microphone is gone; plug it in again, recording goes on by itself"


class Source(Protocol):
    """Where sound comes from: a microphone, or a recording in its place."""

    @property
    def name(self) -> str:
        """As the taster knows it."""
        ...

    def blocks(self) -> Iterator[Block]:
        """The sound as it comes, until it ends or is stopped."""
        ...

    def stop(self) -> None:
        """No more of it; from any thread."""
        ...


class NoSource:
    """No more sound: a session that is only to be finished."""

    name = ""

    def blocks(self) -> Iterator[Block]:
        """None."""
        return iter(())

    def stop(self) -> None:
        """Nothing to stop."""


@dataclass(frozen=True, slots=True)
class Lost:
    """The microphone is gone, for now."""


@dataclass(frozen=True, slots=True)
class SourceEnd:
    """The source gives no more. `error`: why, None when it was stopped or came to its end."""

    error: Exception | None = None


Taken = NDArray[np.int16] | GapEvent | Lost | SourceEnd


class Capture:
    """The sound of a source on its way; a SourceEnd is the last that it tells, whatever happens."""

    def __init__(
        self, source: Source, *, recorder: Recorder, log: EventLog, tell: Callable[[Taken], None]
    ) -> None:
        """`tell` is called from the thread, with sound that is already in the recording."""
        self._source, self._recorder, self._log, self._tell = source, recorder, log, tell
        self._thread = threading.Thread(target=self._run, name="capture", daemon=True)

    def start(self) -> None:
        """Begin to take sound."""
        self._thread.start()

    def stop(self) -> None:
        """Take no more, and wait until what came is told."""
        self._source.stop()
        self._thread.join()

    def _run(self) -> None:
        failed = None
        try:
            for block in self._source.blocks():
                if block.lost:
                    self._tell(Lost())
                if block.gap is not None:
                    self._lost(block.gap)
                if len(block.samples):
                    self._keep(block.samples)
        except Exception as error:  # the session must end in order whatever the microphone does
            failed = error
        self._tell(SourceEnd(failed))

    def _lost(self, gap: Gap) -> None:
        event = GapEvent(at_s=self._recorder.seconds, seconds=gap.seconds, reason=gap.reason)
        self._log.append(event)
        self._tell(event)
        for silence in silent(gap.seconds):
            self._keep(silence)

    def _keep(self, samples: NDArray[np.int16]) -> None:
        self._recorder.write(samples)
        self._tell(samples)


def is_full(error: Exception) -> bool:
    """Whether an error says that there is no more room for a file."""
    return isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT)


def why_stopped(error: Exception) -> str:
    """One line for the taster."""
    if is_full(error):
        return "the disk is full: recording has stopped; make room"
    said = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    return f"recording has stopped: {' '.join(said.split()) or type(error).__name__}"
