"""Each remark on a level where it is due, and none where it is not."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from dictate.audio import load_recording
from dictate.listen.levels import check_level, running_level_db

RATE = 16000
DEMO = Path(__file__).parents[2] / "audio_demo"
MAINS = ((1, 1.0), (2, 0.5), (3, 0.4))  # of a hum: order of the harmonic, amplitude
SPEECH_DB = -22.0  # of audio_demo's speech


@pytest.fixture(scope="module")
def speech() -> np.ndarray:
    """Some lines with pauses, in quiet."""
    return load_recording(DEMO / "after-lunch.flac").samples[: 8 * RATE]


def noise(seconds: float, level_db: float, *, seed: int = 1) -> np.ndarray:
    return np.random.default_rng(seed).normal(size=round(seconds * RATE)) * 10 ** (level_db / 20)


def tones(hertz: float, seconds: float, level_db: float, orders: tuple[tuple[int, float], ...]) -> np.ndarray:
    t = np.arange(round(seconds * RATE)) / RATE
    wave = sum(gain * np.sin(2 * np.pi * hertz * order * t + order) for order, gain in orders)
    return wave / np.sqrt(np.mean(wave**2)) * 10 ** (level_db / 20)


def kinds(samples: np.ndarray) -> list[str]:
    remarks = check_level(np.asarray(np.clip(samples, -1, 1), np.float32))
    assert all("\n" not in r.text and len(r.text) > 40 for r in remarks)
    return [r.kind for r in remarks]


@pytest.mark.parametrize("name", ["after-lunch.flac", "tank-room.flac", "guests-table.flac"])
def test_good_recordings_get_no_remark(name: str) -> None:
    assert kinds(load_recording(DEMO / name).samples[: 20 * RATE]) == []


def test_zeros_are_a_dead_microphone_and_a_quiet_one_is_not(speech: np.ndarray) -> None:
    assert kinds(np.zeros(2 * RATE)) == ["dead"]
    assert kinds(np.zeros(0)) == ["dead"]
    assert kinds(np.full(2 * RATE, 0.01)) == ["dead"]  # an offset without sound
    assert kinds(np.random.default_rng(1).integers(0, 2, 2 * RATE) / 32768) == ["dead"]  # dithered zeros
    assert kinds(np.rint(noise(2, -85) * 32768) / 32768) == ["no_speech"]


def test_nobody_speaks_or_somebody_does(speech: np.ndarray) -> None:
    assert "no_speech" in kinds(noise(2, -50))
    assert "no_speech" not in kinds(speech)


@pytest.mark.parametrize(("level_db", "told"), [(-60, ["quiet"]), (-53, ["quiet"]), (-47, []), (-30, [])])
def test_too_quiet(speech: np.ndarray, level_db: float, told: list[str]) -> None:
    turned_down = speech * 10 ** ((level_db - SPEECH_DB) / 20)
    assert kinds(np.rint(turned_down * 32768) / 32768) == told


@pytest.mark.parametrize(("gain", "told"), [(3.0, ["clipped"]), (2.0, ["clipped"]), (1.25, []), (1.0, [])])
def test_clipping(speech: np.ndarray, gain: float, told: list[str]) -> None:
    assert kinds(speech * gain) == told


def test_a_lone_sample_at_full_scale_is_no_clipping(speech: np.ndarray) -> None:
    peaks = speech.copy()
    peaks[:: RATE // 10] = 1.0
    assert "clipped" not in kinds(peaks)


@pytest.mark.parametrize("hertz", [50.0, 49.95, 60.0, 60.03])
def test_mains_hum(speech: np.ndarray, hertz: float) -> None:
    assert kinds(speech + tones(hertz, 8, -45, MAINS)) == ["hum"]
    told = check_level(np.asarray(speech + tones(hertz, 8, -45, MAINS), np.float32))[0].text
    assert f"{round(hertz)} Hz" in told


@pytest.mark.parametrize(
    "beside",
    [
        tones(55.0, 8, -45, MAINS),  # no mains
        tones(98.0, 8, -45, MAINS),  # a G, held for long
        tones(50.0, 8, -65, MAINS),  # far below the voice
        tones(100.0, 8, -45, ((1, 1.0),)),  # one line: a fridge
        noise(8, -45),
    ],
    ids=["55 Hz", "a held note", "faint", "one line", "noise"],
)
def test_no_mains_hum(speech: np.ndarray, beside: np.ndarray) -> None:
    assert kinds(speech + beside) == []


def test_noise_is_never_taken_for_hum() -> None:
    assert all("hum" not in kinds(noise(2, -50, seed=seed)) for seed in range(50))


@pytest.mark.parametrize(("above_db", "told"), [(4, True), (8, True), (16, False), (25, False)])
@pytest.mark.parametrize("seconds", [2, 8])
def test_noisy_room(speech: np.ndarray, above_db: float, told: bool, seconds: int) -> None:
    first = 0 if seconds == 8 else 4 * RATE  # 2 s without a pause
    mixed = (speech + noise(8, SPEECH_DB - above_db))[first : first + seconds * RATE]
    assert ("noisy" in kinds(mixed)) == told


def test_running_level() -> None:
    sine = np.sin(2 * np.pi * 440 * np.arange(RATE) / RATE)
    assert running_level_db(np.asarray(sine, np.float32)) == pytest.approx(-3.01, abs=0.01)
    assert running_level_db(np.ones(800, np.float32)) == pytest.approx(0.0, abs=0.01)
    assert running_level_db(np.asarray(sine * 0.1, np.float32)) == pytest.approx(-23.01, abs=0.01)
    assert running_level_db(np.rint(sine * 3276.8).astype(np.int16)) == pytest.approx(-23.01, abs=0.01)
    assert running_level_db(np.zeros(800, np.float32)) == -120.0
    assert running_level_db(np.zeros(0, np.float32)) == -120.0
