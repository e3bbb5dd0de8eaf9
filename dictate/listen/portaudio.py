"""PortAudio through sounddevice: loaded late, started anew for new devices, one at a time. EDGE.

sounddevice is imported inside a function, since it looks for the library at import, and starts it.
"""

from __future__ import annotations

import contextlib
import os
import threading
from collections.abc import Iterator
from typing import Any

MISSING = (
    "PortAudio, which reads the microphone, is missing; install it: apt-get install libportaudio2 "
    "(Debian, Ubuntu), brew install portaudio (macOS)"
)
_ANSWER_S = 3.0  # an earcon takes a second at most; whoever holds PortAudio longer hangs in its driver
_lock = threading.RLock()


class MicrophoneError(RuntimeError):
    """A microphone that cannot be used; the message is one line and says what to do."""


def load_sounddevice() -> Any:
    """The module `sounddevice`, PortAudio started. Raises MicrophoneError: missing, or cannot start."""
    try:
        import sounddevice
    except OSError as error:
        raise MicrophoneError(MISSING) from error
    except ImportError as error:
        raise MicrophoneError(
            "the package sounddevice is missing; install it: pip install sounddevice"
        ) from error
    except Exception as error:  # PortAudioError, which cannot be named before the import
        raise MicrophoneError(
            f"PortAudio cannot start ({one_line(error)}); restart the sound service"
        ) from error
    return sounddevice


@contextlib.contextmanager
def alone(*, wait_s: float = _ANSWER_S) -> Iterator[Any]:
    """sounddevice, for this thread alone: opening and closing are not safe from two threads, and starting
    anew closes the streams of others. Raises MicrophoneError as `load_sounddevice`, and where another thread
    does not let go within `wait_s` seconds.
    """
    if not _lock.acquire(timeout=wait_s):
        raise MicrophoneError("the sound system does not answer; unplug the device, or start again")
    try:
        yield load_sounddevice()
    finally:
        _lock.release()


def start_anew() -> None:
    """Start PortAudio again: it learns of devices only when it starts. The caller has closed its streams;
    those of others end before (see `alone`). Raises MicrophoneError.
    """
    with alone() as sounddevice:
        with contextlib.suppress(sounddevice.PortAudioError):  # not running since it failed last time
            sounddevice._terminate()
        try:
            sounddevice._initialize()
        except sounddevice.PortAudioError as error:
            raise MicrophoneError(
                f"PortAudio cannot start ({one_line(error)}); restart the sound service"
            ) from error


@contextlib.contextmanager
def hushed() -> Iterator[None]:
    """Without what the C library writes to standard error when a device does not open."""
    try:
        kept = os.dup(2)
    except OSError:  # closed by the caller: nothing to hush
        yield
        return
    try:
        sink = os.open(os.devnull, os.O_WRONLY)
        os.dup2(sink, 2)
        os.close(sink)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)


def one_line(error: Exception) -> str:
    """What an error says, in one line."""
    first = error.args[0] if error.args else error
    return " ".join(str(first).split()) or type(error).__name__
