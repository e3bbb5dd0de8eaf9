"""A long recording that is kept in a file: bit for bit the samples and breath groups of one in memory."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
import pytest
import soundfile

from dictate.audio import SourceError, kept, load_recording, recording, speech
from dictate.audio.speech import EARLIER, HOP, VOICE_HOP, VoiceDetector, band_levels, voice_of_frames

DEMO = Path(__file__).parents[2] / "audio_demo"


@pytest.fixture
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    """Files and blocks as for hours, of seconds."""
    monkeypatch.setattr(kept.KeptSamples.__init__, "__defaults__", (16000,))
    monkeypatch.setattr(recording, "BLOCK", 7001)


def open_files() -> int:
    """How many this process has (Linux)."""
    return len(list(Path("/proc/self/fd").iterdir()))


def in_memory(path: Path) -> np.ndarray:  # type: ignore[type-arg]
    """As the samples were made before there was a file: whole, then less their mean."""
    import av

    with av.open(str(path)) as container:
        blocks = list(recording._decode(container))
    samples = np.concatenate(blocks)
    return (samples - np.float32(samples.mean(dtype=np.float64))).astype(np.float32, copy=False)


@pytest.mark.parametrize("name", ["after-lunch.flac", "bottling-line.opus"])
def test_samples_are_bit_for_bit_those_of_memory(name: str, small: None) -> None:
    found = load_recording(DEMO / name).samples
    expected = in_memory(DEMO / name)
    assert found.dtype == expected.dtype
    assert found.tobytes() == expected.tobytes()


@pytest.mark.parametrize("count", [0, 1, HOP - 1, HOP, 3 * HOP + 7, 16000 * 61 + 5, 16000 * 130])
def test_frames_are_bit_for_bit_those_of_all_samples_at_once(
    count: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(speech, "_VOICE_BATCH", 1000)  # of those there are five in the longest
    samples = np.random.default_rng(count).normal(0, 0.05, count).astype(np.float32)
    found = speech.measure(samples)
    frames = count // HOP
    bands = band_levels(np.pad(samples, (EARLIER, 2 * HOP)), frames)
    blocks = VoiceDetector()(np.pad(samples, (0, -count % VOICE_HOP)))
    assert found.bands.tobytes() == bands.tobytes()
    assert found.voice.tobytes() == voice_of_frames(blocks, 0, count=frames).tobytes()


def test_the_file_has_no_name_and_goes_with_the_samples(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, small: None
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    opened = open_files()
    loaded = load_recording(DEMO / "after-lunch.flac")
    assert list(tmp_path.iterdir()) == []
    held = open_files()
    del loaded
    assert open_files() <= min(opened, held)


def test_no_room_for_the_sound_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, small: None) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(tempfile, "TemporaryFile", full)
    with pytest.raises(SourceError, match=r"no room for its sound in .*set TMPDIR"):
        load_recording(DEMO / "after-lunch.flac")


def test_eight_channels_are_the_mean_of_eight(tmp_path: Path) -> None:
    # more than seven planes made the decoder's library read what is no memory of its own
    chance = np.random.default_rng(8).normal(0, 0.05, (16000, 8)).astype(np.float32)
    for name in ("eight.wav", "eight.flac"):
        soundfile.write(tmp_path / name, chance, 16000)
        written, _ = soundfile.read(tmp_path / name, dtype="float32", always_2d=True)
        mean = written.mean(axis=1, dtype=np.float64)
        found = load_recording(tmp_path / name).samples
        assert found == pytest.approx(mean - mean.mean(), abs=1e-6)
