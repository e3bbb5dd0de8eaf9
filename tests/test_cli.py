"""The command line as a user meets it: output, exit codes, one line for each thing that goes wrong."""

from __future__ import annotations

import errno
import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
import soundfile as sf

from dictate import cli, files, show
from dictate.commands import note as note_command
from dictate.note import json_schema, read_note
from dictate.values import Heard, Word

TWO_WINES = """WEBVTT

00:00:01.000 --> 00:00:04.000
next wine, number one, Riesling, Clare Valley, twenty twenty two

00:00:05.000 --> 00:00:08.000
on the nose, lime and green apple

00:00:09.000 --> 00:00:10.000
spitting now

00:00:20.500 --> 00:00:21.500
all gone

00:00:23.000 --> 00:00:26.000
next wine, number two, Merlot

00:00:27.000 --> 00:00:29.000
the palate has high acidity
"""
BROKEN_TIMES = "WEBVTT\n\n00:00:0x.000 --> 00:00:04.000\nlime\n"


@pytest.fixture
def two_wines(tmp_path: Path) -> Path:
    path = tmp_path / "bench.vtt"
    path.write_text(TWO_WINES, encoding="utf-8")
    return path


def run(*arguments: str | Path, cwd: Path, **more: Any) -> subprocess.CompletedProcess[str]:
    """`dictate` as a program of its own."""
    command = [sys.executable, "-m", "dictate", *map(str, arguments)]
    environment = os.environ | {"PYTHONPATH": str(Path(__file__).parents[1])}
    settings = {"capture_output": True, "text": True, "stdin": subprocess.DEVNULL, "timeout": 120} | more
    return subprocess.run(command, cwd=cwd, env=environment, check=False, **settings)


def one_line(capsys: pytest.CaptureFixture[str]) -> str:
    """The single line on standard error; nothing may be on standard output."""
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.count("\n") == 1, captured.err
    assert "Traceback" not in captured.err
    return captured.err


def test_json_is_one_array_of_valid_notes_and_nothing_else(two_wines: Path, tmp_path: Path) -> None:
    done = run("note", two_wines, "--json", cwd=tmp_path)
    assert done.returncode == 0
    notes = json.loads(done.stdout)
    for note in notes:
        jsonschema.validate(note, json_schema())
        read_note(note)
    assert [n["wine"]["position"] for n in notes] == [1, 2]
    assert (notes[0]["finish"]["how"], notes[0]["finish"]["seconds"]) == ("timed", 11.5)
    assert done.stderr == ""
    assert sorted(p.name for p in tmp_path.iterdir()) == ["bench.vtt"]


