"""Records by `Microphone` in a process of its own: PortAudio reads the environment when it starts.

    python record.py FILE.npz SECONDS [48k] [load] [earcons] [stop]

Writes the samples of each run between gaps, the gaps and the notices; prints a line at each event.
"""

from __future__ import annotations

import sys
import threading
import time
from typing import Any

import numpy as np
import sounddevice

from dictate.listen.earcons import EarconPlayer
from dictate.listen.microphone import Microphone


def refuse_16_khz_mono() -> None:
    """A microphone that knows 48 kHz and two channels alone, as many do."""
    stream = sounddevice.RawInputStream

    def opened(**options: Any) -> Any:
        if options["samplerate"] != 48000:
            raise sounddevice.PortAudioError("Invalid sample rate", -9997)
        if options["channels"] != 2:
            raise sounddevice.PortAudioError("Invalid number of channels", -9998)
        return stream(**options)

    sounddevice.RawInputStream = opened


def spin(until: float) -> None:
    while time.monotonic() < until:
        sum(range(1000))


def main() -> None:
    path, seconds, options = sys.argv[1], float(sys.argv[2]), sys.argv[3:]
    if "48k" in options:
        refuse_16_khz_mono()
    end = time.monotonic() + seconds
    if "load" in options:  # threads that want Python's lock as much as the callback does
        for _ in range(3):
            threading.Thread(target=spin, args=(end,), daemon=True).start()
    player = EarconPlayer(0.5)
    parts: list[list[np.ndarray]] = [[]]
    gaps: list[tuple[float, str]] = []
    with Microphone() as microphone:
        stopped: list[float] = []

        def stop() -> None:
            stopped.append(time.monotonic())
            microphone.stop()

        threading.Timer(seconds, stop).start()
        for block in microphone.blocks():
            if block.lost:
                print("lost", flush=True)
            if block.gap:
                print("gap", block.gap, flush=True)
                gaps.append((block.gap.seconds, block.gap.reason))
                parts.append([])
            if "earcons" in options and len(parts[0]) in (40, 80):
                player.play("started")
            if sum(map(len, parts)) == 0:
                print("first", flush=True)
            parts[-1].append(block.samples)
        took_s = time.monotonic() - stopped[0]
    player.close()
    runs = {f"run{n}": np.concatenate([np.zeros(0, np.int16), *part]) for n, part in enumerate(parts)}
    facts = {"gaps": [g for g, _ in gaps], "reasons": [r for _, r in gaps], "took_s": took_s}
    np.savez(path, problem=player.problem, **runs, **facts)


if __name__ == "__main__":
    main()
