"""Onset error on synthetic speech, hints off by what recognisers are off by. Prints, never fails.

usage: python -m tests.bench.bench_onset [/tmp/synth/clean] [--noise babble]
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import numpy as np
import soundfile

from dictate.cues.onset import find_onset
from tests.speech.synth import room_noise


def _pink(size: int, rng: np.random.Generator) -> np.ndarray:
    spectrum = np.fft.rfft(rng.normal(size=size)) / np.sqrt(np.maximum(np.arange(size // 2 + 1), 1))
    noise = np.fft.irfft(spectrum, size)
    return noise / noise.std()


def _noise(kind: str, size: int, rng: np.random.Generator) -> np.ndarray:
    """Noise of unit deviation; babble is the table next to the taster's, with glasses."""
    if kind == "white":
        return rng.normal(size=size)
    if kind == "pink":
        return _pink(size, rng)
    noise = room_noise(
        size, seed=int(rng.integers(1 << 30)), voices=["flite:slt", "flite:rms", "flite:awb", "piper:joe"]
    )
    return noise / noise.std()


def main() -> None:
    """Median and 95th percentile of the error in ms, cue lines and all lines."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", nargs="?", type=Path, default=Path("/tmp/synth/clean"))
    parser.add_argument("--noise", choices=("pink", "white", "babble"), default="pink")
    parser.add_argument(
        "--snr", type=float, nargs="*", default=[30, 20, 15, 10], help="dB; clean is always done"
    )
    parser.add_argument("--verbose", action="store_true")
    args = parser.parse_args()
    for snr in (None, *args.snr):
        rng = np.random.default_rng(7)
        rows: list[tuple[bool, float, float]] = []
        for truth in sorted((args.folder / "truth").glob("*.json")):
            samples, rate = soundfile.read(args.folder / f"{truth.stem}.wav", dtype="float32")
            lines = json.loads(truth.read_text())["lines"]
            if snr is not None:
                noise = _noise(args.noise, len(samples), rng)
                samples = samples + noise * 0.08 / 10 ** (snr / 20)  # speech is made at RMS 0.08
            for line in lines:
                end_s = min(line["to"], line["from"] + 0.7)
                hint_s = line["from"] + rng.uniform(-0.4, 0.25)
                onset = find_onset(samples, hint_s=hint_s, until_s=end_s, sample_rate=rate)
                error = (onset.onset_s - line["from"]) * 1000
                rows.append((bool(line["cue"]), error, onset.confidence))
                if args.verbose and snr is None:
                    print(f"{truth.stem} {error:8.1f} ms  {onset.confidence:.2f}  {line['say'][:50]}")
        for name, chosen in (
            ("all lines", rows),
            ("cues", [r for r in rows if r[0]]),
            ("conf >= .5", [r for r in rows if r[2] >= 0.5]),
        ):
            if not chosen:
                continue
            errors = np.array([r[1] for r in chosen])
            size = np.abs(errors)
            print(
                f"snr {snr} {name:10} n {len(errors):3}  bias {np.median(errors):6.1f}  "
                f"median {np.median(size):6.1f}  p95 {np.percentile(size, 95):6.1f} ms"
            )


if __name__ == "__main__":
    main()
