"""A whole session, recognisers and all: a recording played into it gives the wines and times of its file."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from dictate.board import Board
from dictate.listen.eventlog import Began, Ended, GapEvent, HeardEvent, WrittenEvent, read_log
from dictate.listen.folder import LOG, NOTES, RECORDING, begin
from dictate.listen.rehearsal import Rehearsal
from dictate.listen.session import Session
from dictate.listen.story import News
from dictate.note import Note, as_document
from dictate.pipeline import notes_from_source
from dictate.settings import Settings
from tests.listen.apart import apart
from tests.sound_server import SoundServer

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "audio_demo" / "guests-table.flac"


HOW_SAID = {"said", "at", "confidence", "when", "from_s", "to_s"}
NO_FIELD = {"id", "transcript", "recording", "made_with"}


def values(document: Any) -> Any:
    """What was noted, not how it was said or written: samples that differ by half a step of 16 bits give
    "mustiness" for "musty" and "But" for "but"."""
    if isinstance(document, dict):
        return {k: values(v) for k, v in document.items() if k not in HOW_SAID | NO_FIELD}
    if isinstance(document, list):
        return [values(v) for v in document]
    return document.lower() if isinstance(document, str) else document


def assert_same_clock(heard: list[dict[str, Any]], true: list[dict[str, Any]]) -> None:
    """The same wines, and the clock within 0.05 s. Through a sound server a word at the edge of what is heard
    can become another (seen on a busy machine: one smell of two wines), so other fields are not compared."""
    assert [n["wine"]["position"] for n in heard] == [n["wine"]["position"] for n in true]
    for one, other in zip(heard, true, strict=True):
        assert one["finish"].get("how") == other["finish"].get("how")
        assert one["finish"].get("seconds") == pytest.approx(other["finish"].get("seconds"), abs=0.05)
        assert one["verdict"]["readiness"]["term"] == other["verdict"]["readiness"]["term"]


def assert_same(heard: list[dict[str, Any]], true: list[dict[str, Any]]) -> None:
    """The same wines, fields and remarks, and the clock within 0.05 s."""
    assert_same_clock(heard, true)
    for one, other in zip(heard, true, strict=True):
        found, expected = (values({**n, "finish": {**n["finish"], "seconds": None}}) for n in (one, other))
        assert found == expected


@pytest.fixture(scope="module")
def of_the_file() -> list[dict[str, Any]]:
    """The notes of the whole recording, whose breath groups are heard one by one, as a session's are."""
    return [as_document(n) for n in notes_from_source(DEMO, recogniser=apart(), settings=Settings())]


def written(folder: Path) -> list[dict[str, Any]]:
    return [json.loads(f.read_text("utf-8")) for f in sorted((folder / NOTES).glob("*.json"))]


@pytest.mark.model
def test_a_session_gives_the_wines_and_times_of_its_recording(
    tmp_path: Path, of_the_file: list[dict[str, Any]]
) -> None:
    boards: list[Board] = []
    news: list[News] = []
    folder = tmp_path / "tasting"
    with begin(folder) as opened:
        session = Session(
            opened,
            Settings(),
            source=Rehearsal(DEMO, pace=0),
            show=boards.append,
            on_news=lambda item, _: news.append(item),
        )
        notes: tuple[Note, ...] = session.run()
    documents = [as_document(n) for n in notes]
    assert_same(documents, of_the_file)
    assert written(folder) == documents  # and no note twice
    assert {opened.files[n.id][0] for n in notes} == set((folder / NOTES).glob("*.json"))
    assert boards[-1].mode == "ended"
    assert {n.kind for n in news if n.sure} >= {"begin", "away", "gone"}

    log = read_log(folder / LOG)
    assert log.damaged == ()
    assert isinstance(log.events[0], Began)
    assert isinstance(log.events[-1], Ended)
    assert log.events[-1].how == "closed"
    words = [w.text for e in log.events if isinstance(e, HeardEvent) for w in e.words]
    assert len(words) > 80
    files = [f for e in log.events if isinstance(e, WrittenEvent) for f in e.files]
    assert {folder / f for f in files} >= set((folder / NOTES).iterdir())
    assert notes[0].recording is not None
    assert notes[0].recording.path == str(folder / RECORDING)


def listen(folder: Path, *more: str, env: dict[str, str] | None = None) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "dictate", "listen", "--to", str(folder), "--volume", "0", *more],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT, env=env,
    )  # fmt: skip


