"""What is played to a real sound server's microphone is recorded, all of it, and what is missing is told."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile as sf
import soxr

from dictate.listen import microphone as microphone_module
from dictate.listen.microphone import Microphone, MicrophoneError
from tests.sound_server import SoundServer, missing

RATE = 16000
ROOT = Path(__file__).parents[2]
RECORD = Path(__file__).with_name("record.py")
WINDOW = 4000  # a quarter of a second: what is compared at a time


@pytest.fixture(scope="module")
def server() -> Iterator[SoundServer]:
    if reason := missing():
        pytest.skip(reason)
    with SoundServer() as started:
        yield started


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, np.ndarray]:
    """Noise below 2 kHz, each stretch of it like no other: the file at 48 kHz, and its samples at 16 kHz."""
    path = tmp_path_factory.mktemp("played") / "noise.wav"
    narrow = soxr.resample(np.random.default_rng(5).normal(size=4000 * 32), 4000, 48000, "VHQ")
    sf.write(path, narrow * 0.1, 48000, subtype="PCM_16")
    return path, soxr.resample(sf.read(path)[0], 48000, RATE, "VHQ")


def recording(server: SoundServer, file: Path, seconds: float, *options: str) -> subprocess.Popen[str]:
    command = ["nice", "-n", "-5", sys.executable, str(RECORD), str(file), str(seconds), *options]
    env = server.env | {"PYTHONPATH": str(ROOT)}
    process = subprocess.Popen(command, env=env, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    assert process.stdout.readline() == "first\n"
    return process


def result(process: subprocess.Popen[str], file: Path) -> Any:
    process.communicate(timeout=60)
    assert process.returncode == 0
    return np.load(file)


def offsets(recorded: np.ndarray, sound: np.ndarray) -> list[int]:
    """Where in the sound each window of the recording is from, in samples; windows without it are left out.
    The first window is sought in all of the sound, the others near the place of the one before.
    """
    found: list[int] = []
    for start in range(0, len(recorded) - WINDOW + 1, WINDOW):
        window = recorded[start : start + WINDOW].astype(np.float64) / 32768
        if np.sqrt(np.mean(window**2)) < 0.03:  # before it began or after it ended
            continue
        count = 1 << (len(sound) + WINDOW).bit_length()
        product = np.fft.rfft(sound, count) * np.conj(np.fft.rfft(window, count))
        likeness = np.fft.irfft(product, count)[: len(sound) - WINDOW]
        place = int(np.argmax(likeness))
        there = sound[place : place + WINDOW]
        sure = likeness[place] / np.sqrt(np.sum(there**2) * np.sum(window**2))
        if sure > 0.9:
            found.append(place - start)
    return found


def level_db(samples: np.ndarray) -> float:
    return 10 * float(np.log10(np.mean(np.square(samples))))


def check_whole(recorded: np.ndarray, sound: np.ndarray, *, windows: int) -> None:
    """The recording holds that many windows of the sound, one behind the other without a sample lost."""
    places = offsets(recorded, sound)
    assert len(places) >= windows
    assert max(places) - min(places) <= 1  # 1: where a peak lies between two samples
    first = max(0, -places[0]) + RATE
    middle = recorded[first : first + 4 * RATE] / 32768
    there = sound[first + places[0] : first + places[0] + 4 * RATE]
    assert level_db(middle) == pytest.approx(level_db(there), abs=0.1)
    assert np.corrcoef(middle, there)[0, 1] > 0.96  # the two may be half a sample apart


@pytest.mark.sound_server
def test_all_that_is_played_is_recorded_under_load(
    server: SoundServer, played: tuple[Path, np.ndarray], tmp_path: Path
) -> None:
    process = recording(server, tmp_path / "r.npz", 22, "load")
    player = server.play(played[0])
    got = result(process, tmp_path / "r.npz")
    player.terminate()
    assert list(got["gaps"]) == []
    check_whole(got["run0"], played[1], windows=76)
    assert got["took_s"] < 0.3


@pytest.mark.sound_server
def test_a_device_of_48_khz_and_two_channels_is_brought_to_16_khz_and_one(
    server: SoundServer, played: tuple[Path, np.ndarray], tmp_path: Path
) -> None:
    process = recording(server, tmp_path / "r.npz", 9, "48k")
    player = server.play(played[0])
    got = result(process, tmp_path / "r.npz")
    player.terminate()
    assert list(got["gaps"]) == []
    check_whole(got["run0"], played[1], windows=24)


def check_gap(got: Any, sound: np.ndarray, *, least_s: float) -> None:
    """One gap, and it is as long as what of the sound is missing."""
    assert len(got["gaps"]) == 1
    before, behind = offsets(got["run0"], sound), offsets(got["run1"], sound)
    assert len(before) >= 4
    assert len(behind) >= 4
    assert max(behind) - min(behind) <= 1
    missing_s = (behind[0] - before[-1] - len(got["run0"])) / RATE
    assert missing_s > least_s
    assert got["gaps"][0] == pytest.approx(missing_s, abs=0.3)


@pytest.mark.sound_server
@pytest.mark.parametrize("option", ["", "48k"])
def test_unplugged_and_plugged_in_again_it_goes_on_and_tells_the_gap(
    server: SoundServer, played: tuple[Path, np.ndarray], tmp_path: Path, option: str
) -> None:
    process = recording(server, tmp_path / "r.npz", 13, option)
    player = server.play(played[0])
    time.sleep(4)
    server.unplug()
    assert process.stdout is not None
    assert process.stdout.readline() == "lost\n"
    time.sleep(2.5)
    server.plug()
    got = result(process, tmp_path / "r.npz")
    player.terminate()
    assert list(got["reasons"]) == ["the microphone was gone"]
    check_gap(got, played[1], least_s=2.5)


@pytest.mark.sound_server
def test_what_comes_late_is_no_gap(
    server: SoundServer, played: tuple[Path, np.ndarray], tmp_path: Path
) -> None:
    """The process stands still for 3 s; the server keeps the sound, and it is taken for what it is."""
    process = recording(server, tmp_path / "r.npz", 14)
    player = server.play(played[0])
    time.sleep(4)
    os.kill(process.pid, signal.SIGSTOP)
    time.sleep(3)
    os.kill(process.pid, signal.SIGCONT)
    got = result(process, tmp_path / "r.npz")
    player.terminate()
    assert list(got["gaps"]) == []
    check_whole(got["run0"], played[1], windows=40)


@pytest.mark.sound_server
def test_it_stops_at_once_while_the_device_is_gone(server: SoundServer, tmp_path: Path) -> None:
    process = recording(server, tmp_path / "r.npz", 4)
    server.unplug()
    try:
        assert result(process, tmp_path / "r.npz")["took_s"] < 1
    finally:
        server.plug()


@pytest.mark.sound_server
def test_earcons_are_heard_and_take_nothing_from_the_recording(server: SoundServer, tmp_path: Path) -> None:
    got = result(recording(server, tmp_path / "r.npz", 6, "earcons"), tmp_path / "r.npz")
    assert str(got["problem"]) == ""
    assert list(got["gaps"]) == []
    blocks = np.square(got["run0"][: len(got["run0"]) // 160 * 160] / 32768.0).reshape(-1, 160).mean(axis=1)
    loud = np.flatnonzero(blocks > 1e-3) / 100
    assert len(loud) > 0
    beginnings = loud[np.flatnonzero(np.diff(loud, prepend=-9) > 0.5)]
    assert len(beginnings) == 2
    assert beginnings[1] - beginnings[0] == pytest.approx(2.0, abs=0.3)  # 40 blocks of 0.05 s


WITHOUT = """
import ctypes.util, sys
ctypes.util.find_library = lambda name: None
from dictate.listen.microphone import Microphone, MicrophoneError
try:
    Microphone().__enter__()
