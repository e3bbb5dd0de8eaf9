"""A disk that is really full: recording stops and says so, what is there stays whole, and can be finished."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import wave
from functools import lru_cache
from pathlib import Path

import pytest

from dictate.audio import load_recording
from dictate.listen.eventlog import Ended, HeardEvent, read_log

ROOT = Path(__file__).parents[2]
LUNCH = ROOT / "audio_demo" / "after-lunch.flac"
# a file system of its own that holds 23 s of sound; it is gone with the shell, so what is there is copied out
SCRIPT = """
set -u
mount -t tmpfs -o size=720k dictate "$DISK" || exit 99
"$PYTHON" -m dictate listen --to "$DISK" --volume 0 --model tiny.en --list "$OUT/the list.csv" --blind --rehearse "$LUNCH" >"$OUT/listen.out" 2>"$OUT/listen.err"
echo $? >"$OUT/listen.code"
cp -r "$DISK" "$OUT/full"
mount -o remount,size=8m "$DISK"
"$PYTHON" -m dictate resume --close "$DISK"/2* --model tiny.en >"$OUT/close.out" 2>"$OUT/close.err"
echo $? >"$OUT/close.code"
cp -r "$DISK" "$OUT/room"
"""  # noqa: E501


@lru_cache(maxsize=1)
def own_mounts() -> list[str]:
    """How a shell gets mounts of its own, as root or as anybody; empty where it may not."""
    if shutil.which("unshare"):
        for way in (["unshare", "--mount"], ["unshare", "--user", "--map-root-user", "--mount"]):
            tried = subprocess.run(
                [*way, "mount", "-t", "tmpfs", "-o", "size=1m", "dictate", "/mnt"],
                capture_output=True, check=False,
            )  # fmt: skip
            if tried.returncode == 0:
                return way
    return []


def seconds(recording: Path) -> float:
    """By another's reader, which believes the header."""
    with wave.open(str(recording)) as file:
        return file.getnframes() / file.getframerate()


@pytest.mark.model
def test_a_full_disk_ends_a_session_in_order_and_with_room_it_is_finished(tmp_path: Path) -> None:
    if not own_mounts():
        pytest.skip("may not mount a file system of its own")
    (tmp_path / "disk").mkdir()
    (tmp_path / "the list.csv").write_text("position,producer\n7,Otter Weir\n", "utf-8")
    env = {
        **os.environ, "DISK": str(tmp_path / "disk"), "OUT": str(tmp_path), "LUNCH": str(LUNCH),
        "PYTHON": sys.executable, "DICTATE_HOME": str(tmp_path / "home"), "PYTHONPATH": str(ROOT),
    }  # fmt: skip
    done = subprocess.run([*own_mounts(), "sh", "-c", SCRIPT], env=env, cwd=ROOT, check=False)
    assert done.returncode == 0

    def told(name: str) -> str:
        return (tmp_path / name).read_text("utf-8")

    assert told("listen.code").strip() == "2"
    error = told("listen.err")
    assert error.count("\n") == 1
    assert error.startswith("dictate: the disk is full")
    assert "not written: 7, " in error
    (disk_folder,) = (f.name for f in (tmp_path / "full").glob("2*"))
    session, wines = tmp_path / "disk" / disk_folder, tmp_path / "the list.csv"
    begun = f"--list '{wines}' --blind --model tiny.en"  # as it was begun: else notes would say otherwise
    assert error.endswith(f"dictate resume --close {session} {begun} once there is room\n")
    assert "PROBLEM: the disk is full: recording has stopped; make room" in told("listen.out")
    full, room = tmp_path / "full" / disk_folder, tmp_path / "room" / disk_folder

    # what was there when it was full is whole
    recorded_s = seconds(full / "recording.wav")
    assert 18 < recorded_s < 23.1
    there = load_recording(full / "recording.wav").samples
    true = load_recording(LUNCH).samples[: len(there)]
    assert abs(there - true).max() < 1e-3
    log = read_log(full / "session.jsonl")
    assert log.damaged == ()
    assert any(isinstance(e, HeardEvent) for e in log.events)  # how many, the speed of the machine says
    assert [p.name for p in (full / "notes").glob("*")] == []

    # and with room the session is finished, nothing lost
    assert told("close.code").strip() == "0"
    assert seconds(room / "recording.wav") == recorded_s
    (note,) = (json.loads(f.read_text("utf-8")) for f in (room / "notes").glob("*.json"))
    assert note["wine"]["position"] == 7
    again = read_log(room / "session.jsonl")
    assert again.damaged == ()
    assert again.events[: len(log.events)] == log.events
    assert isinstance(again.events[-1], Ended)
    heard_s = max(e.end_s for e in again.events if isinstance(e, HeardEvent))
    assert heard_s == pytest.approx(recorded_s, abs=4.0)
