"""What a tasting sounds like around the taster: wine being poured, and the room's own answer."""

from __future__ import annotations

import random
from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from tests.speech.synth import RATE

ROOM_M = (6.0, 5.0, 3.0)
TASTER_M, MICROPHONE_M = (3.0, 2.8, 1.2), (3.0, 2.4, 1.2)  # 0.4 m apart
SABINE_S = 0.38  # asked of Sabine's formula for 0.4 s as measured (T20 0.39 s, T30 0.40 s)
POUR_S = 3.0
LOUDER_DB = 3.0  # how much louder than the babble pouring may be


def pouring(seed: int) -> np.ndarray:
    """Wine running into a glass: float32 (3 s,), RMS 1.

    Noise of 400 to 6500 Hz under a resonance that rises as the glass fills (a quarter wave of the air
    above the wine, 10 cm to 3 cm: 860 to 2860 Hz), and bubbles, which ring as they break (Minnaert: 1 to
    4 kHz for bubbles of 1 to 3 mm).
    """
    random_of = np.random.default_rng(seed)
    count, hop = round(POUR_S * RATE), 256
    window = np.hanning(2 * hop + 1)[:-1]
    noise = random_of.normal(size=count + 2 * hop)
    hertz = np.fft.rfftfreq(2 * hop, 1 / RATE)
    band = (hertz > 400) & (hertz < 6500)
    sound = np.zeros(count + 2 * hop)
    for start in range(0, count, hop):
        air_m = 0.10 - 0.07 * start / count
        at = 343 / (4 * air_m)
        gain = band * (0.15 / (1 + hertz / 2000) + np.exp(-(((hertz - at) / (0.12 * at)) ** 2)))
        block = np.fft.irfft(np.fft.rfft(noise[start : start + 2 * hop] * window) * gain)
        sound[start : start + 2 * hop] += block
    sound = sound[:count] / sound[:count].std()
    time = np.arange(round(0.03 * RATE)) / RATE
    for place in random_of.integers(0, count - len(time), size=round(40 * POUR_S)):
        ring = np.exp(-time * 250) * np.sin(2 * np.pi * random_of.uniform(1000, 4000) * time)
        sound[place : place + len(time)] += ring * random_of.uniform(0.3, 2.0)
    rise, fall = round(0.1 * RATE), round(0.3 * RATE)
    sound[:rise] *= np.linspace(0, 1, rise)
    sound[-fall:] *= np.linspace(1, 0, fall)
    return np.asarray(sound / np.sqrt(np.mean(sound**2)), "float32")


def with_pouring(noise: np.ndarray, *, seed: int, spans: Sequence[tuple[float, float]]) -> np.ndarray:
    """Noise (n,) with wine poured once or twice, from 3 dB below its level to 3 dB above it; the first time
    within one of `spans` (seconds: the clocks), where it could be taken for something."""
    chance = random.Random(seed)
    level = float(np.sqrt(np.mean(noise**2)))
    size = round(POUR_S * RATE)
    out = noise.copy()
    for number in range(chance.randint(1, 2)):
        first, last = chance.choice(list(spans)) if number == 0 else (0.0, len(noise) / RATE)
        start = min(round(chance.uniform(first, last) * RATE), max(0, len(noise) - size))
        poured = pouring(seed + number) * level * 10 ** (chance.uniform(-LOUDER_DB, LOUDER_DB) / 20)
        out[start : start + size] += poured[: len(noise) - start]
    return np.asarray(out, "float32")


@lru_cache(maxsize=1)
def impulse_response() -> np.ndarray:
    """The room's answer at the microphone, (n,) at 16 kHz, from the direct path on, which is 1.

    Image sources of a shoe box by pyroomacoustics; RT60 0.4 s.
    """
    import pyroomacoustics as pra

    absorption, order = pra.inverse_sabine(SABINE_S, ROOM_M)
    room = pra.ShoeBox(ROOM_M, fs=RATE, materials=pra.Material(absorption), max_order=order)
    room.add_source(TASTER_M)
    room.add_microphone(MICROPHONE_M)
    room.compute_rir()
    answer = np.asarray(room.rir[0][0], "float64")
    direct = int(np.abs(answer).argmax())
    return np.asarray(answer[direct:] / answer[direct])


def in_room(samples: np.ndarray) -> np.ndarray:
    """Samples (n,) as the microphone in the room hears them: float32 (n,), the direct sound where it was
    and as loud as it was."""
    answer = impulse_response()
    size = 1 << (len(samples) + len(answer)).bit_length()
    product = np.fft.rfft(samples, size) * np.fft.rfft(answer, size)
    return np.asarray(np.fft.irfft(product, size)[: len(samples)], "float32")
