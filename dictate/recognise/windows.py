"""Breath groups laid one behind the other in windows: each is heard with what was said around it. Pure.

Whisper was trained on 30 s of talk: of ten spoken notes it writes a third fewer wrong words at 15 dB, a fifth
fewer in quiet, where it hears a breath group among its neighbours (tests/bench/bench_windows.py).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dictate.audio.speech import Stretch
from dictate.recognise.decoder import MAX_SECONDS, SAMPLE_RATE, Timed
from dictate.recognise.recogniser import AROUND_S

_BETWEEN_S = 0.2  # silence put between two, beside what stands around each: so their words are told apart
_STEP = 320  # samples of one step of the encoder: each begins on one, so that it can be cut out


@dataclass(frozen=True, slots=True)
class Place:
    """Where a breath group with what stands around it lies in its window, seconds; `from_s`: where that
    begins in the recording."""

    start_s: float
    end_s: float
    from_s: float


@dataclass(frozen=True, slots=True)
class Window:
    """Sound of breath groups in a row, shape (n,), 16 kHz, and where each lies."""

    samples: NDArray[np.float32]
    places: tuple[Place, ...]


def in_windows(stretches: Sequence[Stretch]) -> tuple[tuple[Stretch, ...], ...]:
    """Breath groups, in runs that fill a window each. One too long for a window is alone. What comes behind
    a run changes nothing in it, so that runs can be heard apart."""
    runs: list[list[Stretch]] = []
    filled_s = 0.0
    for stretch in stretches:
        seconds = stretch.end_s - stretch.start_s + 2 * AROUND_S + _BETWEEN_S
        if not runs or filled_s + seconds > MAX_SECONDS:
            runs.append([])
            filled_s = 0.0
        runs[-1].append(stretch)
        filled_s += seconds
    return tuple(map(tuple, runs))


def laid_out(samples: NDArray[np.float32], stretches: Sequence[Stretch]) -> Window:
    """The window of a run of breath groups in samples (mono, 16 kHz)."""
    pieces: list[NDArray[np.float32]] = []
    places: list[Place] = []
    reached = 0
    for stretch in stretches:
        first = round(max(0.0, stretch.start_s - AROUND_S) * SAMPLE_RATE)
        piece = samples[first : round((stretch.end_s + AROUND_S) * SAMPLE_RATE)]
        behind = round(_BETWEEN_S * SAMPLE_RATE)
        behind += -(len(piece) + behind) % _STEP
        places.append(Place(reached / SAMPLE_RATE, (reached + len(piece)) / SAMPLE_RATE, first / SAMPLE_RATE))
        pieces += [piece, np.zeros(behind, np.float32)]
        reached += len(piece) + behind
    return Window(np.concatenate(pieces), tuple(places))


def parted(timed: Sequence[Timed], window: Window) -> tuple[tuple[Timed, ...], ...]:
    """The words of a window by breath group, timed as in the recording: each where its middle is nearest."""
    groups: list[list[Timed]] = [[] for _ in window.places]
    last = 0
    for word in timed:
        middle = (word.start_s + word.end_s) / 2
        away = [max(p.start_s - middle, middle - p.end_s, 0.0) for p in window.places[last:]]
        last += int(np.argmin(away))
        place = window.places[last]
        groups[last].append(word.later(place.from_s - place.start_s))
    return tuple(map(tuple, groups))
