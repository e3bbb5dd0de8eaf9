"""Sound from a microphone as blocks of 16 kHz mono, and word of each stretch that is missing. EDGE.

PortAudio's callback copies bytes and looks at the clock, no more; who reads `blocks` does all else.
"""

from __future__ import annotations

import contextlib
import queue
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from types import TracebackType
from typing import Any, Self

import numpy as np
import soxr
from numpy.typing import NDArray

from dictate.listen.devices import Device, find_device
from dictate.listen.gaps import Chunk, Gap, GapFinder
from dictate.listen.portaudio import MicrophoneError, alone, hushed, one_line, start_anew

__all__ = ["SAMPLE_RATE", "Block", "Gap", "Microphone", "MicrophoneError"]

SAMPLE_RATE = 16000
_LATENCY_S = 0.2  # of PortAudio's buffer: Python may hold the callback up that long
_DEAD_S = 1.0  # a microphone that gives nothing for that long is gone
_FIRST_S = 2.5  # ... and after opening: a sound server that slept gives the first samples after 1.5 s
_RETRY_S = 0.5
_POLL_S = 0.1
_CLOSE_S = 2.0  # drivers of devices pulled out may never come back from closing
_BACKLOG_S = 120.0  # kept for a reader that is held up; 4 MB at 16 kHz
# PortAudio's errors after which another rate or number of channels may do: host error, sample format,
# rate, channels
_OTHER_WAY = (-9999, -9994, -9997, -9998)
_IN_USE = -9985


@dataclass(frozen=True, slots=True)
class Block:
    """Sound, int16, shape (n,), mono, 16 kHz, and the gap before it. `lost`: no sound, but the notice that
    the microphone is gone; the block after it comes when it is back.
    """

    samples: NDArray[np.int16]
    gap: Gap | None = None
    lost: bool = False


def _clock() -> float:
    """Seconds that run on while the machine sleeps: Linux has a clock of its own for that, macOS' monotonic
    clock (not Python's) and that of Windows do.
    """
    for name in ("CLOCK_BOOTTIME", "CLOCK_MONOTONIC"):
        if hasattr(time, name):
            return time.clock_gettime(getattr(time, name))
    return time.monotonic()


def _slept() -> float:
    """Seconds that the machine slept since it started; 0 where that cannot be told (Windows)."""
    return _clock() - time.monotonic()


class _Source:
    """One opened stream: buffers in, chunks out."""

    def __init__(self, device: Device, block_s: float) -> None:
        """Opens and starts it. Raises MicrophoneError."""
        self.name = device.name
        self._queue: queue.SimpleQueue[Chunk] = queue.SimpleQueue()
        self._most = max(1, round(_BACKLOG_S / block_s))
        self._full = False
        self.ended = False
        self._open(device, block_s)
        self._slow = None
        if (self.rate, self.channels) != (SAMPLE_RATE, 1):
            self._slow = soxr.ResampleStream(self.rate, SAMPLE_RATE, 1, dtype="float32")

    def _open(self, device: Device, block_s: float) -> None:
        rates = dict.fromkeys((round(device.default_rate), 48000, 44100))
        counts = dict.fromkeys((1, min(2, device.channels), device.channels))
        ways = [(SAMPLE_RATE, 1, "int16"), *((r, c, "float32") for r in rates for c in counts)]
        with alone() as sounddevice, hushed():
            for rate, channels, kind in ways:
                self.rate, self.channels = rate, channels
                stream = None
                try:
                    stream = sounddevice.RawInputStream(
                        device=device.index,
                        samplerate=rate,
                        channels=channels,
                        dtype=kind,
                        blocksize=round(block_s * rate),
                        latency=_LATENCY_S,
                        callback=self._came,
                        finished_callback=self._finished,
                    )
                    stream.start()
                    self._stream = stream
                    return
                except sounddevice.PortAudioError as error:
                    failure = error
                    if stream is not None:
                        stream.close(ignore_errors=True)
                        self.ended = False
                    if _code(error) not in _OTHER_WAY:
                        break
            raise _cannot_open(device, failure) from failure

    def _came(self, data: Any, frames: int, _: Any, status: Any) -> None:
        """PortAudio's thread: must not wait."""
        if self._queue.qsize() >= self._most:
            self._full = True
            return
        cause = "sound came faster than it was taken" if status.input_overflow else ""
        if self._full:
            self._full, cause = False, "the program was held up"
        self._queue.put(Chunk(bytes(data), _clock(), _slept(), frames / self.rate, cause))

    def _finished(self) -> None:
        self.ended = True

    def next(self, wait_s: float) -> Chunk | None:
        """The next chunk, None where none comes within `wait_s` seconds."""
        with contextlib.suppress(queue.Empty):
            return self._queue.get(timeout=wait_s) if wait_s > 0 else self._queue.get_nowait()
        return None

    def samples(self, data: bytes) -> NDArray[np.int16]:
        """A chunk's bytes at 16 kHz, the mean of its channels; resampled, a little later comes the rest."""
        if self._slow is None:
            return np.frombuffer(data, np.int16)
        mono = np.frombuffer(data, np.float32).reshape(-1, self.channels).mean(axis=1, dtype=np.float32)
        return _as_int16(self._slow.resample_chunk(mono))

    def rest(self) -> NDArray[np.int16]:
        """What the resampler still keeps back; it begins anew."""
        if self._slow is None:
            return np.zeros(0, np.int16)
        rest = _as_int16(self._slow.resample_chunk(np.zeros(0, np.float32), last=True))
        self._slow.clear()
        return rest

    def close(self) -> None:
        """Ends the stream; leaves it behind where the driver does not let go."""

        def end() -> None:
            with contextlib.suppress(Exception), alone(), hushed():
                self._stream.abort(ignore_errors=True)
                self._stream.close(ignore_errors=True)

        ender = threading.Thread(target=end, name="dictate-close", daemon=True)
        ender.start()
        ender.join(_CLOSE_S)


