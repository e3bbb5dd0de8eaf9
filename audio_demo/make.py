"""Makes the demo's recordings out of NAME.yaml: NAME.flac or .opus, NAME.txt, NAME.truth.json.

usage: python audio_demo/make.py [NAME ...]      (needs the extra `voices`, and apt: flite espeak-ng)

The recordings are in git, so this runs only when a text changes. Then put the new hashes, which it
prints, into README.md.
"""

from __future__ import annotations

import hashlib
import json
import sys
import zlib
from dataclasses import asdict
from pathlib import Path

import numpy as np
import soundfile as sf
import soxr
import yaml

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent))

from tests.speech.synth import RATE, room_noise, timed_lines, with_noise  # noqa: E402


def make(script: Path) -> Path:
    """One recording with its true words and times; returns the sound file's path."""
    text = yaml.safe_load(script.read_text(encoding="utf-8"))
    name, sound = script.stem, text["sound"]
    seed = zlib.crc32(name.encode())
    # speech, gaps and noise are made at 16 kHz or the file's own rate, never resampled down
    rate = RATE if "snr_db" in sound else sound["rate"]
    samples, lines = timed_lines(text["lines"], text["voice"], seed=name, rate=rate)
    if "snr_db" in sound:
        noise = room_noise(len(samples), seed=seed, voices=sound["noise_voices"])
        samples = with_noise(samples, noise, snr_db=sound["snr_db"], lines=lines)
    else:  # the hiss of a quiet room: digital silence is found in no recording
        samples = samples + np.random.default_rng(seed).normal(size=len(samples)).astype("f4") * 1e-4
    if rate != sound["rate"]:
        samples = soxr.resample(samples, rate, sound["rate"])
    if sound["channels"] == 2:  # both alike, which FLAC stores once
        samples = np.stack([samples, samples], axis=1)
    path = HERE / sound["file"]
    form = {".opus": ("OGG", "OPUS"), ".flac": ("FLAC", "PCM_16")}[path.suffix]
    sf.write(str(path), np.clip(samples, -1, 1), sound["rate"], format=form[0], subtype=form[1])
    script.with_suffix(".txt").write_text("\n".join(n.say for n in lines) + "\n", encoding="utf-8")
    finishes, away = [], None
    for line in lines:
        if line.cue == "away":
            away = line.start_s
        elif line.cue == "gone" and away is not None:
            finishes.append({"from_s": away, "to_s": line.start_s, "seconds": line.start_s - away})
            away = None
    truth = {"voice": text["voice"], "finishes": finishes, "lines": [asdict(n) for n in lines]}
    (HERE / f"{name}.truth.json").write_text(json.dumps(truth, indent=1) + "\n", encoding="utf-8")
    return path


if __name__ == "__main__":
    scripts = [HERE / f"{n}.yaml" for n in sys.argv[1:]] or sorted(
        p for p in HERE.glob("*.yaml") if ".gold" not in p.suffixes
    )
    for script in scripts:
        made = make(script)
        print(hashlib.sha256(made.read_bytes()).hexdigest(), made.name, made.stat().st_size)
