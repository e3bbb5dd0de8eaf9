"""Recordings of every kind are read whole, or refused with one line that says what to do."""

from __future__ import annotations

import hashlib
import os
import struct
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile as sf

from dictate.audio import SourceError, load_recording

RATE = 44100
SECONDS = 3.0
ENCODERS = [
    ("tone.wav", "pcm_s16le", {}),
    ("tone.flac", "flac", {}),
    ("tone.mp3", "libmp3lame", {}),
    ("bare.mp3", "libmp3lame", {"write_xing": "0"}),
    ("tone.m4a", "aac", {"movflags": "faststart"}),
    ("tone.opus", "libopus", {}),
    ("tone.webm", "libopus", {}),
    ("tone.aac", "aac", {}),
]


def tone(seconds: float = SECONDS, *, rate: int = RATE) -> np.ndarray:
    """Two channels of a noisy 440 Hz tone, shape (n, 2)."""
    noise = np.random.default_rng(1).normal(size=round(seconds * rate)) * 0.05
    wave = 0.3 * np.sin(np.arange(len(noise)) * 2 * np.pi * 440 / rate) + noise
    return np.stack([wave, wave], axis=1).astype(np.float32)


def encode(path: Path, codec: str, options: dict[str, str]) -> Path:
    """Write the tone with PyAV; skip the test where this build lacks the coder."""
    try:
        with av.open(str(path), "w", options=options) as container:
            stream = container.add_stream(codec, rate=48000 if codec == "libopus" else RATE)
            stream.layout = "stereo"
            frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(tone().T), format="fltp", layout="stereo")
            frame.sample_rate = RATE
            for part in (frame, None):
                container.mux(stream.encode(part))
    except (av.error.EncoderNotFoundError, av.codec.codec.UnknownCodecError):
        pytest.skip(f"no coder {codec}")
    return path


def refused(path: Path) -> str:
    """The message of the refusal: one line that names the file."""
    with pytest.raises(SourceError) as caught:
        load_recording(path)
    message = str(caught.value)
    assert "\n" not in message
    assert str(path) in message
    assert ";" in message  # what to do
    return message


@pytest.mark.parametrize(("name", "codec", "options"), ENCODERS, ids=[e[0] for e in ENCODERS])
def test_every_format_is_read_whole(tmp_path: Path, name: str, codec: str, options: dict[str, str]) -> None:
    path = encode(tmp_path / name, codec, options)
    recording = load_recording(path)
    assert recording.duration_s == pytest.approx(SECONDS, abs=0.06)
    assert recording.samples.dtype == np.float32
    assert recording.samples.ndim == 1
    assert recording.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    spectrum = np.abs(np.fft.rfft(recording.samples[:32000]))
    assert np.fft.rfftfreq(32000, 1 / 16000)[spectrum.argmax()] == pytest.approx(440, abs=2)


@pytest.mark.parametrize("share", [0.5, 0.8])
@pytest.mark.parametrize(("name", "codec", "options"), ENCODERS, ids=[e[0] for e in ENCODERS])
def test_a_file_cut_short_is_refused_and_salvaged(
    tmp_path: Path, name: str, codec: str, options: dict[str, str], share: float
) -> None:
    path = encode(tmp_path / name, codec, options)
    path.write_bytes(path.read_bytes()[: int(path.stat().st_size * share)])
    message = refused(path)
    assert "cut short" in message or "damaged" in message
    assert "--salvage" in message
    salvaged = load_recording(path, salvage=True)
    assert 0.2 * SECONDS < salvaged.duration_s < SECONDS * share + 0.35


def test_an_m4a_whose_index_was_never_written_is_named_so(tmp_path: Path) -> None:
    path = encode(tmp_path / "tone.m4a", "aac", {})
    path.write_bytes(path.read_bytes()[: int(path.stat().st_size * 0.7)])
    assert "index is missing" in refused(path)