except MicrophoneError as error:
    print(error)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere sounddevice brings the library")
def test_without_portaudio_it_says_how_to_install_it() -> None:
    command = [sys.executable, "-W", "error", "-c", WITHOUT]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True, timeout=60)
    assert "apt-get install libportaudio2" in done.stdout
    assert "brew install portaudio" in done.stdout
    assert done.stdout.count("\n") == 1
    assert done.stderr == ""


class Stub:
    """A sounddevice of tests: devices, and streams that open in some ways."""

    class PortAudioError(Exception):
        pass

    class default:  # noqa: N801
        device = (1, -1)

    def __init__(self, names: Sequence[str], code: int = 0) -> None:
        self.names, self.code, self.asked = names, code, []

    def query_devices(self, device: Any = None, kind: str | None = None) -> Any:
        return [
            {"index": n, "name": name, "max_input_channels": 2, "default_samplerate": 44100.0}
            for n, name in enumerate(self.names)
        ]

    def RawInputStream(self, **options: Any) -> Any:  # noqa: N802
        self.asked.append((options["samplerate"], options["channels"]))
        raise self.PortAudioError("Cannot open", self.code)


@pytest.fixture
def stub(monkeypatch: pytest.MonkeyPatch) -> Any:
    def use(names: Sequence[str], code: int = 0) -> Stub:
        stub = Stub(names, code)
        monkeypatch.setattr("dictate.listen.portaudio.load_sounddevice", lambda: stub)
        return stub

    return use


@pytest.mark.parametrize(
    ("wanted", "names", "told"),
    [
        (None, [], "plug one in"),
        ("lapel", ["desk microphone", "webcam"], "there are: “desk microphone”, “webcam”"),
        (7, ["desk microphone"], "there are: “desk microphone”"),
        ("mic", ["desk mic", "lapel mic"], "choose one: “desk mic”, “lapel mic”"),
        ("", ["desk mic"], "there are: “desk mic”"),
    ],
)
def test_a_device_that_is_not_there(stub: Any, wanted: str | int | None, names: list[str], told: str) -> None:
    stub(names)
    with pytest.raises(MicrophoneError) as caught:
        Microphone(wanted).__enter__()
    assert told in str(caught.value)
    assert "\n" not in str(caught.value)


def test_rates_are_tried_until_one_opens_and_no_more_where_it_is_in_use(stub: Any) -> None:
    tried = stub(["one", "two"], code=-9997)
    with pytest.raises(MicrophoneError, match="“two” cannot be opened"):
        Microphone().__enter__()
    assert tried.asked[0] == (16000, 1)
    assert {(44100, 1), (44100, 2), (48000, 2)} <= set(tried.asked)
    tried = stub(["one"], code=-9985)
    with pytest.raises(MicrophoneError, match="“one” is in use; close"):
        Microphone("ONE").__enter__()
    assert tried.asked == [(16000, 1)]


def test_a_reader_that_is_held_up_loses_the_newest_and_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    class Opened(microphone_module._Source):
        def _open(self, device: Any, block_s: float) -> None:
            self.rate, self.channels = RATE, 1

    monkeypatch.setattr(microphone_module, "_BACKLOG_S", 0.2)
    source = Opened(microphone_module.Device(0, "x", 1, 16000.0, True), 0.1)
    status = type("Status", (), {"input_overflow": False})()
    for _ in range(4):
        source._came(bytes(3200), 1600, None, status)
    assert [(c.cause if (c := source.next(0)) else None) for _ in range(3)] == ["", "", None]
    source._came(bytes(3200), 1600, None, status)
    chunk = source.next(0)
    assert chunk is not None
    assert chunk.cause == "the program was held up"
