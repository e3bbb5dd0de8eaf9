"""The onset of a cue in the samples: where its first sound rises out of the noise before it. Pure.

Levels in four bands at a 5 ms hop, so that an unvoiced beginning (the s of "still") counts, which has its
energy above 4 kHz. The recogniser's times are a hint only: where the cue is, not when it begins.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

HOP_S, FRAME_S = 0.005, 0.010
BANDS_HZ = ((120, 900), (900, 2500), (2500, 4800), (4800, 7900))
EARLY_S = 0.6  # how far in front of the hint a cue may begin
FLOOR_S = 1.5  # how much in front of that tells the noise
FILLER_S = 0.3  # a stretch that began earlier has another word in front ("okay, spitting now")
LATE_S = 0.3  # how far behind the hint's end the cue may reach
BEYOND_S = 0.1  # ... and its sound, as other words may stand right behind
BRIDGE_S = 0.12  # a stop closure inside a word ("s-t-ill") is no onset
RISE_DB, EDGE_DB = 9.0, 5.0  # a band this far over its floor is speech; its edge
CUT = 0.55  # ... and this share of the way from the floor to the loudest near by (babble stays below)
STEADY = 3  # frames in a row
# An onset less sure than that, so far in front of the hint, is oftener the noise's than the cue's: the hint
# is nearer where some band rises there (bench of clocks, choose and explore, 15 dB: 90 % in 83 ms, not 118)
UNSURE, NEAR_S, HINT_DB = 0.5, 0.13, 6.0
SHORTEST, QUIET_DB = 14, 15.0  # a stretch shorter (frames), or quieter than the loudest near by, is no cue


class Samples(Protocol):
    """Mono samples, float, shape (n,): an array, or what reads slices of a long recording when asked."""

    def __len__(self) -> int: ...

    def __getitem__(self, part: slice, /) -> np.ndarray: ...


@dataclass(frozen=True, slots=True)
class Onset:
    """Seconds from the start of the recording, and how sure (0 to 1)."""

    onset_s: float
    confidence: float


def band_levels(samples: np.ndarray, *, sample_rate: int = 16000) -> np.ndarray:
    """Level in dB of each frame in each band: (n,) samples -> (frames, bands); frame i is centred at
    i * 5 ms + 5 ms."""
    hop, size = round(HOP_S * sample_rate), round(FRAME_S * sample_rate)
    if len(samples) < size:
        return np.zeros((0, len(BANDS_HZ)))
    frames = np.lib.stride_tricks.sliding_window_view(np.asarray(samples, dtype=np.float64), size)[::hop]
    power = np.abs(np.fft.rfft(frames * np.hanning(size), axis=1)) ** 2
    hertz = np.fft.rfftfreq(size, 1 / sample_rate)
    bands = [power[:, (hertz >= low) & (hertz < high)].sum(axis=1) for low, high in BANDS_HZ]
    return np.asarray(10 * np.log10(np.stack(bands, axis=1) + 1e-9))


def _smooth(levels: np.ndarray, width: int) -> np.ndarray:
    """The running mean over frames, edges held."""
    padded = np.pad(levels, ((width // 2, width - 1 - width // 2), (0, 0)), mode="edge")
    return np.asarray(np.lib.stride_tricks.sliding_window_view(padded, width, axis=0).mean(axis=-1))


def _runs(active: np.ndarray, bridge: int) -> list[tuple[int, int]]:
    """Frames [first, last) of each stretch of activity, gaps up to `bridge` frames closed."""
    places = np.flatnonzero(active)
    if not len(places):
        return []
    cuts = np.flatnonzero(np.diff(places) > bridge + 1)
    firsts, lasts = places[np.r_[0, cuts + 1]], places[np.r_[cuts, len(places) - 1]] + 1
    return list(zip(firsts.tolist(), lasts.tolist(), strict=True))


def _steady(active: np.ndarray) -> np.ndarray:
    """Activity that lasts: a frame counts when it is one of STEADY in a row (a click is none)."""
    if len(active) < STEADY:
        return np.zeros_like(active)
    whole = np.asarray(np.lib.stride_tricks.sliding_window_view(active, STEADY).all(axis=1))
    out = np.zeros_like(active)
    for shift in range(STEADY):
        out[shift : shift + len(whole)] |= whole
    return out


def _floor(levels: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Level and spread of the noise per band (dB), from the quietest third of the frames."""
    order = np.sort(levels, axis=0)[: max(4, len(levels) // 3)]
    middle = np.median(order, axis=0)
    # the median of the lowest third is the 17th percentile: put it back to the middle of the noise
    spread = np.maximum(order[-1] - order[0], 1.0)
    return middle + spread / 2, spread


def _cue_run(
    active: np.ndarray, over: np.ndarray, low: int, high: int, *, end: int, usual: float | None
) -> tuple[int, int] | None:
    """The stretch of speech in frames [low, high) in which the cue begins: of those that are long and loud
    enough the first, or where it is known how many frames the cue takes, that from which on speech lasts as
    long up to `end` ("yeah ... all gone": the recogniser's words reach across the pause between)."""
    runs = [r for r in _runs(active, round(BRIDGE_S / HOP_S)) if r[0] < high and r[1] > low]
    inside = [(max(a, low), min(b, high)) for a, b in runs]
    if not inside:
        return None
    peaks = [float(over[a:b].max()) for a, b in inside]
    sizes = [b - a for a, b in inside]
    fits = [
        run
        for run, s, p in zip(runs, sizes, peaks, strict=True)
        if s >= min(SHORTEST, max(sizes)) and p >= max(peaks) - QUIET_DB
    ]
    if not fits or usual is None:
        return fits[0] if fits else None
    lengths = [sum(max(0, min(b, end) - a) for a, b in runs if a >= first) for first, _ in fits]
    return min(zip(fits, lengths, strict=True), key=lambda f: abs(np.log(max(f[1], 1) / usual)))[0]


def _edge(levels: np.ndarray, first: int) -> int:
    """The first frame of the rise that leads to `first`, by the noise right in front of it."""
    near = levels[max(0, first - 80) : max(0, first - 8)]
    if len(near) < 12:
        return first
    floor = near.mean(axis=0)
    rise = np.maximum(EDGE_DB, 2.5 * near.std(axis=0))
    place = first
    while place > max(0, first - 16) and (levels[place - 1] > floor + rise).any():
        place -= 1
    return place


def _rise(levels: np.ndarray, low: int, high: int) -> int:
    """The frame in [low, high] behind which some band rises most: 30 ms over the 20 ms before it."""
    places = np.arange(max(4, low), min(high, len(levels) - 6) + 1)
    if not len(places):
        return low
    sums = np.vstack([np.zeros(levels.shape[1]), np.cumsum(levels, axis=0)])
    steps = (sums[places + 6] - sums[places]) / 6 - (sums[places] - sums[places - 4]) / 4
    return int(places[steps.max(axis=1).argmax()])


def _rises(levels: np.ndarray, place: int) -> bool:
    """Whether some band rises near a frame: the 30 ms behind it over those before it."""
    places = range(max(6, place - 2), min(len(levels) - 6, place + 2) + 1)
    steps = [levels[p : p + 6].mean(axis=0) - levels[p - 6 : p].mean(axis=0) for p in places]
    return any((step >= HINT_DB).any() for step in steps)


def find_onset(
    samples: Samples,
    *,
    hint_s: float,
    until_s: float | None = None,
    usual_s: float | None = None,
    sample_rate: int = 16000,
) -> Onset:
    """Where the cue at about `hint_s` (to `until_s`) begins: mono samples (n,), seconds, unrounded.
    `usual_s`: how long it takes to say, about.

    The first stretch of speech near the hints that is long and loud enough is the cue (with `usual_s`, that
    from which on the speech there lasts about as long); it is followed back to its rise out of the noise
    right in front of it. Where it runs on from earlier speech the steepest rise near the hint is taken, and
    the confidence is 0.3; where it rises unsurely, far in front of a hint at which a band rises too, the hint
    stays, with 0.3 at most; where nothing stands out it stays too, 0.1 or less.
    Method: level-gated stretch and band-wise edge; errors by `python -m tests.bench.bench_onset`.
    """
    until_s = hint_s + 0.5 if until_s is None else max(until_s, hint_s + 0.1)
    start = max(0, int((hint_s - EARLY_S - FLOOR_S) * sample_rate))
    stop = min(len(samples), int((until_s + LATE_S + 0.5) * sample_rate))
    levels = band_levels(samples[start:stop], sample_rate=sample_rate) if stop > start else np.zeros((0, 4))
    if len(levels) < 40:
        return Onset(hint_s, 0.0)

    def frame(seconds: float) -> int:
        return int(np.clip((seconds - start / sample_rate - FRAME_S / 2) / HOP_S, 0, len(levels) - 1))

    def seconds(place: int) -> float:
        return start / sample_rate + place * HOP_S + FRAME_S / 2

    smooth = _smooth(levels, 3)
    floor, spread = _floor(smooth)
    over = smooth - floor
    low, high = frame(hint_s - 0.1), frame(until_s + LATE_S) + 1
    peak = over[low:high].max(axis=0)
    active = _steady((over > np.maximum(np.maximum(RISE_DB, spread), CUT * peak)).any(axis=1))
    usual = None if usual_s is None else usual_s / HOP_S
    run = _cue_run(active, over.max(axis=1), low, high, end=frame(until_s + BEYOND_S), usual=usual)
    if run is None:
        return Onset(hint_s, 0.1)
    if run[0] < frame(hint_s - FILLER_S):
        return Onset(seconds(_rise(smooth, frame(hint_s - 0.2), frame(hint_s + 0.15))), 0.3)
    first = _edge(levels, run[0])
    sure = _confidence(smooth, first)
    if sure < UNSURE and seconds(first) < hint_s - NEAR_S and _rises(smooth, frame(hint_s)):
        return Onset(hint_s, min(sure, 0.3))
    return Onset(seconds(first), sure)


def _confidence(levels: np.ndarray, first: int) -> float:
    """From the step at the onset, in the best band: 25 dB is sure, none is 0.

    The 100 ms behind it stand over the 100 ms before it (a clear rise) and over the loudest tenth of the
    500 ms before it (nothing as loud near by, which could be the onset as well); the mean of both.
    """
    near, far = (
        levels[max(0, first - 22) : max(0, first - 2)],
        levels[max(0, first - 100) : max(0, first - 2)],
    )
    behind = levels[first : first + 20]
    if len(near) < STEADY or not len(behind):
        return 0.3
    level = behind.mean(axis=0)
    steps = float((level - near.mean(axis=0)).max()), float((level - np.percentile(far, 90, axis=0)).max())
    return float(np.mean(np.clip(np.array(steps) / 25.0, 0.0, 1.0)))