def _as_int16(samples: NDArray[np.float32]) -> NDArray[np.int16]:
    return np.asarray(np.clip(np.rint(samples * np.float32(32768)), -32768, 32767), np.int16)


def _code(error: Exception) -> int:
    return next((a for a in error.args if isinstance(a, int)), 0)


def _cannot_open(device: Device, error: Exception) -> MicrophoneError:
    if _code(error) == _IN_USE:
        return MicrophoneError(f"microphone “{device.name}” is in use; close the program that holds it")
    return MicrophoneError(
        f"microphone “{device.name}” cannot be opened ({one_line(error)}); plug it in again, and allow "
        "microphones in the system's privacy settings"
    )


class Microphone:
    """A microphone that is opened on entering, and again whenever it was gone.

        with Microphone() as microphone:
            for block in microphone.blocks(): ...

    `stop` may be called from any thread; all else from one.
    """

    def __init__(self, device: str | int | None = None, *, block_s: float = 0.05) -> None:
        """`device`: name, part of one, index, None for the system's default; `block_s`: seconds a block."""
        self._wanted = device
        self._block_s = block_s
        self._source: _Source | None = None
        self._stopping = threading.Event()
        self._finder = GapFinder()
        self._name = ""
        self._told = False  # whether the loss at hand was told
        self._cause = ""  # of the gap before the next chunk

    @property
    def name(self) -> str:
        """The name of the device in use, or last in use; "" before it was opened."""
        return self._name

    def __enter__(self) -> Self:
        """Opens it. Raises MicrophoneError: PortAudio missing, no such device, in use, not permitted."""
        self._open()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Ends it."""
        self.stop()
        self._close()

    def stop(self) -> None:
        """End `blocks`: it still gives what was recorded up to now. From any thread."""
        self._stopping.set()

    def blocks(self) -> Iterator[Block]:
        """Blocks of about `block_s` seconds until `stop`, in order of time. What is missing is told with the
        block behind it: samples and gaps together keep the time of the clock, within 0.1 s or so.

        A device that is gone gives one `lost` block; it is sought every half second, a named one under
        its name, until it is back.
        """
        while not self._stopping.is_set():
            if self._source is None and not self._reopen():
                return
            assert self._source is not None
            yield from self._stream(self._source)
            self._close()
            if self._stopping.is_set():
                return
            if not self._told:
                self._told = True
                yield Block(np.zeros(0, np.int16), lost=True)

    def _stream(self, source: _Source) -> Iterator[Block]:
        """All of one stream: until it is dead, or stopped."""
        patience_s, waited_s = _FIRST_S, 0.0
        while True:
            stopping = self._stopping.is_set()
            chunk = source.next(0 if stopping or source.ended else _POLL_S)
            if chunk is not None:
                if self._cause:
                    chunk = Chunk(chunk.data, chunk.at_s, chunk.slept_s, chunk.length_s, self._cause)
                    self._cause = ""
                patience_s, waited_s, self._told = _DEAD_S, 0.0, False
                yield from self._blocks_of(source, self._finder.feed(chunk))
            elif stopping or source.ended or waited_s > patience_s:
                break
            else:
                waited_s += _POLL_S  # not by the clock: this program may have been held, not the microphone
        yield from self._blocks_of(source, self._finder.flush())
        if len(rest := source.rest()):
            yield Block(rest)
        self._cause = "the microphone was gone"

    def _blocks_of(self, source: _Source, passed: list[tuple[Chunk, Gap | None]]) -> Iterator[Block]:
        for chunk, gap in passed:
            if gap and len(rest := source.rest()):  # what is before the gap must not run into what is behind
                yield Block(rest)
            samples = source.samples(chunk.data)
            if gap or len(samples):
                yield Block(samples, gap)

    def _open(self) -> None:
        device = find_device(self._wanted)
        self._source = _Source(device, self._block_s)
        self._name = device.name
        if isinstance(self._wanted, int):
            self._wanted = device.name  # numbers are dealt anew when devices come and go

    def _reopen(self) -> bool:
        """Whether the device is back; False when stopped before."""
        while not self._stopping.wait(_RETRY_S):
            with contextlib.suppress(MicrophoneError):
                start_anew()
                self._open()
                return True
        return False

    def _close(self) -> None:
        if self._source is not None:
            self._source.close()
            self._source = None
