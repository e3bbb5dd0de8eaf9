"""Cuts a recording into breath groups: level between noise floor and near talker, checked by Silero.

A voice detector alone fires on other tables' talk; a level alone fires on a glass put down. What
is near *and* a voice is the taster. Pure: samples in, seconds out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from faster_whisper.vad import get_vad_model
from numpy.typing import NDArray

from dictate.values import PAUSE_S

SAMPLE_RATE = 16000
HOP = 160  # 10 ms
EARLIER = HOP // 2  # samples before a frame that count for its level
VOICE_HOP = 512  # Silero's own block at 16 kHz
_VOICE_CONTEXT = 64  # samples of the block before that it hears again
_VOICE_BATCH = 10000
_AT_ONCE = 6000  # frames, a minute: keeps memory small
_BANDS_HZ = ((100, 800), (800, 2000), (2000, 4000), (4000, 7600))
_NEAR_DB = 12  # a frame that far below the near talker's level is surely the near talker's
_PEAK_DB = 4.5  # loudest hundredth over loudest tenth of a talker's frames (measured, 2 to 5 dB)
_SURE_DB = 10  # the gate is never higher than that below his level, however loud the others
_DEEP_DB = 32  # the near talker's quietest speech, below his level
REACH = 45  # frames: an unvoiced beginning or end is at most that far from a voiced core
CLOSURE = 9  # frames: the silence of a stop ("spitting") inside an edge

_LOUD_DB = 14  # the gate lies so little below the near talker only where others talk: they fill pauses
_LULL_DB = 12  # ... in which the level falls so far below his
LULL = 50  # frames: for that long (of the pauses between lines of the clock bench, half 10 dB: 3 of 4 cut)
LULL_EDGE = 6  # frames of a lull that stay with the speech on each side

VOICED = 10  # frames: a voice that near to a frame makes it one of a voice
_BESIDE = 30  # frames: what is that near to near speech is no noise
MIN_CORE = 8  # frames of near voice that make a breath group

Floats = NDArray[np.float32]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Stretch:
    """A breath group, seconds from the start of the recording, half-open."""

    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class Frames:
    """A sound in frames of 10 ms: level in dB, shape (bands, n), and probability of a voice, shape (n,)."""

    bands: Floats
    voice: Floats

    @property
    def level(self) -> Floats:
        """In dB over all bands, shape (n,)."""
        return np.asarray(10 * np.log10(np.power(10, self.bands / 10).sum(axis=0)), np.float32)


@dataclass(frozen=True, slots=True)
class Levels:
    """What was learnt of a room and of who talks in it, dB: the talker's level, the one above which a frame
    is near speech, and one a band, shape (bands,), above which it may be its edge."""

    near: float
    gate: float
    edges: Floats

    @property
    def parts(self) -> bool:
        """Whether others talk so loud that they fill the pauses."""
        return self.gate > self.near - _LOUD_DB

    @property
    def lull(self) -> float:
        """Level under which a pause that others fill lies."""
        return self.near - _LULL_DB

    def loud(self, bands: Floats) -> Flags:
        """Frames, of shape (bands, n), that may be an edge of near speech."""
        flags: Flags = np.any(bands > self.edges[:, None], axis=0)
        return flags


def find_speech(samples: Floats, *, pause_s: float = PAUSE_S) -> tuple[Stretch, ...]:
    """Breath groups in order of time; two are at least `pause_s` seconds apart.

    `samples`: shape (n,), mono, 16 kHz, -1 to 1. Edges lie on a 10 ms grid. Noise floor and the
    near talker's level are learnt from the whole recording.
    """
    return cut(measure(samples), pause_s=pause_s)


def measure(samples: Floats) -> Frames:
    """What the cut is made by, of samples of shape (n,), mono, 16 kHz."""
    count = len(samples) // HOP
    return Frames(_levels(samples, count), _voice(samples, count))


def _levels(samples: Floats, count: int) -> Floats:
    """As `band_levels` of all samples, a minute at a time: an hour is never copied."""
    bands = np.empty((len(_BANDS_HZ), count), np.float32)
    for start in range(0, count, _AT_ONCE):
        stop = min(count, start + _AT_ONCE)
        first, last = start * HOP - EARLIER, (stop + 2) * HOP
        part = samples[max(0, first) : last]
        missing = max(0, -first)
        padded = np.pad(part, (missing, last - first - missing - len(part)))
        bands[:, start:stop] = band_levels(padded, stop - start)
    return bands


def cut(frames: Frames, *, pause_s: float = PAUSE_S) -> tuple[Stretch, ...]:
    """The breath groups in frames, seconds from the first of them; see `find_speech`."""
    levels = learn(frames)
    if levels is None:
        return ()
    gap = round(pause_s * SAMPLE_RATE / HOP)
    return tuple(
        Stretch(first * HOP / SAMPLE_RATE, last * HOP / SAMPLE_RATE)
        for first, last in breath_groups(frames, levels, gap=gap)
    )


def learn(frames: Frames, *, growing: bool = False) -> Levels | None:
    """Noise floor and near talker; None with too little voice. `growing`: more frames come, and the last ones
    count as no noise: a word that begins softly is told from noise by the voice behind it."""
    bands, level, voiced = frames.bands, frames.level, frames.voice >= 0.5
    if voiced.sum() < MIN_CORE:
        return None
    # The loudest hundredth too: the taster may speak little while others talk all the time.
    tenth, hundredth = np.percentile(level[voiced], (90, 99))
    near = max(float(tenth), float(hundredth) - _PEAK_DB)
    background = ~_widen((level > near - _NEAR_DB) & voiced, _BESIDE)
    if growing:
        background[-_BESIDE:] = False
    gate, edges = _gates(level, bands, background, near=near)
    return Levels(near, gate, edges)


def breath_groups(frames: Frames, levels: Levels, *, gap: int) -> list[tuple[int, int]]:
    """The breath groups in frames at given levels, in frames; less than `gap` frames apart they are one."""
    core = (frames.level > levels.gate) & _widen(frames.voice >= 0.5, VOICED)
    loud = levels.loud(frames.bands)
    groups = _join([_reach(run, loud) for run in _runs(core)], gap=gap)
    if levels.parts:
        groups = [part for group in groups for part in _part(group, frames.level, below=levels.lull)]
    return [(first, last) for first, last in groups if core[first:last].sum() >= MIN_CORE]


def band_levels(samples: Floats, count: int) -> Floats:
    """Power in dB of `count` frames, shape (bands, count): 20 ms Hann windows around each 10 ms hop.
    `samples` begin EARLIER samples before the first frame and reach 2 HOP beyond the last one's beginning."""
    window = np.hanning(2 * HOP).astype(np.float32)
    bins = np.fft.rfftfreq(2 * HOP, 1 / SAMPLE_RATE)
    sides = [(bins >= low) & (bins < high) for low, high in _BANDS_HZ]
    powers = np.empty((len(_BANDS_HZ), count), np.float32)
    for start in range(0, count, _AT_ONCE):
        stop = min(count, start + _AT_ONCE)
        places = np.arange(start, stop)[:, None] * HOP + np.arange(2 * HOP)
        spectrum = np.abs(np.fft.rfft(samples[places] * window)) ** 2
        for index, side in enumerate(sides):
            powers[index, start:stop] = spectrum[:, side].sum(axis=1)
    scale = 2.0 / (window.sum() ** 2)
    return np.asarray(10 * np.log10(powers * scale + 1e-10), np.float32)


