"""find_onset on made sound with a known onset, and time_cues with and without samples.

Tolerances: 6 ms clean (a hop is 5 ms), 30 ms at 20 dB, 60 ms at 15 dB (a quiet beginning drowns).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dictate.cues import find_cues, time_cues
from dictate.cues.onset import Onset, find_onset
from tests.cues.said import TABLE, said

RATE = 16000
LENGTH_S, ONSET_S = 6.0, 3.2137
LEVEL = 0.08  # of the voice, as RMS


def voiced(seconds: float) -> np.ndarray:
    """A vowel: harmonics of 120 Hz falling by 1/k, 8 ms attack."""
    t = np.arange(int(seconds * RATE)) / RATE
    tone = sum(np.sin(2 * np.pi * 120 * k * t + k) / k for k in range(1, 28))
    tone = tone * np.minimum(1, t / 0.008)
    return np.asarray(tone / np.sqrt(np.mean(tone**2)) * LEVEL)


def hiss(seconds: float, rng: np.random.Generator, *, low: float = 4000.0, level: float = 0.25) -> np.ndarray:
    """An s: noise above `low` Hz, 10 ms attack, at `level` of the voice."""
    size = int(seconds * RATE)
    spectrum = np.fft.rfft(rng.normal(size=size))
    spectrum[np.fft.rfftfreq(size, 1 / RATE) < low] = 0
    noise = np.fft.irfft(spectrum, size)
    return np.asarray(noise / noise.std() * LEVEL * level * np.minimum(1, np.arange(size) / RATE / 0.010))


def pink(size: int, rng: np.random.Generator) -> np.ndarray:
    """Noise with 1/f power and unit deviation."""
    spectrum = np.fft.rfft(rng.normal(size=size)) / np.sqrt(np.maximum(np.arange(size // 2 + 1), 1))
    noise = np.fft.irfft(spectrum, size)
    return np.asarray(noise / noise.std())


def word(kind: str, rng: np.random.Generator) -> np.ndarray:
    """Made words: a vowel ("all"), s + stop closure + vowel ("still"), or s + vowel ("swallow")."""
    if kind == "vowel":
        return voiced(0.4)
    closure = np.zeros(int(0.06 * RATE)) if kind == "s-stop-vowel" else np.zeros(0)
    return np.concatenate([hiss(0.09, rng), closure, voiced(0.35)])


def recording(kind: str, *, snr_db: float, seed: int) -> np.ndarray:
    """Six seconds with one word at ONSET_S, in pink noise."""
    rng = np.random.default_rng(seed)
    samples = pink(int(LENGTH_S * RATE), rng) * LEVEL / 10 ** (snr_db / 20)
    sound = word(kind, rng)
    start = round(ONSET_S * RATE)
    samples[start : start + len(sound)] += sound
    return samples


@pytest.mark.parametrize("kind", ["vowel", "s-vowel", "s-stop-vowel"])
@pytest.mark.parametrize(("snr_db", "tolerance_s"), [(60, 0.006), (20, 0.030), (15, 0.060)])
@pytest.mark.parametrize("off_s", [-0.45, -0.1, 0.0, 0.12, 0.25])
def test_onset_is_found_whatever_the_hint(kind: str, snr_db: float, tolerance_s: float, off_s: float) -> None:
    for seed in range(3):
        samples = recording(kind, snr_db=snr_db, seed=seed)
        onset = find_onset(samples, hint_s=ONSET_S + off_s, until_s=ONSET_S + 0.5)
        assert onset.onset_s == pytest.approx(ONSET_S, abs=tolerance_s)
        assert onset.confidence >= 0.3


def test_an_onset_is_surer_in_quiet() -> None:
    quiet, loud = (
        find_onset(recording("vowel", snr_db=s, seed=1), hint_s=ONSET_S).confidence for s in (60, 5)
    )
    assert quiet > 0.9
    assert loud < 0.7


@pytest.mark.parametrize("seed", range(5))
def test_speech_running_on_in_front_is_unsure(seed: int) -> None:
    samples = recording("vowel", snr_db=40, seed=seed)
    start = round(ONSET_S * RATE)
    samples[start - int(1.2 * RATE) : start] += voiced(1.2)[: int(1.2 * RATE)]
    assert find_onset(samples, hint_s=ONSET_S).confidence <= 0.3


def test_a_click_in_front_is_not_the_onset() -> None:
    samples = recording("s-stop-vowel", snr_db=60, seed=2)
    place = round((ONSET_S - 0.3) * RATE)
    samples[place : place + 80] += 0.3
    assert find_onset(samples, hint_s=ONSET_S - 0.2, until_s=ONSET_S + 0.5).onset_s == pytest.approx(
        ONSET_S, abs=0.006
    )


def test_an_earlier_word_and_a_later_one_are_not_the_onset() -> None:
    samples = recording("s-vowel", snr_db=60, seed=3)
    for place_s in (ONSET_S - 0.95, ONSET_S + 0.8):
        place = round(place_s * RATE)
        samples[place : place + int(0.4 * RATE)] += voiced(0.4) * 2
    onset = find_onset(samples, hint_s=ONSET_S - 0.2, until_s=ONSET_S + 0.45)
    assert onset.onset_s == pytest.approx(ONSET_S, abs=0.006)


@pytest.mark.parametrize("filler_s", [0.16, 0.3])
@pytest.mark.parametrize("pause_s", [0.14, 0.3])
def test_a_filler_right_in_front_is_not_the_onset_though_the_hint_says_so(
    filler_s: float, pause_s: float
) -> None:
    samples = recording("s-vowel", snr_db=60, seed=3)  # 0.44 s long
    filler = ONSET_S - pause_s - filler_s
    samples[round(filler * RATE) :][: round(filler_s * RATE)] += voiced(filler_s)[: round(filler_s * RATE)]
    onset = find_onset(samples, hint_s=filler + 0.05, until_s=ONSET_S + 0.44, usual_s=0.5)
    assert onset.onset_s == pytest.approx(ONSET_S, abs=0.006)


def test_a_cue_with_a_pause_in_it_begins_at_its_first_word() -> None:
    samples = recording("s-vowel", snr_db=60, seed=3)
    later = round((ONSET_S + 0.44 + 0.2) * RATE)
    samples[later : later + round(0.3 * RATE)] += voiced(0.3)[: round(0.3 * RATE)]
    onset = find_onset(samples, hint_s=ONSET_S + 0.02, until_s=ONSET_S + 0.94, usual_s=0.7)
    assert onset.onset_s == pytest.approx(ONSET_S, abs=0.006)


def test_other_words_right_behind_a_cue_do_not_count_for_its_length() -> None:
    samples = recording("s-vowel", snr_db=60, seed=3)  # 0.44 s long
    for place_s, long_s in ((0.6, 0.5), (1.25, 0.4)):
        later = round((ONSET_S + place_s) * RATE)
        samples[later : later + round(long_s * RATE)] += voiced(long_s)[: round(long_s * RATE)]
    onset = find_onset(samples, hint_s=ONSET_S, until_s=ONSET_S + 0.44, usual_s=0.5)
    assert onset.onset_s == pytest.approx(ONSET_S, abs=0.006)


@pytest.mark.parametrize(
    "samples", [np.zeros(0), np.zeros(100), np.zeros(RATE * 6)], ids=["none", "few", "silence"]
)
def test_nothing_there_keeps_the_hint_and_is_unsure(samples: np.ndarray) -> None:
    assert find_onset(samples, hint_s=3.0) in (Onset(3.0, 0.0), Onset(3.0, 0.1))


def test_a_hint_behind_the_end_is_kept() -> None:
    assert find_onset(np.zeros(RATE), hint_s=50.0) == Onset(50.0, 0.0)


def test_onset_at_the_very_beginning_of_the_recording() -> None:
    samples = recording("vowel", snr_db=60, seed=4)[round((ONSET_S - 0.25) * RATE) :]
    assert find_onset(samples, hint_s=0.2).onset_s == pytest.approx(0.25, abs=0.010)


def test_other_sample_rates() -> None:
    samples = np.repeat(recording("vowel", snr_db=60, seed=5), 3)
    assert find_onset(samples, hint_s=ONSET_S - 0.1, sample_rate=48000).onset_s == pytest.approx(
        ONSET_S, abs=0.006
    )


def test_time_cues_sets_onset_and_confidence_from_the_samples() -> None:
    words = said("it's gone", at=ONSET_S - 0.3)
    (cue,) = find_cues(words, TABLE).cues
    (timed,) = time_cues((cue,), recording("vowel", snr_db=60, seed=6))
    assert timed.onset_s == pytest.approx(ONSET_S, abs=0.006)
    assert timed.onset_s != cue.onset_s
    assert timed.words == cue.words
    assert timed.confidence > 0.9


def test_a_cue_that_was_written_otherwise_is_no_surer_than_that_it_was_said() -> None:
    (cue,) = find_cues(said("it's gone", at=ONSET_S - 0.3), TABLE).cues
    words = tuple(replace(w, confidence=0.45, heard="Guys.") for w in cue.words)
    (timed,) = time_cues((replace(cue, words=words),), recording("vowel", snr_db=60, seed=6))
    assert timed.confidence == 0.45


def test_time_cues_without_samples_keeps_the_words_start() -> None:
    cues = find_cues(said("next wine, number four", at=2.0051234), TABLE).cues
    (timed,) = time_cues(cues, None)
    assert (timed.onset_s, timed.confidence) == (2.0051234, 1.0)
