"""`dictate batch` from the command line: exit codes, one-line errors, kill -9, Ctrl-C."""

from __future__ import annotations

import json
import os
import signal
import time
from pathlib import Path

import pytest
import soundfile
from filelock import FileLock

from dictate import cli
from dictate.batch.job import Maker
from dictate.batch.manifest import NAME
from dictate.batch.report import PAGE
from dictate.batch.values import Failed, Job, Made, Open
from dictate.note import as_document
from dictate.settings import Settings
from tests.batch import kills
from tests.batch.runs import library_of, notes_below, write_transcripts
from tests.batch.test_run import piece


def test_killed_again_and_again_it_ends_in_the_same_notes(tmp_path: Path) -> None:
    write_transcripts(tmp_path / "in", 9)
    whole = kills.finished(tmp_path / "in", tmp_path / "whole", "--workers", "1")
    assert whole.returncode == 0, whole.stderr
    reached = [
        kills.killed_when(tmp_path / "in", tmp_path / "out", files, more=("--workers", "1"), after_s=after_s)
        for files, after_s in ((4, 0.0), (17, 0.013))
    ]
    assert 0 < reached[0] < reached[1] < 10
    last = kills.finished(tmp_path / "in", tmp_path / "out", "--workers", "1")
    assert last.returncode == 0, last.stderr
    assert notes_below(tmp_path / "out") == notes_below(tmp_path / "whole")
    assert library_of(tmp_path / "out.sqlite") == library_of(tmp_path / "whole.sqlite")
    assert {revisions for _, revisions in library_of(tmp_path / "out.sqlite")} == {1}


def test_stopped_by_ctrl_c_it_tells_what_is_left_and_leaves_nobody_behind(tmp_path: Path) -> None:
    write_transcripts(tmp_path / "in", 40)
    running = kills.started(tmp_path / "in", tmp_path / "out", "--workers", "2")
    while not (tmp_path / "out" / NAME).exists() or (tmp_path / "out" / NAME).read_bytes().count(b"\n") < 3:
        assert running.poll() is None
        time.sleep(0.01)
    os.killpg(running.pid, signal.SIGINT)  # as a terminal does: to its workers too
    out, err = running.communicate(timeout=60)
    assert running.returncode == 130
    assert "left: the same command goes on" in out
    assert "Traceback" not in err
    until = time.monotonic() + 10
    while kills.left_alive(running.pid) and time.monotonic() < until:
        time.sleep(0.05)
    assert kills.left_alive(running.pid) == []
    assert "Stopped" in (tmp_path / "out" / PAGE).read_text()


@pytest.mark.model
def test_two_processes_with_real_weights_make_the_notes_of_one(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    for number in range(2):
        piece(tmp_path / "in" / f"{number}.flac", 6.0, at_s=8.0 * number)
    (tmp_path / "in" / "broken.flac").write_bytes(b"fLaC nonsense")
    ended = kills.finished(tmp_path / "in", tmp_path / "out", "--workers", "2")
    assert ended.returncode == 1, ended.stderr
    assert "broken.flac: cannot be decoded as sound" in ended.stdout
    maker = Maker(Settings(), threads=1)
    expected: dict[str, object] = {}
    for number in range(2):
        ready = maker.ready(
            Open(Job(number, tmp_path / "in" / f"{number}.flac", "sound", ""), may_share=False)
        )
        assert not isinstance(ready, Failed)
        made = maker.make(ready)
        assert isinstance(made, Made)
        expected.update({note.id: as_document(note) for note in made.notes})
    found = {d["id"]: d for name, d in notes_below(tmp_path / "out").items() if name.endswith(".json")}
    assert found == json.loads(json.dumps(expected))
    assert len(found) >= 2


def run(*arguments: object) -> int:
    return cli.main(["batch", *map(str, arguments)])


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["gone"], "gone: No such file or directory"),
        (["empty"], "no recording below empty; check the folder"),
        (["in", "--to", "a file"], "Not a folder"),
        (["in", "--model", "nothing"], "--model nothing: is neither a folder nor one of"),
    ],
)
def test_where_nothing_can_be_done_one_line_says_why(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    arguments: list[str],
    told: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "empty").mkdir()
    (tmp_path / "in").mkdir()
    (tmp_path / "a file").touch()
    soundfile.write(tmp_path / "in" / "a.wav", [0.0] * 1600, 16000)
    assert run(*arguments) == 2
    error = capsys.readouterr().err
    assert told in error
    assert error.count("\n") == 1


@pytest.mark.parametrize("workers", ["0", "-1", "two", "257", "1.5"])
def test_a_number_of_workers_is_a_number(workers: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        run("in", f"--workers={workers}")
    assert ended.value.code == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_one_batch_at_a_time_has_a_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write_transcripts(tmp_path / "in", 1)
    (tmp_path / "out").mkdir()
    with FileLock(tmp_path / "out" / ".batch.lock"):
        assert run(tmp_path / "in", "--to", tmp_path / "out") == 2
    assert "another batch is at work there" in capsys.readouterr().err
