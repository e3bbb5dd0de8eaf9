"""Short sounds that tell the taster what happened, without a look at the screen.

`earcon` is pure; `EarconPlayer` is an EDGE. Told apart by how many notes there are, how long they are and
which way they go, not by their colour: a small speaker and a noisy room leave those. They are pure tones of
1.6 to 2.6 kHz: small speakers give them, older ears hear them, and no voice detector takes them for a
voice (in white noise at any level its probability for a tone repeated thrice came to 0.79 at 880 Hz, 0.68 at
1180, 0.40 at 1580, 0.23 at 2000 and at 2700).

Where one sounds within 0.15 s behind speech or 0.1 s before, `find_speech` counts it in, unless it is 40 dB
below the voice: who plays them waits for a pause. As loud as the voice and in every pause they would pass for
the room's noise.
"""

from __future__ import annotations

import contextlib
import queue
import threading
from typing import Any

import numpy as np
from numpy.typing import NDArray

from dictate.listen.portaudio import MicrophoneError, alone, hushed, one_line

SAMPLE_RATE = 48000
PEAK = 0.5  # -6 dB of full scale at volume 1
_ATTACK_S = 0.008  # raised cosine: no click, and the note is still felt to begin at once
_RELEASE_S = 0.02
_LOW, _MIDDLE, _HIGH = (
    1580.0,
    2040.0,
    2640.0,
)  # Hz: four semitones apart or more; the way is plain
# Of each sound the notes: begin (s), length (s), pitch (Hz).
_NOTES: dict[str, tuple[tuple[float, float, float], ...]] = {
    "started": ((0.0, 0.08, _LOW), (0.09, 0.15, _HIGH)),  # two, short and long, up
    "stopped": ((0.0, 0.08, _HIGH), (0.09, 0.15, _LOW)),  # two, short and long, down
    "next": ((0.0, 0.07, _HIGH),),  # one
    "not_understood": ((0.0, 0.07, _MIDDLE), (0.08, 0.07, _LOW), (0.16, 0.09, _MIDDLE)),  # three, a dip
    "problem": ((0.0, 0.13, _MIDDLE), (0.21, 0.13, _MIDDLE), (0.42, 0.17, _MIDDLE)),  # three, slow and level
    "paused": ((0.0, 0.1, _LOW), (0.13, 0.12, _LOW)),  # two, even and level
    "resumed": ((0.0, 0.07, _LOW), (0.08, 0.07, _MIDDLE), (0.16, 0.09, _HIGH)),  # three, up
}
KINDS = tuple(_NOTES)
_WAITING = 3  # sounds that may wait to be played; more would tell of what is long past
_CHUNK = 4800  # samples handed to the device at once


def earcon(kind: str) -> NDArray[np.float32]:
    """The sound of a kind of `KINDS`: shape (n,), mono, 48 kHz, peak 0.5; "problem" 0.6 s at most, the others
    0.25 s. Raises KeyError for another kind.
    """
    notes = _NOTES[kind]
    sound = np.zeros(round(max(begin + length for begin, length, _ in notes) * SAMPLE_RATE), np.float64)
    for begin, length, pitch in notes:
        first, count = round(begin * SAMPLE_RATE), round(length * SAMPLE_RATE)
        sound[first : first + count] += _note(count, pitch)
    return np.asarray(sound / np.abs(sound).max() * PEAK, np.float32)


def _note(count: int, pitch: float) -> NDArray[np.float64]:
    """A tone that dies away a little."""
    t = np.arange(count) / SAMPLE_RATE
    tone = np.sin(2 * np.pi * pitch * t) * np.exp(-t / 0.25)
    attack, release = round(_ATTACK_S * SAMPLE_RATE), round(_RELEASE_S * SAMPLE_RATE)
    tone[:attack] *= 0.5 - 0.5 * np.cos(np.pi * np.arange(attack) / attack)
    tone[-release:] *= 0.5 + 0.5 * np.cos(np.pi * np.arange(1, release + 1) / release)
    return np.asarray(tone)


class EarconPlayer:
    """Plays earcons without keeping anyone waiting; where there is no loudspeaker it is silent.

    `problem`: why the last could not be played, one line, "" where it could.
    """

    def __init__(self, volume: float = 0.5, device: str | int | None = None) -> None:
        """`volume`: 0 (silent) to 1; `device`: as sounddevice takes it, None for the system's default."""
        self.problem = ""
        self._volume = min(1.0, max(0.0, float(volume)))
        self._device = device
        self._waiting: queue.Queue[str | None] = queue.Queue(_WAITING)
        self._worker: threading.Thread | None = None

    def play(self, kind: str) -> None:
        """Play a sound of `KINDS` behind those that wait; dropped if too many do. Never waits or raises."""
        if kind not in _NOTES:
            self.problem = f"there is no sound {kind!r}; there are: {', '.join(KINDS)}"
            return
        if self._volume == 0.0:
            return
        with contextlib.suppress(queue.Full, RuntimeError):  # RuntimeError: no more threads
            self._waiting.put_nowait(kind)
            if self._worker is None:
                self._worker = threading.Thread(target=self._work, name="dictate-earcons", daemon=True)
                self._worker.start()

    def close(self, wait_s: float = 2.0) -> None:
        """End it when what waits has been played; leaves it behind after `wait_s` seconds. Never raises."""
        worker, self._worker = self._worker, None
        if worker is not None:
            with contextlib.suppress(queue.Full):
                self._waiting.put(None, timeout=wait_s)
            worker.join(wait_s)

    def _work(self) -> None:
        while (kind := self._waiting.get()) is not None:
            try:
                self._give(kind)
                self.problem = ""
            except MicrophoneError as error:
                self.problem = str(error)
            except Exception as error:  # whatever a driver gives: a note must not end for want of a sound
                self.problem = f"no sound can be played ({one_line(error)}); check the loudspeaker"

    def _give(self, kind: str) -> None:
        """Opened for each sound: a loudspeaker that waits open costs battery, and one plugged in is missed.
        The microphone does not start PortAudio anew meanwhile (`alone`).
        """
        sound: NDArray[np.float32] = earcon(kind) * np.float32(self._volume)
        with alone() as sounddevice, self._opened(sounddevice) as (stream, rate, channels):
            if rate != SAMPLE_RATE:
                import soxr

                sound = np.asarray(soxr.resample(sound, SAMPLE_RATE, rate), np.float32)
            data = np.repeat(sound[:, None], channels, axis=1)
            for first in range(0, len(data), _CHUNK):
                stream.write(np.ascontiguousarray(data[first : first + _CHUNK]))

    @contextlib.contextmanager
    def _opened(self, sounddevice: Any) -> Any:
        default = round(sounddevice.query_devices(self._device, "output")["default_samplerate"])
        ways = [(SAMPLE_RATE, 1), (SAMPLE_RATE, 2), (default, 1), (default, 2)]
        with hushed():
            for number, (rate, channels) in enumerate(ways, start=1):
                try:
                    stream = sounddevice.OutputStream(
                        device=self._device, samplerate=rate, channels=channels, dtype="float32"
                    )
                    break
                except sounddevice.PortAudioError:
                    if number == len(ways):
                        raise
        with stream:  # leaving stops it, which waits until all is heard
            yield stream, rate, channels
