"""Sound in which nobody speaks, for the bench of false cues: silence, noise, music, glasses, furniture.

All made here with numpy, from a seed: float32 at 16 kHz. Nothing in it is a recording.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from tests.speech.synth import RATE

Floats = NDArray[np.float64]
Make = Callable[[int, np.random.Generator], Floats]
SCALE = (0, 2, 3, 5, 7, 8, 10)  # semitones of a minor scale


def coloured(count: int, chance: np.random.Generator, *, slope: float) -> Floats:
    """Noise of unit RMS, shape (count,), whose power falls with frequency to the power `slope`
    (0 white, 1 pink, 2 brown)."""
    spectrum = np.fft.rfft(chance.normal(size=count))
    spectrum[1:] /= np.arange(1, len(spectrum)) ** (slope / 2)
    spectrum[: max(1, count * 20 // RATE)] = 0  # no microphone hears below 20 Hz
    return _unit(np.fft.irfft(spectrum, count))


def _unit(samples: Floats) -> Floats:
    return np.asarray(samples / (np.sqrt(np.mean(samples**2)) + 1e-12))


def _put(onto: Floats, piece: Floats, place: int) -> None:
    room = max(0, min(len(piece), len(onto) - place))
    onto[place : place + room] += piece[:room]


def _band(samples: Floats, low_hz: float, high_hz: float) -> Floats:
    spectrum = np.fft.rfft(samples)
    bins = np.fft.rfftfreq(len(samples), 1 / RATE)
    spectrum[(bins < low_hz) | (bins > high_hz)] = 0
    return np.asarray(np.fft.irfft(spectrum, len(samples)))


def _scattered(
    count: int, chance: np.random.Generator, *, every_s: float, piece: Callable[[], Floats]
) -> Floats:
    """Pieces at random places, one each `every_s` seconds on the average."""
    out = np.zeros(count)
    for _ in range(max(1, round(count / RATE / every_s))):
        _put(out, piece() * chance.uniform(0.3, 1.0), int(chance.integers(count)))
    return out


def _tone(chance: np.random.Generator, hz: float, seconds: float, *, bowed: bool) -> Floats:
    """One note with ten harmonics: plucked, each dying faster than the one below; or bowed, with a slow
    attack and vibrato of 5 to 6.5 Hz."""
    time = np.arange(round(seconds * RATE)) / RATE
    wobble = 0.006 * np.sin(2 * np.pi * chance.uniform(5, 6.5) * time) if bowed else np.zeros(len(time))
    phase = 2 * np.pi * np.cumsum(hz * (1 + wobble)) / RATE
    out = np.zeros(len(time))
    for n in range(1, 11):
        if hz * n < RATE / 2.2:
            fade = np.ones(len(time)) if bowed else np.exp(-time * (1.5 + 1.2 * n))
            out += np.sin(n * phase + chance.uniform(0, 6.3)) * fade / n**1.2
    rise = np.minimum(1, time / (0.12 if bowed else 0.004))
    return np.asarray(out * rise * np.minimum(1, (seconds - time) / 0.05))


def _melody(count: int, chance: np.random.Generator, *, bowed: bool, low_hz: float = 220) -> Floats:
    out, place = np.zeros(count), 0
    step = int(chance.integers(0, 7))
    while place < count:
        seconds = float(chance.choice((0.2, 0.4, 0.4, 0.8, 1.2)))
        step = int(np.clip(step + chance.integers(-2, 3), 0, 13))
        hz = low_hz * 2 ** ((SCALE[step % 7] + 12 * (step // 7)) / 12)
        if chance.random() > 0.15:
            _put(out, _tone(chance, hz, seconds * 1.15, bowed=bowed), place)
        place += round(seconds * RATE)
    return out


def _chords(count: int, chance: np.random.Generator) -> Floats:
    out = np.zeros(count)
    for place in range(0, count, 2 * RATE):
        root = int(chance.integers(0, 7))
        for third in (0, 2, 4):
            step = root + third
            hz = 110 * 2 ** ((SCALE[step % 7] + 12 * (step // 7)) / 12)
            _put(out, _tone(chance, hz, 2.05, bowed=bool(chance.random() < 0.5)), place)
    return out


def _drums(count: int, chance: np.random.Generator) -> Floats:
    out, beat = np.zeros(count), round(60 / chance.uniform(80, 140) * RATE)
    time = np.arange(RATE // 4) / RATE
    kick = np.sin(2 * np.pi * (50 * time - 4 * np.exp(-time * 30))) * np.exp(-time * 14)
    for n, place in enumerate(range(0, count, beat // 2)):
        hiss = chance.normal(size=len(time))
        if n % 4 == 0:
            _put(out, kick * 1.5, place)
        if n % 4 == 2:
            _put(out, _band(hiss, 200, 5000) * np.exp(-time * 20), place)
        _put(out, _band(hiss, 5000, 8000) * np.exp(-time * 60) * 0.5, place)
    return out


def _band_of_three(count: int, chance: np.random.Generator) -> Floats:
    parts = (
        _chords(count, chance),
        _melody(count, chance, bowed=bool(chance.random() < 0.5)),
        _drums(count, chance),
    )
    return np.asarray(sum(_unit(p) * chance.uniform(0.4, 1) for p in parts))


def _hum(count: int, chance: np.random.Generator) -> Floats:
    time = np.arange(count) / RATE
    mains = float(chance.choice((50, 60)))
    parts = (np.sin(2 * np.pi * mains * n * time + chance.uniform(0, 6.3)) / n for n in range(1, 12))
    return np.asarray(sum(parts) + 0.02 * chance.normal(size=count))


def _clink(chance: np.random.Generator) -> Floats:
    """Two glasses: a few partials that are no harmonics, 0.3 to 1 s long."""
    time = np.arange(round(chance.uniform(0.3, 1.0) * RATE)) / RATE
    base = chance.uniform(900, 3000)
    parts = (
        np.sin(2 * np.pi * base * ratio * time) * np.exp(-time * chance.uniform(6, 25)) / n
        for n, ratio in enumerate((1, 2.32, 2.75, 4.25), 1)
        if base * ratio < RATE / 2.1
    )
    return np.asarray(sum(parts))


def _pour(chance: np.random.Generator) -> Floats:
    """A glass filled: bubbles whose pitch rises, over a rush of noise."""
    count = round(chance.uniform(2, 5) * RATE)
    out = _unit(_band(chance.normal(size=count), 400, 4000)) * 0.15
    for _ in range(count // RATE * 40):
        place = int(chance.integers(count))
        time = np.arange(round(chance.uniform(0.01, 0.05) * RATE)) / RATE
        hz = chance.uniform(300, 700) * (1 + 1.5 * place / count)
        _put(out, np.sin(2 * np.pi * (hz * time + 2 * hz * time**2)) * np.exp(-time * 80), place)
    return np.asarray(
        out * np.minimum(1, np.minimum(np.arange(count), count - np.arange(count)) / (0.2 * RATE))
    )


def _chair(chance: np.random.Generator) -> Floats:
    """Legs over a stone floor: they stick and slip some 60 to 200 times a second, rattle and creak."""
    count = round(chance.uniform(0.3, 1.2) * RATE)
    rate_hz = np.interp(np.arange(count), (0, count), chance.uniform(60, 200, 2)) * (
        1 + 0.1 * coloured(count, chance, slope=2)
    )
    slips = np.diff(np.floor(np.cumsum(np.abs(rate_hz)) / RATE), prepend=0)
    time = np.arange(RATE // 25) / RATE
    ring = sum(np.sin(2 * np.pi * f * time) * np.exp(-time * 90) for f in chance.uniform(250, 3000, 4))
    return np.asarray(np.convolve(slips, np.asarray(ring))[:count] + 0.05 * chance.normal(size=count))


def _steps(count: int, chance: np.random.Generator) -> Floats:
    out, place = np.zeros(count), 0
    while place < count:
        time = np.arange(RATE // 8) / RATE
        thud = np.sin(2 * np.pi * chance.uniform(60, 120) * time) * np.exp(-time * 40)
        click = _band(chance.normal(size=len(time)), 800, 4000) * np.exp(-time * 70) * 0.5
        _put(out, (thud + click) * chance.uniform(0.4, 1), place)
        place += round(chance.uniform(0.45, 0.7) * RATE) + (chance.random() < 0.05) * 4 * RATE
    return out


def _paper(chance: np.random.Generator) -> Floats:
    """A tasting sheet turned: crackles in a band of noise."""
    count = round(chance.uniform(0.3, 1.0) * RATE)
    crackle = chance.normal(size=count) * (chance.random(count) < 0.03)
    return _band(crackle + 0.05 * chance.normal(size=count), 1200, 7500) * np.hanning(count)


def _mixed(count: int, chance: np.random.Generator, *kinds: str) -> Floats:
    return np.asarray(sum(_unit(KINDS[k](count, chance)) * chance.uniform(0.3, 1) for k in kinds))


KINDS: dict[str, Make] = {
    "digital silence": lambda n, c: np.zeros(n),
    "faint hiss": lambda n, c: coloured(n, c, slope=0) * 10 ** (-30 / 20),  # 30 dB below the other kinds
    "white noise": lambda n, c: coloured(n, c, slope=0),
    "pink noise": lambda n, c: coloured(n, c, slope=1),
    "brown noise": lambda n, c: coloured(n, c, slope=2),
    "hum": _hum,
    "chords": _chords,
    "plucked melody": lambda n, c: _melody(n, c, bowed=False),
    "bowed melody": lambda n, c: _melody(n, c, bowed=True),
    "low bowed melody": lambda n, c: _melody(n, c, bowed=True, low_hz=90),  # where voices are
    "drums": _drums,
    "band": _band_of_three,
    "clinks": lambda n, c: _scattered(n, c, every_s=1.5, piece=lambda: _clink(c)),
    "pouring": lambda n, c: _scattered(n, c, every_s=7, piece=lambda: _pour(c)),
    "chairs": lambda n, c: _scattered(n, c, every_s=3, piece=lambda: _chair(c)),
    "footsteps": _steps,
    "paper": lambda n, c: _scattered(n, c, every_s=2, piece=lambda: _paper(c)),
    "clinks in noise": lambda n, c: _mixed(n, c, "clinks", "pink noise"),
    "a room set up": lambda n, c: _mixed(n, c, "clinks", "pouring", "chairs", "footsteps", "paper"),
    "a room with music": lambda n, c: _mixed(n, c, "band", "clinks", "chairs", "brown noise"),
}
LEVELS_DB = (-50.0, -35.0, -20.0)  # RMS, full scale is 0; kinds of single knocks are clipped at full scale


def unspoken(kind: str, *, level_db: float, seed: int, seconds: float) -> NDArray[np.float32]:
    """Sound of a kind of `KINDS` (shape (n,), 16 kHz) at an RMS `level_db` dB from full scale."""
    samples = KINDS[kind](round(seconds * RATE), np.random.default_rng(seed))
    if kind not in ("digital silence", "faint hiss"):
        samples = _unit(samples)
    return np.clip(samples * 10 ** (level_db / 20), -1, 1).astype(np.float32)
