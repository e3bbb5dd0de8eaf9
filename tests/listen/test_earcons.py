"""Sounds that can be told apart, that no voice detector takes for a voice, and that keep nobody waiting."""

from __future__ import annotations

import threading
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soxr

from dictate.audio import Stretch, find_speech, load_recording, speech
from dictate.listen.earcons import KINDS, PEAK, SAMPLE_RATE, EarconPlayer, earcon
from dictate.listen.portaudio import MicrophoneError

RATE = 16000
DEMO = Path(__file__).parents[2] / "audio_demo" / "after-lunch.flac"
SPEECH_DB = -22.0  # of that


def at_16_khz(kind: str, peak_db: float = 0.0) -> np.ndarray:
    return np.asarray(
        soxr.resample(earcon(kind), SAMPLE_RATE, RATE) / PEAK * 10 ** (peak_db / 20), np.float32
    )


def with_it(samples: np.ndarray, sound: np.ndarray, *at_s: float) -> np.ndarray:
    mixed = samples.copy()
    for start_s in at_s:
        first = round(start_s * RATE)
        mixed[first : first + len(sound)] += sound
    return mixed


@pytest.mark.parametrize("kind", KINDS)
def test_short_soft_and_not_too_loud(kind: str) -> None:
    sound = earcon(kind)
    assert sound.dtype == np.float32
    assert len(sound) <= (0.6 if kind == "problem" else 0.25) * SAMPLE_RATE
    assert np.abs(sound).max() == pytest.approx(PEAK, abs=1e-6)
    assert np.abs(np.diff(sound)).max() < 0.4 * PEAK  # no step: the tone's own slope is 0.34 at most
    assert np.abs(sound[:48]).max() < 0.1 * PEAK  # the first millisecond
    assert np.abs(sound[-48:]).max() < 0.05 * PEAK
    spectrum = np.abs(np.fft.rfft(sound)) ** 2
    hertz = np.fft.rfftfreq(len(sound), 1 / SAMPLE_RATE)
    assert spectrum[(hertz > 1300) & (hertz < 3000)].sum() > 0.98 * spectrum.sum()