def test_without_json_two_files_a_note_and_a_summary_with_the_cautions_once(
    two_wines: Path, tmp_path: Path
) -> None:
    done = run("note", two_wines, "--to", "out", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert len(list((tmp_path / "out").glob("*.json"))) == len(list((tmp_path / "out").glob("*.md"))) == 2
    assert "held 11.50 s, timed by cue" in done.stdout
    assert done.stdout.count("Alcohol is absorbed even when you spit.") == 1
    assert done.stdout.count("resolution, not the accuracy") == 1
    assert done.stdout.rstrip().endswith("come first.")


def test_notes_go_to_a_folder_named_notes_by_default(two_wines: Path, tmp_path: Path) -> None:
    run("note", two_wines, cwd=tmp_path)
    assert len(list((tmp_path / "notes").iterdir())) == 4


def test_the_same_recording_twice_gives_the_same_files(two_wines: Path, tmp_path: Path) -> None:
    first = run("note", two_wines, cwd=tmp_path)
    names = sorted(p.name for p in (tmp_path / "notes").iterdir())
    assert run("note", two_wines, cwd=tmp_path).stdout == first.stdout
    assert sorted(p.name for p in (tmp_path / "notes").iterdir()) == names


def write_sound(path: Path, samples: np.ndarray, *, subtype: str | None = None) -> Path:
    sf.write(str(path), samples, 16_000, subtype=subtype)
    return path


def hum(seconds: float = 4.0) -> np.ndarray:
    return (np.sin(np.arange(int(seconds * 16_000)) * 0.05) * 0.1).astype("f4")


def truncated_mp3(folder: Path) -> Path:
    whole = write_sound(folder / "whole.mp3", hum())
    cut = folder / "cut.mp3"
    cut.write_bytes(whole.read_bytes()[: whole.stat().st_size // 2])
    return cut


def written(path: Path, content: bytes) -> Path:
    path.write_bytes(content)
    return path


BAD = {
    "no such file": lambda d: d / "nothing.wav",
    "no such transcript": lambda d: d / "nothing.vtt",
    "an empty file": lambda d: written(d / "empty.wav", b""),
    "no sound in it": lambda d: written(d / "letter.wav", b"Dear all, the tasting is at nine.\n" * 40),
    "a truncated MP3": truncated_mp3,
    "no samples": lambda d: write_sound(d / "zero.wav", np.zeros(0, "f4")),
    "samples that are no numbers": lambda d: write_sound(
        d / "nan.wav", np.where(np.arange(32_000) % 100 == 7, np.nan, hum(2.0)), subtype="FLOAT"
    ),
    "a folder": lambda d: d,
    "broken times": lambda d: written(d / "broken.vtt", BROKEN_TIMES.encode()),
    "absurd hours": lambda d: written(
        d / "h.vtt", BROKEN_TIMES.replace("00:00:0x", "9" * 400 + ":00:00").encode()
    ),
    "far too loud": lambda d: write_sound(d / "loud.wav", hum() * 1e30, subtype="FLOAT"),
    "a transcript of bytes": lambda d: written(d / "bytes.vtt", b"WEBVTT\n\n\xff\xfe"),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_input_is_one_line_and_exit_code_2(
    case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    path = BAD[case](tmp_path)
    before = sorted(tmp_path.rglob("*"))
    assert cli.main(["note", str(path), "--to", "out"]) == 2
    line = one_line(capsys)
    assert line.startswith(f"dictate: {path}")
    assert ";" in line  # behind it: what to do
    assert sorted(tmp_path.rglob("*")) == before


def test_one_broken_source_of_three_is_named_and_the_others_are_done(two_wines: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.srt"
    other.write_text("1\n00:00:01,000 --> 00:00:03,000\nthe nose has violets\n")
    broken = written(tmp_path / "broken.vtt", BROKEN_TIMES.encode())
    done = run("note", two_wines, broken, other, "--json", cwd=tmp_path)
    assert done.returncode == 1
    assert len(json.loads(done.stdout)) == 3
    assert "broken.vtt" in done.stderr
    assert "bench.vtt" not in done.stderr


def test_all_sources_broken_is_exit_code_2(tmp_path: Path) -> None:
    done = run("note", "a.wav", "b.wav", "--json", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert "a.wav" in done.stderr
    assert "b.wav" in done.stderr


@pytest.mark.model
def test_a_recording_without_speech_gives_an_empty_result_that_says_so(
    tmp_path: Path, recogniser: Any, monkeypatch: pytest.MonkeyPatch, capsysbinary: Any
) -> None:
    monkeypatch.setattr(note_command.LateRecogniser, "_load", lambda self: recogniser)
    noise = np.random.default_rng(1).normal(size=16_000 * 5).astype("f4") * 1e-3
    path = write_sound(tmp_path / "room.wav", noise)
    assert cli.main(["note", str(path), "--json"]) == 0
    out, err = capsysbinary.readouterr()
    assert json.loads(out) == []
    assert b"no speech in it" in err


def test_missing_weights_are_one_line_with_the_command_that_gets_them(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write_sound(tmp_path / "hum.wav", hum())
    assert cli.main(["note", str(path), "--model", str(tmp_path / "nowhere"), "--json"]) == 2
    assert "--model" in one_line(capsys)


def test_a_full_standard_output_is_one_line_and_exit_code_2(two_wines: Path, tmp_path: Path) -> None:
    if not Path("/dev/full").exists():
        pytest.skip("needs /dev/full (Linux)")
    with Path("/dev/full").open("w") as full:
        done = run(
            "note",
            two_wines,
            "--json",
            cwd=tmp_path,
            stdout=full,
            stderr=subprocess.PIPE,
            capture_output=False,
        )
    assert done.returncode == 2
    assert done.stderr == "dictate: the disk is full; make room, or give another folder with --to\n"


def test_a_full_disk_is_one_line_and_nothing_half_written(
    two_wines: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    calls = 0

    def fsync_until_full(_: int) -> None:
        nonlocal calls
        calls += 1
        if calls == 2:  # the first note's Markdown no longer fits
            raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(files.os, "fsync", fsync_until_full)
    assert cli.main(["note", str(two_wines), "--to", str(tmp_path / "out")]) == 2
    assert "the disk is full" in one_line(capsys)
    assert list((tmp_path / "out").iterdir()) == []


@pytest.mark.skipif(sys.platform != "linux", reason="mounts a small disk: Linux only")
def test_a_disk_that_is_really_full(two_wines: Path, tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=4k", "tmpfs", str(disk)]
    if subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("may not mount a small disk here (needs root); the case is simulated above")
    try:
        (disk / "filler").write_bytes(b"x" * 4096)
        done = run("note", two_wines, "--to", disk, cwd=tmp_path)
        left = sorted(p.name for p in disk.iterdir())
    finally:
        subprocess.run(["umount", str(disk)], check=True)
    assert done.returncode == 2
    assert done.stderr == "dictate: the disk is full; make room, or give another folder with --to\n"
    assert left == ["filler"]


def test_a_folder_that_is_a_file_is_one_line(
    two_wines: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    taken = written(tmp_path / "taken", b"x")
    assert cli.main(["note", str(two_wines), "--to", str(taken)]) == 2
    assert str(taken) in one_line(capsys)


@pytest.mark.parametrize(
    "arguments", [[], ["note"], ["note", "x.vtt", "--frobnicate"], ["note", "x.vtt", "--language", "fr"]]
)
def test_a_wrong_command_line_is_one_line_and_exit_code_2(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stopped:
        cli.main(arguments)
    assert stopped.value.code == 2
    assert "--help" in one_line(capsys)


@pytest.mark.skipif(os.name != "posix", reason="needs a named pipe and SIGINT")
def _interrupted(program: subprocess.Popen[str]) -> tuple[str, str]:
    """What a program says to Ctrl-C. A signal that comes right before a system call blocks is seen by Python
    only behind that call: then Ctrl-C is pressed again, as a person would."""
    for _ in range(6):
        program.send_signal(signal.SIGINT)
        try:
            return program.communicate(timeout=10)
        except subprocess.TimeoutExpired:
            continue
    raise AssertionError("the program goes on")


def test_ctrl_c_is_one_line_and_exit_code_130(tmp_path: Path) -> None:
    pipe = tmp_path / "endless.vtt"  # nobody ever writes into it: the program waits in the midst of its work
    os.mkfifo(pipe)
    command = [sys.executable, "-m", "dictate", "note", str(pipe), "--json"]
    environment = os.environ | {"PYTHONPATH": str(Path(__file__).parents[1])}
    with subprocess.Popen(
        command,
        env=environment,
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        # a shell without job control makes what it runs in the background deaf to Ctrl-C
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    ) as program:
        writer = os.open(pipe, os.O_WRONLY)  # returns when the program has opened the pipe to read
        try:
            out, err = _interrupted(program)
        finally:
            program.kill()
            os.close(writer)
    assert program.returncode == 130
    assert (out, err) == ("", "dictate: stopped; notes already written are kept\n")


def test_progress_says_how_much_is_left_now_and_then(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    clock = iter([0.0, 5.0, 20.0, 21.0, 40.0])
    monkeypatch.setattr(show.time, "monotonic", lambda: next(clock))
    with show.progress_of("long.wav") as progress:
        for share in (0.1, 0.25, 0.3, 0.5):
            progress(share)
    assert capsys.readouterr().err == (
        "dictate: long.wav: 25% done, about 60 s left\ndictate: long.wav: 50% done, about 40 s left\n"
    )


class _HearsLime:
    """Stands in for weights: whatever the sound, it hears one phrase in it."""

    name = "test"

    def recognise(self, recording: Any, *, progress: Any = None) -> Heard:
        words = [Word(w, i * 0.3, i * 0.3 + 0.3) for i, w in enumerate("the nose has lime".split())]
        return Heard(tuple(words), recording.duration_s, "test")


def test_salvage_takes_what_there_is_of_a_truncated_recording(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsysbinary: Any
) -> None:
    monkeypatch.setattr(note_command.LateRecogniser, "_load", lambda self: _HearsLime())
    cut = truncated_mp3(tmp_path)
    assert cli.main(["note", str(cut), "--json", "--salvage"]) == 0
    (note,) = json.loads(capsysbinary.readouterr().out)
    assert [a["term"] for a in note["nose"]["aromas"]] == ["lime"]
    assert 1.0 < note["recording"]["end_s"] < 3.0  # of four seconds, half was there


@pytest.mark.skipif(sys.platform != "linux", reason="file names of any bytes: Linux only")
def test_a_name_that_is_no_unicode_and_a_closed_output(two_wines: Path, tmp_path: Path) -> None:
    odd = tmp_path / "odd\udcff.vtt"
    odd.write_bytes(two_wines.read_bytes())
    done = run("note", odd, "--json", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)[0]["recording"]["path"].endswith("odd\ufffd.vtt")
    command = f'"{sys.executable}" -m dictate note bench.vtt --json >&-'
    environment = os.environ | {"PYTHONPATH": str(Path(__file__).parents[1])}
    shut = subprocess.run(
        command, shell=True, cwd=tmp_path, env=environment, capture_output=True, check=False
    )
    assert (shut.returncode, shut.stderr.count(b"\n")) == (2, 1)


def test_without_weights_a_transcript_is_still_done(
    two_wines: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sound = write_sound(tmp_path / "hum.wav", hum())
    assert cli.main(["note", str(sound), str(two_wines), "--json", "--model", "nonesuch"]) == 1
    captured = capsys.readouterr()
    assert len(json.loads(captured.out)) == 2
    assert "hum.wav" in captured.err


def test_a_file_that_looks_like_an_option(tmp_path: Path) -> None:
    (tmp_path / "-dash.vtt").write_text(TWO_WINES)
    assert "write ./-dash.vtt" in run("note", "-dash.vtt", cwd=tmp_path).stderr
