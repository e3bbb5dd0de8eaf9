"""`dictate review` as a command: what it is asked, what it opens, how it ends."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest

from dictate import cli
from dictate.library import Library
from dictate.note import as_document
from tests.review.made import made


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (["99"], "no note has this number"),
        (["nothing.json"], "nothing.json: No such file"),
        (["--find", "acidity over"], "acidity over"),
        (["--find", "fault"], "finds no note"),
        (["--port", "70000"], "is no port"),
        (["--port", "x"], "is no port"),
        (["broken.json"], "broken.json"),
        (["empty"], "empty: no note there"),
        (["--device", "2"], "give --voice too"),
        (["--rehearse", "said.wav"], "give --voice too"),
        (["--voice", "--rehearse", "said.wav"], "said.wav"),
        (["--voice", "--model", "nowhere"], "nowhere"),
    ],
)
def test_bad_input_is_one_line_and_code_2(
    shelf_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path,
    arguments: list[str], line: str,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    (tmp_path / "broken.json").write_text("{", encoding="utf-8")
    (tmp_path / "empty").mkdir()
    try:
        code = cli.main(["review", *arguments, "--no-browser", "--library", str(shelf_path)])
    except SystemExit as end:
        code = int(end.code or 0)
    told = capsys.readouterr()
    assert code == 2
    assert told.out == ""
    assert line in told.err
    assert len(told.err.strip().splitlines()) == 1


def test_notes_of_files_go_into_the_library_and_ctrl_c_ends(tmp_path: Path, own_home: Path) -> None:
    file = tmp_path / "note.json"
    file.write_text(json.dumps(as_document(made(number=7))), encoding="utf-8")
    library = tmp_path / "own.sqlite"
    running = subprocess.Popen(
        [sys.executable, "-m", "dictate", "review", str(file), "--no-browser", "--library", str(library)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=Path(__file__).parents[2],
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )  # fmt: skip
    try:
        assert running.stdout is not None
        link = running.stdout.readline().strip().removeprefix("Review: ")
        with urllib.request.urlopen(link, timeout=10) as answer:
            body = answer.read().decode()
        assert "Tin Wistle" in body
        assert 'data-here="/note/1"' in body
        running.send_signal(signal.SIGINT)
        _, err = running.communicate(timeout=60)
    finally:
        running.kill()
        running.communicate()
    assert (running.returncode, err) == (0, "")
    with Library.open(library) as kept:
        assert kept.get("1").id == "note-7"
