"""The recording of a session: whole at any moment, and its header never promises more than there is."""

from __future__ import annotations

import errno
import signal
import subprocess
import sys
import time
import wave
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from dictate.audio import SourceError, load_recording
from dictate.listen.recorder import RecordedSound, Recorder, silent

RATE = 16000
ROOT = Path(__file__).parents[2]


def sound(seconds: float, seed: int = 1) -> np.ndarray:
    return np.random.default_rng(seed).integers(-3000, 3000, round(seconds * RATE)).astype(np.int16)


def read(path: Path) -> np.ndarray:
    """By another's reader, which believes the header."""
    samples, rate = soundfile.read(path, dtype="int16")
    assert rate == RATE
    return samples


def test_what_was_written_is_read_by_others(tmp_path: Path) -> None:
    path, said = tmp_path / "a.wav", sound(3.3)
    with Recorder(path) as recorder:
        for at in range(0, len(said), 800):
            recorder.write(said[at : at + 800])
        assert recorder.seconds == pytest.approx(3.3)
    np.testing.assert_array_equal(read(path), said)
    with wave.open(str(path)) as other:
        assert (other.getnframes(), other.getnchannels(), other.getsampwidth()) == (len(said), 1, 2)
    assert load_recording(path).duration_s == pytest.approx(3.3)
    recorder.close()  # twice is no harm


def test_it_is_whole_at_any_moment(tmp_path: Path) -> None:
    path, said = tmp_path / "a.wav", sound(2.0)
    with Recorder(path) as recorder:
        for at in range(0, len(said), 800):
            recorder.write(said[at : at + 800])
            there = read(path)
            assert recorder.seconds - len(there) / RATE <= 0.1
            np.testing.assert_array_equal(there, said[: len(there)])


def test_no_recording_is_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    Recorder(path).close()
    with pytest.raises(FileExistsError):
        Recorder(path)
    with pytest.raises(FileNotFoundError):
        Recorder(tmp_path / "other.wav", go_on=True)


@pytest.mark.parametrize("torn", [0, 1, 2, 777])
def test_it_goes_on_behind_what_is_there(tmp_path: Path, torn: int) -> None:
    path, said = tmp_path / "a.wav", sound(1.0)
    with Recorder(path) as recorder:
        recorder.write(said)
    with path.open("ab") as file:  # killed behind the samples, before the header
        file.write(b"\x01" * torn)
    with Recorder(path, go_on=True) as recorder:
        assert recorder.seconds == pytest.approx(1.0 + torn // 2 / RATE)
        for part in silent(0.5):
            recorder.write(part)
        recorder.write(said)
    there = read(path)
    assert len(there) == RATE + torn // 2 + RATE // 2 + RATE
    np.testing.assert_array_equal(there[:RATE], said)
    np.testing.assert_array_equal(there[-RATE:], said)
    assert not there[-RATE - RATE // 2 : -RATE].any()


@pytest.mark.parametrize("content", [b"", b"RIFF", b"x" * 200, b"RIFF" + b"\0" * 60])
def test_what_is_no_recording_of_ours_is_left_alone(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "a.wav"
    path.write_bytes(content)
    with pytest.raises(SourceError, match="is no recording of a session"):
        Recorder(path, go_on=True)
    with pytest.raises(SourceError, match="is no recording of a session"):
        RecordedSound(path)
    assert path.read_bytes() == content


def test_another_rate_is_not_gone_on_with(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    soundfile.write(path, sound(1.0), 44100, subtype="PCM_16")
    with pytest.raises(SourceError):
        Recorder(path, go_on=True)


def test_a_full_disk_leaves_all_that_was_whole(tmp_path: Path) -> None:
    """A real full disk: the process may write no file longer than a limit (RLIMIT_FSIZE)."""
    path = tmp_path / "a.wav"
    code = f"""
import resource, signal, sys
import numpy as np
from pathlib import Path
from dictate.listen.recorder import Recorder
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (100_001, 100_001))
recorder = Recorder(Path({str(path)!r}))
try:
    for n in range(1000):
        recorder.write(np.full(800, n, np.int16))
except OSError as error:
    print(error.errno, round(recorder.seconds * 16000))
recorder.close()
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)
    number, count = map(int, done.stdout.split())
    assert number == errno.EFBIG
    assert count == (100_001 - 44) // 2
    there = read(path)
    np.testing.assert_array_equal(there, (np.arange(count) // 800).astype(np.int16))


WRITER = """
import sys, time
import numpy as np
from pathlib import Path
from dictate.listen.recorder import Recorder
recorder = Recorder(Path(sys.argv[1]))
n = 0
while True:
    recorder.write((np.arange(n, n + 800) % 30000).astype(np.int16))
    n += 800
    print(n, flush=True)
    time.sleep(0.002)
"""


def test_killed_at_any_moment_it_lacks_a_quarter_second_at_most(tmp_path: Path) -> None:
    rng = np.random.default_rng(7)
    for turn in range(8):
        path = tmp_path / f"{turn}.wav"
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE, text=True, cwd=ROOT
        )
        assert writer.stdout is not None
        writer.stdout.readline()
        time.sleep(float(rng.uniform(0.0, 0.3)))
        writer.send_signal(signal.SIGKILL)
        told = [int(line) for line in writer.stdout.read().split("\n") if line.strip()]
        writer.communicate()
        written = told[-1] if told else 800
        there = read(path)  # as the header tells, nothing mended
        assert written - len(there) <= 0.25 * RATE
        np.testing.assert_array_equal(there, (np.arange(len(there)) % 30000).astype(np.int16))
        with Recorder(path, go_on=True) as recorder:
            assert recorder.seconds * RATE >= written


def test_any_part_is_read_while_it_grows(tmp_path: Path) -> None:
    path, said = tmp_path / "a.wav", sound(1.0)
    with Recorder(path) as recorder:
        there = RecordedSound(path)
        assert len(there) == 0
        assert there[0:100].shape == (0,)
        recorder.write(said)
        assert len(there) == RATE
        np.testing.assert_allclose(there[100:300] * 32768, said[100:300])
        np.testing.assert_allclose(there[-50:] * 32768, said[-50:])
        assert there[RATE - 5 : RATE + 50].shape == (5,)
        assert there[300:100].shape == (0,)
        with pytest.raises(ValueError, match="one after the other"):
            there[::2]
        there.close()


def test_a_file_is_never_longer_than_a_header_can_tell(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("dictate.listen.recorder._MOST", 2000)
    with Recorder(tmp_path / "a.wav") as recorder:
        recorder.write(sound(1000 / RATE))
        with pytest.raises(OSError, match="begin another session") as caught:
            recorder.write(sound(1 / RATE))
    assert caught.value.errno == errno.EFBIG
    assert len(read(tmp_path / "a.wav")) == 1000


@settings(max_examples=40, deadline=None)
@given(st.binary(max_size=300), st.integers(0, 60))
def test_hostile_files_are_refused_or_gone_on_with(content: bytes, keep: int) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.wav"
        Recorder(path).close()
        ours = path.read_bytes()
        path.write_bytes(ours[:keep] + content)
        try:
            with Recorder(path, go_on=True) as recorder:
                recorder.write(sound(0.01))
        except SourceError:
            assert path.read_bytes() == ours[:keep] + content
            return
        with wave.open(str(path)) as other:  # libsndfile takes sound that begins with "OggS" for no WAV
            assert other.getnframes() == path.stat().st_size // 2 - 22