def _voice(samples: Floats, count: int) -> Floats:
    """Silero's probability of a voice, shape (count,), on the 10 ms grid."""
    hears = VoiceDetector()
    step = _VOICE_BATCH * VOICE_HOP
    parts = [samples[start : start + step] for start in range(0, len(samples), step)]
    found = [hears(np.pad(part, (0, -len(part) % VOICE_HOP))) for part in parts]
    blocks = np.concatenate(found) if found else np.zeros(0, np.float32)
    return voice_of_frames(blocks, 0, count=count)


def voice_of_frames(blocks: Floats, first: int, *, count: int) -> Floats:
    """Of a probability for each block of VOICE_HOP that of frames [first, first + count)."""
    middles = (np.arange(first, first + count) * HOP + HOP // 2) // VOICE_HOP
    return np.asarray(blocks[np.minimum(middles, len(blocks) - 1)], np.float32) if count else blocks[:0]


class VoiceDetector:
    """Silero's probability of a voice, block by block as the sound comes: it remembers what came before.

    faster-whisper's own call hears a whole recording at once; its session is run here with the state that
    it gives back (tests hold both against each other).
    """

    def __init__(self) -> None:
        self._session = get_vad_model().session
        self._state = (np.zeros((1, 1, 128), np.float32), np.zeros((1, 1, 128), np.float32))
        self._before: Floats = np.zeros(_VOICE_CONTEXT, np.float32)

    def __call__(self, samples: Floats) -> Floats:
        """A probability for each block of VOICE_HOP samples; shape (n * VOICE_HOP,), mono, 16 kHz."""
        blocks = samples.reshape(-1, VOICE_HOP)
        if not len(blocks):
            return np.zeros(0, np.float32)
        heads = np.vstack([self._before[None], blocks[:-1, -_VOICE_CONTEXT:]])
        self._before = blocks[-1, -_VOICE_CONTEXT:].copy()
        inputs = np.hstack([heads, blocks]).astype(np.float32, copy=False)
        found: list[Floats] = []
        for start in range(0, len(inputs), _VOICE_BATCH):
            h, c = self._state
            part, h, c = self._session.run(
                None, {"input": inputs[start : start + _VOICE_BATCH], "h": h, "c": c}
            )
            self._state = (h, c)
            found.append(np.ravel(part))
        return np.concatenate(found).astype(np.float32, copy=False)


def _gates(level: Floats, bands: Floats, background: Flags, *, near: float) -> tuple[float, Floats]:
    """Level above which a frame is near speech, and one a band above which it may be its edge."""
    if background.sum() >= 50:
        noise_level = float(np.percentile(level[background], 90))
        noise_bands = np.percentile(bands[:, background], 97, axis=1)
    else:  # speech without a pause: the quietest frames are all there is
        noise_level = float(np.percentile(level, 5))
        noise_bands = np.percentile(bands, 5, axis=1)
    gate = min(max(noise_level + 6, near - _DEEP_DB), near - _SURE_DB)
    band_gates = np.maximum(noise_bands + 4, near - 45)
    return gate, np.asarray(np.minimum(band_gates, near - _NEAR_DB), np.float32)


def _widen(flags: Flags, by: int) -> Flags:
    """True also `by` frames before and behind each true frame."""
    sums = np.cumsum(np.concatenate(([0], flags.astype(np.int32))))
    places = np.arange(len(flags))
    first = np.maximum(places - by, 0)
    last = np.minimum(places + by + 1, len(flags))
    near_by: Flags = sums[last] > sums[first]
    return near_by


def _runs(flags: Flags) -> list[tuple[int, int]]:
    """Half-open runs of true frames."""
    steps = np.flatnonzero(np.diff(np.concatenate(([0], flags.astype(np.int8), [0]))))
    return [(int(a), int(b)) for a, b in zip(steps[::2], steps[1::2], strict=True)]


def _reach(run: tuple[int, int], loud: Flags) -> tuple[int, int]:
    """The run with its unvoiced edges: loud frames with no hole longer than a stop's closure."""
    first, last = run
    before = np.flatnonzero(loud[max(0, first - REACH) : first])[::-1] + max(0, first - REACH)
    for place in before:
        if first - place > CLOSURE + 1:
            break
        first = int(place)
    for place in np.flatnonzero(loud[last : last + REACH]) + run[1]:
        if place - last > CLOSURE:
            break
        last = int(place) + 1
    return first, last


def _part(group: tuple[int, int], level: Floats, *, below: float) -> list[tuple[int, int]]:
    """A group cut where its mean power over `LULL` frames is under a level (dB): a pause full of babble."""
    first, last = group
    sums = np.cumsum(np.concatenate(([0.0], np.power(10.0, level[first:last] / 10))))
    if len(sums) <= LULL:
        return [group]
    means = 10 * np.log10((sums[LULL:] - sums[:-LULL]) / LULL + 1e-10)
    parts: list[tuple[int, int]] = []
    reached = first
    for start, stop in _runs(means < below):  # of windows, by their first frames
        parts.append((reached, first + start + LULL_EDGE))
        reached = first + stop - 1 + LULL - LULL_EDGE
    return [*parts, (reached, last)]


def _join(runs: list[tuple[int, int]], *, gap: int) -> list[tuple[int, int]]:
    """Runs less than `gap` frames apart become one."""
    joined: list[tuple[int, int]] = []
    for first, last in runs:
        if joined and first - joined[-1][1] < gap:
            joined[-1] = (joined[-1][0], max(last, joined[-1][1]))
        else:
            joined.append((first, last))
    return joined