def test_damage_in_the_middle_is_told(tmp_path: Path) -> None:
    path = encode(tmp_path / "tone.mp3", "libmp3lame", {})
    data = bytearray(path.read_bytes())
    data[len(data) // 2 : len(data) // 2 + 600] = bytes(600)
    path.write_bytes(data)
    assert "damaged at" in refused(path) or "cut short" in refused(path)
    assert load_recording(path, salvage=True).duration_s > SECONDS - 0.3


@pytest.mark.parametrize("rate", [8000, 16000, 22050, 48000, 96000])
@pytest.mark.parametrize("channels", [1, 2, 4])
def test_any_rate_and_channels_become_16_khz_mono(tmp_path: Path, rate: int, channels: int) -> None:
    path = tmp_path / "a.wav"
    wave = np.zeros((rate, channels), np.float32)
    wave[rate // 2 :, 0] = 0.5 * np.sin(np.arange(rate - rate // 2) * 2 * np.pi * 300 / rate)
    sf.write(path, wave, rate)
    recording = load_recording(path)
    assert recording.sample_rate == 16000
    assert recording.duration_s == pytest.approx(1.0, abs=0.003)
    assert np.abs(recording.samples).max() == pytest.approx(0.5 / channels, rel=0.06)  # the mean
    first = np.flatnonzero(np.abs(recording.samples) > 0.05 / channels)[0]
    assert first / 16000 == pytest.approx(0.5, abs=0.003)  # resampling moves no onset


def test_the_offset_is_taken_away(tmp_path: Path) -> None:
    sf.write(tmp_path / "a.wav", tone(1.0) * 0.5 + 0.2, RATE)
    assert abs(float(load_recording(tmp_path / "a.wav").samples.mean())) < 1e-5


@pytest.mark.parametrize(
    ("content", "tells"),
    [
        (b"", "empty"),
        (b"Not a sound at all. " * 60, "cannot be decoded"),
        (os.urandom(5000), "cannot be decoded"),
    ],
    ids=["empty", "text", "noise"],
)
def test_what_is_no_sound_is_refused(tmp_path: Path, content: bytes, tells: str) -> None:
    path = tmp_path / "a.wav"
    path.write_bytes(content)
    assert tells in refused(path)


def test_what_is_no_file_is_refused(tmp_path: Path) -> None:
    assert "no such file" in refused(tmp_path / "none.wav")
    assert "is a folder" in refused(tmp_path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes on this system")
def test_a_pipe_is_refused_and_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.wav")
    assert "no ordinary file" in refused(tmp_path / "pipe.wav")


def test_a_file_without_permission_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.wav"
    sf.write(path, tone(0.5), RATE)

    def deny(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", deny)  # chmod does not stop root
    assert "may not be read" in refused(path)


def test_a_wav_without_a_sample_is_refused(tmp_path: Path) -> None:
    sf.write(tmp_path / "a.wav", np.zeros((0, 1), np.float32), RATE)
    assert "no sound" in refused(tmp_path / "a.wav")


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
def test_samples_that_are_no_numbers_are_refused(tmp_path: Path, bad: float) -> None:
    wave = tone(1.0)
    wave[2000] = bad
    sf.write(tmp_path / "a.wav", wave, RATE, subtype="FLOAT")
    assert "no numbers" in refused(tmp_path / "a.wav")


def test_a_video_without_sound_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.mp4"
    with av.open(str(path), "w") as container:
        stream = container.add_stream("mpeg4", rate=10)
        stream.width = stream.height = 32
        stream.pix_fmt = "yuv420p"
        for _ in range(3):
            container.mux(stream.encode(av.VideoFrame(32, 32, "yuv420p")))
        container.mux(stream.encode(None))
    assert "has no sound in it" in refused(path)


def test_a_streamed_wav_of_unknown_length_is_read(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    pcm = (tone(1.0)[:, 0] * 32767).astype("<i2").tobytes()
    head = b"RIFF\xff\xff\xff\xffWAVEfmt " + struct.pack("<IHHIIHH", 16, 1, 1, RATE, RATE * 2, 2, 16)
    path.write_bytes(head + b"data\xff\xff\xff\xff" + pcm)
    assert load_recording(path).duration_s == pytest.approx(1.0, abs=0.01)
