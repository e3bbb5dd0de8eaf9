"""Breath groups on made sound: where they begin and end, and what is none."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from dictate.audio import speech
from dictate.audio.speech import find_speech

RATE = 16000


def voiced(seconds: float, *, level: float = 0.15) -> np.ndarray:
    """A buzz with formants and syllables, like a vowel sung at 120 Hz."""
    t = np.arange(round(seconds * RATE)) / RATE
    buzz = sum(np.sin(2 * np.pi * 120 * k * t) * gain(120 * k) for k in range(1, 30))
    wave = buzz * (0.7 + 0.3 * np.sin(2 * np.pi * 4 * t))
    return (wave / np.abs(wave).max() * level).astype(np.float32)


def gain(hertz: float) -> float:
    return sum(np.exp(-(((hertz - f) / 150) ** 2)) for f in (600, 1200, 2500)) + 0.02


def hiss(seconds: float, *, level: float = 0.02) -> np.ndarray:
    """An s: noise above 3 kHz."""
    noise = np.random.default_rng(3).normal(size=round(seconds * RATE))
    return (np.diff(noise, n=2, append=[0, 0]) * level / 2.4).astype(np.float32)


def place(parts: list[tuple[float, np.ndarray]], *, seconds: float, floor: float = 2e-4) -> np.ndarray:
    """Sounds at times, over a noise floor."""
    samples = np.random.default_rng(2).normal(size=round(seconds * RATE)).astype(np.float32) * floor
    for at, sound in parts:
        first = round(at * RATE)
        samples[first : first + len(sound)] += sound
    return samples


@pytest.fixture
def deaf_silero(monkeypatch: pytest.MonkeyPatch) -> Callable[[float], None]:
    """Silero replaced by a constant: made sound is no voice, and levels are what is tested."""

    def use(probability: float) -> None:
        monkeypatch.setattr(speech, "_voice", lambda _, count: np.full(count, probability, np.float32))

    return use


def test_edges_lie_where_the_sound_begins_and_ends(deaf_silero: Callable[[float], None]) -> None:
    deaf_silero(1.0)
    found = find_speech(place([(1.0, voiced(0.8)), (3.0, voiced(1.1))], seconds=6))
    assert [(s.start_s, s.end_s) for s in found] == [
        (pytest.approx(1.0, abs=0.015), pytest.approx(1.8, abs=0.015)),
        (pytest.approx(3.0, abs=0.015), pytest.approx(4.1, abs=0.015)),
    ]


def test_an_unvoiced_beginning_belongs_to_the_group(deaf_silero: Callable[[float], None]) -> None:
    deaf_silero(1.0)
    spit = [(1.0, hiss(0.12)), (1.19, voiced(0.5))]  # s, closure of p, vowel
    (found,) = find_speech(place(spit, seconds=4))
    assert found.start_s == pytest.approx(1.0, abs=0.015)


@pytest.mark.parametrize(("gap", "groups"), [(0.25, 1), (0.32, 1), (0.4, 2), (0.8, 2)])
def test_groups_part_at_pauses_of_the_given_length(
    deaf_silero: Callable[[float], None], gap: float, groups: int
) -> None:
    deaf_silero(1.0)
    found = find_speech(place([(1.0, voiced(0.5)), (1.5 + gap, voiced(0.5))], seconds=4))
    assert len(found) == groups


def test_far_talk_is_left_out_beside_a_near_talker(deaf_silero: Callable[[float], None]) -> None:
    deaf_silero(1.0)  # as on other tables' talk: Silero says voice all the time
    far = np.concatenate([voiced(0.4, level=0.006), np.zeros(800, np.float32)] * 30)
    found = find_speech(place([(0.0, far[: 12 * RATE]), (4.0, voiced(1.0))], seconds=12, floor=1e-3))
    assert len(found) == 1
    assert found[0].start_s == pytest.approx(4.0, abs=0.1)


def test_what_silero_denies_is_no_speech(deaf_silero: Callable[[float], None]) -> None:
    deaf_silero(0.1)
    assert find_speech(place([(1.0, voiced(1.0))], seconds=4)) == ()


@pytest.mark.parametrize("count", [0, 1, 159, 600, 16000])
def test_silence_of_any_length_holds_nothing(count: int) -> None:
    assert find_speech(np.zeros(count, np.float32)) == ()


@pytest.mark.parametrize("kind", ["white", "pink", "clink", "hum"])
def test_noise_with_the_real_silero_holds_nothing(kind: str) -> None:
    rng = np.random.default_rng(5)
    white = rng.normal(size=20 * RATE).astype(np.float32) * 0.02
    t = np.arange(20 * RATE) / RATE
    sounds = {
        "white": white,
        "pink": np.cumsum(white) - np.convolve(np.cumsum(white), np.ones(4001) / 4001, "same"),
        "clink": white * 0.01 + np.exp(-(t % 2) * 18) * np.sin(2 * np.pi * 3100 * t) * 0.3,
        "hum": white * 0.01 + 0.1 * np.sin(2 * np.pi * 100 * t),
    }
    assert find_speech(sounds[kind].astype(np.float32)) == ()


@pytest.mark.parametrize(
    ("lull_db", "frames", "parts"),
    [(-15, 70, 2), (-15, 40, 1), (-8, 70, 1), (-40, 200, 2)],
    ids=["babble in a pause", "a comma", "quiet speech", "silence"],
)
def test_a_pause_full_of_babble_parts_a_group(lull_db: float, frames: int, parts: int) -> None:
    level = np.concatenate([np.zeros(100), np.full(frames, lull_db), np.zeros(100)]).astype(np.float32)
    found = speech._part((0, len(level)), level, below=-12)
    assert len(found) == parts
    assert (found[0][0], found[-1][1]) == (0, len(level))
    heard = np.zeros(len(level), bool)
    for first, last in found:
        heard[first:last] = True
    assert heard[level == 0].all()  # no near speech is left out


def test_lulls_one_behind_the_other_never_overlap() -> None:
    level = np.where(np.arange(900) % 120 < 50, 0.0, -20.0).astype(np.float32)
    found = speech._part((100, 800), level, below=-12)
    assert all(a < b for a, b in found)
    assert all(a[1] <= b[0] for a, b in zip(found, found[1:], strict=False))
