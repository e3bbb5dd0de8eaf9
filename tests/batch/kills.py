"""`dictate batch` as a program of its own: run to its end, or killed (kill -9) on the way."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).parents[2]


def started(folder: Path, to: Path, *more: str) -> subprocess.Popen[str]:
    """A batch of a folder, in a process group of its own as at a terminal; its library beside its notes."""
    command = [sys.executable, "-m", "dictate", "batch", str(folder), "--to", str(to)]
    command += ["--library", str(to.with_suffix(".sqlite")), *more]
    return subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT, start_new_session=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip


def finished(folder: Path, to: Path, *more: str) -> subprocess.CompletedProcess[str]:
    """The same, run to its end."""
    running = started(folder, to, *more)
    out, err = running.communicate(timeout=600)
    return subprocess.CompletedProcess(running.args, running.returncode, out, err)


def killed_when(folder: Path, to: Path, files: int, *, more: Sequence[str] = (), after_s: float = 0.0) -> int:
    """Kill the parent alone as soon as so many files are below `to` (then `after_s` later); how many whole
    lines its manifest has. Its workers must end by themselves."""
    running = started(folder, to, *more)
    while running.poll() is None and len([p for p in to.rglob("*") if p.is_file()]) < files:
        time.sleep(0.002)
    time.sleep(after_s)
    running.send_signal(signal.SIGKILL)
    running.communicate()
    manifest = to / "batch.jsonl"
    return manifest.read_bytes().count(b"\n") if manifest.exists() else 0


def left_alive(leader: int) -> list[int]:
    """The processes that are still there of a session (Linux)."""
    found = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = path.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[3]) == leader and fields[0] != "Z":
            found.append(int(path.parent.name))
    return found
