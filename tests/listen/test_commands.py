"""`dictate devices` and `dictate doctor` as a user meets them, with microphones of the test's making."""

from __future__ import annotations

import argparse
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dictate.audio import load_recording
from dictate.commands import devices, doctor
from dictate.commands.bench import add_bench_options, to_finish
from dictate.commands.resume import add_resume_command
from dictate.listen.devices import Device
from dictate.listen.microphone import Block, MicrophoneError
from dictate.recognise import ModelError, Weights
from tests.sound_server import SoundServer, missing

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "audio_demo" / "after-lunch.flac"
RATE = 16000
LAPEL = Device(0, "lapel", 1, 48000.0, False)
DESK = Device(3, "desk", 2, 44100.0, True)


def run(*words: str) -> int:
    """The two commands alone, as cli.py runs them."""
    parser = argparse.ArgumentParser()
    commands = parser.add_subparsers(required=True)
    devices.add_devices_command(commands)
    doctor.add_doctor_command(commands)
    options = parser.parse_args(words)
    code: int = options.run(options)
    return code


def raising(error: Exception) -> Any:
    def fail(*_: Any, **__: Any) -> Any:
        raise error

    return fail


def test_devices_are_listed_one_a_line_and_the_default_is_marked(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("dictate.listen.devices.input_devices", lambda: (LAPEL, DESK))
    monkeypatch.setattr(devices, "input_devices", lambda: (LAPEL, DESK))
    assert run("devices") == 0
    assert (
        capsys.readouterr().out == "0: lapel, 1 channel, 48000 Hz\n3: desk, 2 channels, 44100 Hz (default)\n"
    )


@pytest.mark.parametrize(
    ("found", "told"),
    [
        (lambda: (), "plug one in"),
        (raising(MicrophoneError("PortAudio is missing; install it")), "install it"),
    ],
)
def test_without_a_device_there_is_one_line_and_exit_code_2(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], found: Any, told: str
) -> None:
    monkeypatch.setattr("dictate.listen.devices.input_devices", found)
    assert run("devices") == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert told in shown.err
    assert shown.err.count("\n") == 1


class Spoken:
    """A microphone that gives a recording, then is gone."""

    samples = np.zeros(0, np.int16)
    asked: Any = None

    def __init__(self, device: Any = None) -> None:
        Spoken.asked = device
        self.name = "lapel"

    def __enter__(self) -> Spoken:
        return self

    def __exit__(self, *_: Any) -> None: ...

    def blocks(self) -> Iterator[Block]:
        for first in range(0, len(self.samples), 800):
            yield Block(self.samples[first : first + 800])
        yield Block(np.zeros(0, np.int16), lost=True)


class PortAudio:
    def get_portaudio_version(self) -> tuple[int, str]:
        return 1246720, "PortAudio V19.6.0-devel, revision 396fe4b"