def notes(kind: str) -> list[tuple[int, int]]:
    """The notes as an ear has them: length in steps of 30 ms, and pitch by zero crossings, to 100 Hz."""
    sound = earcon(kind)
    frames = np.abs(sound[: len(sound) // 240 * 240].reshape(-1, 240)).max(axis=1) > 0.12 * PEAK
    edges = np.flatnonzero(np.diff(np.concatenate(([0], frames.astype(int), [0]))))
    found = []
    for first, last in zip(edges[::2] * 240, edges[1::2] * 240, strict=True):
        part = sound[first:last]
        crossings = np.flatnonzero(np.diff(np.signbit(part).astype(int)))
        pitch = (len(crossings) - 1) / 2 / ((crossings[-1] - crossings[0]) / SAMPLE_RATE)
        found.append((round((last - first) / SAMPLE_RATE / 0.03), round(pitch / 100)))
    return found


def test_rhythm_and_direction_tell_them_apart() -> None:
    rhythm = {kind: tuple(length for length, _ in notes(kind)) for kind in KINDS}
    way = {kind: tuple(np.sign(np.diff([pitch for _, pitch in notes(kind)]))) for kind in KINDS}
    assert way == {
        "started": (1,),
        "stopped": (-1,),
        "next": (),
        "not_understood": (-1, 1),
        "problem": (0, 0),
        "paused": (0,),
        "resumed": (1, 1),
    }
    assert len({(rhythm[kind], way[kind]) for kind in KINDS}) == len(KINDS)
    assert [len(rhythm[kind]) for kind in KINDS] == [2, 2, 1, 3, 3, 2, 3]
    assert sum(rhythm["problem"]) > 1.5 * sum(rhythm["not_understood"])


def test_another_kind_is_refused() -> None:
    with pytest.raises(KeyError):
        earcon("applause")


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("floor_db", [None, -70, -50, -35])
def test_alone_it_is_no_speech(kind: str, floor_db: float | None) -> None:
    rng = np.random.default_rng(4)
    floor = np.zeros(6 * RATE, np.float32)
    if floor_db is not None:
        floor = np.asarray(rng.normal(size=6 * RATE) * 10 ** (floor_db / 20), np.float32)
    for peak_db in (-3, -12, -20, -30, -40, -50):
        mixed = with_it(floor, at_16_khz(kind, peak_db), 1.0, 3.03, 5.07)
        assert speech._voice(mixed, len(mixed) // speech.HOP).max() < 0.5
        assert find_speech(mixed) == ()


@pytest.fixture(scope="module")
def spoken() -> tuple[np.ndarray, tuple[Stretch, ...]]:
    samples = load_recording(DEMO).samples[: 27 * RATE]
    return samples, find_speech(samples)


def furthest_s(found: tuple[Stretch, ...], true: tuple[Stretch, ...]) -> float:
    assert len(found) == len(true)
    pairs = zip(found, true, strict=True)
    return max(max(abs(f.start_s - t.start_s), abs(f.end_s - t.end_s)) for f, t in pairs)


BEHIND_S, BEFORE_S = 0.15, 0.1  # nearer than that to speech it counts as part of it


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("relative_db", [6, 0, -10, -20, -30])
def test_beside_speech_it_moves_no_edge(
    spoken: tuple[np.ndarray, tuple[Stretch, ...]], kind: str, relative_db: float
) -> None:
    """From 0.15 s behind speech and until 0.1 s before it: 10 dB below the voice and fainter in every pause,
    as loud as the voice and louder once (in every pause they would be taken for the room's noise).
    """
    samples, true = spoken
    sound = at_16_khz(kind, SPEECH_DB + relative_db)
    length_s = len(sound) / RATE
    pauses = [(a.end_s, b.start_s) for a, b in zip(true, true[1:], strict=False)]
    long = [p for p in pauses if p[1] - p[0] > length_s + BEHIND_S + BEFORE_S]
    assert len(long) >= 2
    behind, before = [p[0] + BEHIND_S for p in long], [p[1] - BEFORE_S - length_s for p in long]
    for places in (behind, before) if relative_db < 0 else (behind[:1], before[:1], behind[-1:], before[-1:]):
        assert furthest_s(find_speech(with_it(samples, sound, *places)), true) <= 0.0101


@pytest.mark.parametrize("kind", KINDS)
def test_right_beside_speech_it_moves_no_edge_where_it_is_faint(
    spoken: tuple[np.ndarray, tuple[Stretch, ...]], kind: str
) -> None:
    """40 dB below the voice, as an ear-phone leaks; louder it lengthens the stretch, as anything would."""
    samples, true = spoken
    sound = at_16_khz(kind, SPEECH_DB - 40)
    pauses = [(a.end_s, b.start_s) for a, b in zip(true, true[1:], strict=False)]
    long = [p for p in pauses if p[1] - p[0] > len(sound) / RATE]
    for places in ([p[0] for p in long], [p[1] - len(sound) / RATE for p in long]):
        assert furthest_s(find_speech(with_it(samples, sound, *places)), true) <= 0.0101
    near = with_it(samples, at_16_khz(kind, SPEECH_DB), true[5].end_s)
    assert furthest_s(find_speech(near), true) > 0.03


def given_to(player: EarconPlayer, monkeypatch: pytest.MonkeyPatch, give: Any) -> None:
    monkeypatch.setattr(player, "_give", give)


def test_the_player_waits_for_nothing_and_drops_what_is_too_much(monkeypatch: pytest.MonkeyPatch) -> None:
    played: list[str] = []
    go = threading.Event()

    def give(kind: str) -> None:
        go.wait(10)
        played.append(kind)

    player = EarconPlayer(0.5)
    given_to(player, monkeypatch, give)
    began = time.monotonic()
    for _ in range(20):
        player.play("next")
    assert time.monotonic() - began < 1
    go.set()
    player.close(10)
    assert 3 <= len(played) <= 4  # those that waited, and the one at hand


@pytest.mark.parametrize("error", [MicrophoneError("PortAudio is missing"), OSError("x"), ValueError("y")])
def test_what_goes_wrong_is_kept_and_forgotten_when_it_works_again(
    monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    errors: list[Exception | None] = [error, None]
    problems: list[str] = []
    done = threading.Semaphore(0)
    player = EarconPlayer(1)

    def give(kind: str) -> None:
        problems.append(player.problem)
        done.release()
        if (now := errors.pop(0)) is not None:
            raise now

    given_to(player, monkeypatch, give)
    player.play("problem")
    done.acquire(timeout=10)
    player.play("problem")
    player.close(10)
    assert problems[0] == ""
    assert str(error) in problems[1]
    assert "\n" not in problems[1]
    assert player.problem == ""


def test_volume_0_is_silent_and_an_unknown_kind_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    player = EarconPlayer(0.0)
    given_to(player, monkeypatch, lambda kind: pytest.fail("played"))
    player.play("next")
    assert player._worker is None
    player.play("applause")
    assert "applause" in player.problem
    player.close()


def test_without_a_loudspeaker_it_is_silent(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing() -> Any:
        raise MicrophoneError("PortAudio is missing; install it")

    monkeypatch.setattr("dictate.listen.portaudio.load_sounddevice", missing)
    player = EarconPlayer(0.5)
    player.play("started")
    player.close(10)
    assert player.problem == "PortAudio is missing; install it"