@pytest.mark.model
@pytest.mark.sound_server
def test_what_is_played_into_the_microphone_gives_the_wines_and_times_of_the_file(
    tmp_path: Path, of_the_file: list[dict[str, Any]]
) -> None:
    """The whole way in real time: a sound server, PortAudio, the command."""
    with SoundServer() as server:
        running = listen(tmp_path, env={**server.env, "DICTATE_HOME": str(tmp_path / "home")})
        wait_for_sound(running, tmp_path)
        server.play(DEMO).wait(timeout=180)
        time.sleep(1.5)
        running.send_signal(signal.SIGINT)
        out, err = running.communicate(timeout=240)
    assert running.returncode == 0, err
    (folder,) = tmp_path.glob("2*")
    assert_same_clock(written(folder), of_the_file)
    assert "Do not drive" in out
    assert len(re.findall("Do not drive", out)) == 2  # where it starts and where it ends


def recorded(folder: Path) -> bool:
    """Whether sound has come."""
    return next(folder.glob(f"2*/{RECORDING}")).stat().st_size > 16000


def wait_for_sound(running: subprocess.Popen[str], folder: Path) -> None:
    """Until the session records; fails where it ends before, or after a minute."""
    deadline = time.monotonic() + 60
    while not list(folder.glob(f"2*/{RECORDING}")) or not recorded(folder):
        assert running.poll() is None, running.communicate()
        assert time.monotonic() < deadline
        time.sleep(0.1)


@pytest.mark.model
@pytest.mark.sound_server
def test_a_microphone_pulled_out_and_given_back_costs_what_was_said_meanwhile(
    tmp_path: Path, of_the_file: list[dict[str, Any]]
) -> None:
    """Pulled out in the middle of the first wine's nose, for 4 s: the session goes on, knows the gap, and the
    clocks of both wines are those of the file."""
    with SoundServer() as server:
        running = listen(tmp_path, env={**server.env, "DICTATE_HOME": str(tmp_path / "home")})
        wait_for_sound(running, tmp_path)
        began = time.monotonic()
        player = server.play(DEMO)
        time.sleep(11.3)
        server.unplug()
        time.sleep(4)
        server.plug()
        player.wait(timeout=180)
        took_s = time.monotonic() - began
        time.sleep(1.5)
        running.send_signal(signal.SIGINT)
        _, err = running.communicate(timeout=240)
    assert running.returncode == 0, err
    (folder,) = tmp_path.glob("2*")
    events = read_log(folder / LOG).events
    (gap,) = [e for e in events if isinstance(e, GapEvent)]
    assert gap.reason == "the microphone was gone"
    assert 3.5 < gap.seconds < 8
    heard = [e for e in events if isinstance(e, HeardEvent)]
    assert not [e for e in heard if gap.at_s + 0.1 < (e.start_s + e.end_s) / 2 < gap.at_s + gap.seconds - 0.1]
    assert [e for e in heard if e.end_s < gap.at_s]
    assert sum(e.start_s > gap.at_s + gap.seconds for e in heard) > 12
    (last,) = [e for e in events if isinstance(e, Ended)]
    assert last.at_s >= took_s  # silence stands for what is missing: later times are right
    notes = written(folder)
    assert [n["wine"]["position"] for n in notes] == [n["wine"]["position"] for n in of_the_file]
    for note, true in zip(notes, of_the_file, strict=True):
        assert note["finish"]["seconds"] == pytest.approx(true["finish"]["seconds"], abs=0.05)


@pytest.mark.model
def test_ctrl_c_closes_the_open_note(tmp_path: Path) -> None:
    running = listen(
        tmp_path, "--rehearse", str(DEMO), env={**os.environ, "DICTATE_HOME": str(tmp_path / "h")}
    )
    assert running.stdout is not None
    for line in running.stdout:
        if line.startswith("heard:"):
            break
    running.send_signal(signal.SIGINT)
    out, err = running.communicate(timeout=120)
    assert (running.returncode, err) == (0, "")
    (folder,) = tmp_path.glob("2*")
    (note,) = written(folder)
    assert note["wine"]["position"] == 3
    (file,) = (folder / NOTES).glob("*.json")
    assert f"{file} and .md" in out
    assert "Do not drive" in out
    last = read_log(folder / LOG).events[-1]
    assert isinstance(last, Ended)
    assert last.how == "stopped"


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (["--rehearse", "none.wav"], "no such file"),
        (["--volume", "2"], "is no number from 0 to 1"),
        (["--list", "none.csv"], "none.csv"),
        (["--model", "none"], "none"),
    ],
)
def test_what_cannot_be_done_is_told_in_a_line(tmp_path: Path, more: list[str], says: str) -> None:
    running = listen(tmp_path / "to", *more)
    _, err = running.communicate(timeout=60)
    assert running.returncode == 2
    assert says in err
    assert len(err.strip().splitlines()) == 1
    assert not (tmp_path / "to").exists()