@pytest.fixture
def well(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A computer on which all is as it should be; the folder for notes."""
    speech = load_recording(DEMO).samples[4 * RATE : 8 * RATE]
    monkeypatch.setattr(Spoken, "samples", np.rint(speech * 32767).astype(np.int16))
    monkeypatch.setattr(doctor, "Microphone", Spoken)
    monkeypatch.setattr(doctor, "load_sounddevice", PortAudio)
    monkeypatch.setattr(doctor, "find_listeners", lambda model: (Weights("base", tmp_path, "packages"),))
    free_space(monkeypatch, 100e9)
    return tmp_path / "notes"


def free_space(monkeypatch: pytest.MonkeyPatch, free: float) -> None:
    usage = shutil._ntuple_diskusage(int(1e12), int(1e12 - free), int(free))  # type: ignore[attr-defined]
    monkeypatch.setattr(doctor.shutil, "disk_usage", lambda place: usage)


def test_where_all_is_well_each_line_says_ok(well: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("doctor", "--to", str(well)) == 0
    shown = capsys.readouterr()
    lines = shown.out.splitlines()
    assert [line.partition(": ")[0] for line in lines] == [
        "program",
        "disk",
        "weights",
        "PortAudio",
        "microphone",
        "level",
    ]
    assert all(line.partition(": ")[2].startswith("ok, ") for line in lines)
    assert "room for 864 hours" in lines[1]  # (100 GB - 0.5 GB) / 115.2 MB an hour
    assert "say something now" in shown.err
    assert not well.exists()


@pytest.mark.parametrize(
    ("free", "code", "told"),
    [(5e9, 0, "ok, room for 39 hours"), (1e9, 1, "room for 4 hours"), (0.55e9, 2, "no room for an hour")],
)
def test_disk(
    monkeypatch: pytest.MonkeyPatch,
    well: Path,
    capsys: pytest.CaptureFixture[str],
    free: float,
    code: int,
    told: str,
) -> None:
    free_space(monkeypatch, free)
    assert run("doctor", "--to", str(well)) == code
    assert f"disk: {told}" in capsys.readouterr().out


def test_a_file_where_the_folder_should_be(well: Path, capsys: pytest.CaptureFixture[str]) -> None:
    well.write_text("")
    assert run("doctor", "--to", str(well / "deeper")) == 2
    assert "disk: " in (shown := capsys.readouterr().out)
    assert "--to" in shown


def test_weights_that_are_missing(
    monkeypatch: pytest.MonkeyPatch, well: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(doctor, "find_listeners", raising(ModelError("no weights; get them")))
    assert run("doctor", "--to", str(well)) == 2
    assert "weights: no weights; get them\n" in capsys.readouterr().out


@pytest.mark.parametrize(("name", "what"), [("load_sounddevice", "PortAudio"), ("Microphone", "microphone")])
def test_no_sound_ends_it_there(
    monkeypatch: pytest.MonkeyPatch, well: Path, capsys: pytest.CaptureFixture[str], name: str, what: str
) -> None:
    monkeypatch.setattr(doctor, name, raising(MicrophoneError("it is not here; do this")))
    assert run("doctor", "--to", str(well)) == 2
    assert capsys.readouterr().out.endswith(f"{what}: it is not here; do this\n")


@pytest.mark.parametrize(
    ("samples", "code", "told"),
    [
        (np.zeros(3 * RATE, np.int16), 1, "level: the microphone gives no sound at all"),
        (np.zeros(RATE, np.int16), 2, "level: the microphone stopped"),
    ],
)
def test_level(
    monkeypatch: pytest.MonkeyPatch,
    well: Path,
    capsys: pytest.CaptureFixture[str],
    samples: np.ndarray,
    code: int,
    told: str,
) -> None:
    monkeypatch.setattr(Spoken, "samples", samples)
    assert run("doctor", "--to", str(well)) == code
    assert told in capsys.readouterr().out


@pytest.mark.parametrize(
    ("given", "meant"), [([], None), (["--device", "lapel"], "lapel"), (["--device", "3"], 3)]
)
def test_a_device_by_number_or_by_name(well: Path, given: list[str], meant: Any) -> None:
    run("doctor", "--to", str(well), *given)
    assert Spoken.asked == meant


IN_THE_SERVER = """
import sys
from tests.listen.test_commands import run
sys.exit(run(*sys.argv[1:]))
"""


@pytest.mark.sound_server
def test_both_with_a_real_sound_server(tmp_path: Path) -> None:
    if reason := missing():
        pytest.skip(reason)
    with SoundServer() as server:
        server.play(DEMO)

        def ran(*words: str) -> subprocess.CompletedProcess[str]:
            command = [sys.executable, "-c", IN_THE_SERVER, *words]
            env = server.env | {"PYTHONPATH": str(ROOT), "XDG_CACHE_HOME": str(tmp_path)}
            return subprocess.run(command, env=env, capture_output=True, text=True, check=False, timeout=120)

        listed = ran("devices")
        assert listed.returncode == 0
        assert [line for line in listed.stdout.splitlines() if line.endswith("(default)")] != []
        assert "virtual_microphone" in listed.stdout
        examined = ran("doctor", "--device", "virtual_mic", "--to", str(tmp_path)).stdout
        assert "microphone: ok, virtual_microphone\n" in examined
        assert "level: ok, " in examined


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ((), "dictate resume --close tastings/one"),
        (("--list", "my wines.csv"), "dictate resume --close tastings/one --list 'my wines.csv'"),
        (("--blind", "--model", "base"), "dictate resume --close tastings/one --blind --model base"),
        (("--device", "3", "--volume", "0", "--page"), "dictate resume --close tastings/one"),
    ],
)
def test_a_session_is_finished_as_it_was_begun(given: tuple[str, ...], told: str) -> None:
    parser = argparse.ArgumentParser()
    add_bench_options(parser)
    again = to_finish(Path("tastings/one"), parser.parse_args(given))
    assert again == told
    close = argparse.ArgumentParser()  # and `resume` takes what it is told
    add_resume_command(close.add_subparsers())
    assert close.parse_args(shlex.split(again)[1:]).close
