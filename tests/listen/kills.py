"""One `dictate listen` killed at a moment (kill -9), then `dictate resume --close`: what was lost?

The sound is a rehearsal's, at the pace of the clock: how much had come by the kill is told by the clock. How
that stands to the recording is learnt by watching its file grow: the least that it ever lagged is no lag.
"""

from __future__ import annotations

import json
import os
import signal
import struct
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from dictate.audio import load_recording
from dictate.audio.cutter import LiveCutter
from dictate.listen.eventlog import HeardEvent, Log, read_log
from dictate.listen.folder import LOG, NOTES, RECORDING
from dictate.values import PAUSE_S

ROOT = Path(__file__).parents[2]
RATE = 16000
LOST_S = 0.25  # at most
HEADER = 44
_BLOCK_S = 0.05
_COVERED = 0.8  # of a breath group that is told: edges move when it is cut anew


@dataclass(frozen=True, slots=True)
class Verdict:
    """Of one kill. `lost_s`: sound that had come and is not in the file; `behind_s`: ... of which the header
    did not tell yet, as after a power cut; `faults`: what must not be, in words; none is well."""

    at_s: float
    recorded_s: float
    lost_s: float
    behind_s: float
    groups: int  # breath groups that had ended
    notes: int
    faults: tuple[str, ...]


def run(recording: Path, at_s: float, *, folder: Path, model: str) -> Verdict:
    """Kill a session `at_s` seconds after its first sound, finish it, and judge. `folder`: empty."""
    came_s = _killed(recording, at_s, folder=folder, model=model)
    (session,) = folder.glob("2*")
    recorded_s = _seconds(session / RECORDING)
    told = struct.unpack("<I", (session / RECORDING).read_bytes()[40:HEADER])[0]
    before = read_log(session / LOG)
    resumed = subprocess.run(
        [sys.executable, "-m", "dictate", "resume", "--close", str(session), "--model", model],
        capture_output=True, text=True, cwd=ROOT, check=False, env=_env(folder),
    )  # fmt: skip
    faults = [f"resume gave {resumed.returncode}: {resumed.stderr}"] if resumed.returncode else []
    lost_s, behind_s = came_s - recorded_s, came_s - told / 2 / RATE
    faults += [f"{s:.3f} s of sound lost" for s in (lost_s, behind_s) if s > LOST_S]
    ended = _ended(load_recording(recording).samples[: round(recorded_s * RATE)])
    faults += _lost_groups(ended, before, after=read_log(session / LOG))
    faults += _notes_faults(session)
    notes = len(list((session / NOTES).glob("*.json")))
    return Verdict(at_s, recorded_s, lost_s, behind_s, len(ended), notes, tuple(faults))


def _env(folder: Path) -> dict[str, str]:
    return {**os.environ, "DICTATE_HOME": str(folder / "home"), "PYTHONPATH": str(ROOT)}


def _killed(recording: Path, at_s: float, *, folder: Path, model: str) -> float:
    """Seconds of sound that had come when it was killed, by the clock."""
    command = [sys.executable, "-m", "dictate", "listen", "--to", str(folder), "--volume", "0"]
    command += ["--model", model, "--rehearse", str(recording)]
    quiet = subprocess.DEVNULL
    # a group of its own, as at a terminal; the ears are not killed with it: they must end by themselves
    running = subprocess.Popen(
        command, stdout=quiet, stderr=quiet, cwd=ROOT, env=_env(folder), start_new_session=True
    )
    while not (found := [f for f in folder.glob(f"2*/{RECORDING}") if f.stat().st_size > HEADER]):
        if running.poll() is not None:
            raise RuntimeError(f"dictate listen ended by itself: {running.returncode}")
        time.sleep(0.002)
    (path,) = found
    began_s = time.monotonic()
    ahead_s = 0.0  # recorded at began_s, by the block that came fastest
    while time.monotonic() < began_s + at_s:
        time.sleep(0.01)
        ahead_s = max(ahead_s, _seconds(path) - (time.monotonic() - began_s))
    ended = running.poll() is not None  # the recording was shorter than that
    running.send_signal(signal.SIGKILL)
    came_s = time.monotonic() - began_s + ahead_s
    running.wait()
    return _seconds(path) if ended else came_s


def _seconds(path: Path) -> float:
    return (path.stat().st_size - HEADER) / 2 / RATE


def _ended(samples: np.ndarray) -> list[tuple[float, float]]:
    """Breath groups that had ended in a recording, seconds: as a session cuts them."""
    cutter = LiveCutter()
    block = round(_BLOCK_S * RATE)
    found = [s for at in range(0, len(samples), block) for s in cutter.feed(samples[at : at + block]).ended]
    return [(s.start_s, s.end_s) for s in found if s.end_s + PAUSE_S <= len(samples) / RATE]


def _lost_groups(ended: list[tuple[float, float]], before: Log, *, after: Log) -> list[str]:
    """Breath groups that the log does not tell at the end; and words that it told and does not any more."""
    groups = {(e.start_s, e.end_s) for e in after.events if isinstance(e, HeardEvent)}
    faults = []
    for start_s, end_s in ended:
        covered = sum(max(0.0, min(end, end_s) - max(start, start_s)) for start, end in groups)
        if covered < _COVERED * (end_s - start_s):
            faults.append(f"breath group of {start_s:.2f} s is lost")
    told = [e for e in before.events if isinstance(e, HeardEvent)]
    faults += [f"words of {e.start_s:.2f} s are lost" for e in told if e not in after.events]
    spans = sorted(groups)
    twice = [b for a, b in zip(spans, spans[1:], strict=False) if b[0] < a[1] - 1e-6]
    return faults + [f"breath group of {start:.2f} s is heard twice" for start, _ in twice]


def _notes_faults(session: Path) -> list[str]:
    """A note twice, a page without its note, a file that was being written."""
    files = {f.name for f in (session / NOTES).iterdir()} if (session / NOTES).exists() else set()
    documents = [json.loads((session / NOTES / n).read_text("utf-8")) for n in files if n.endswith(".json")]
    faults = []
    positions = [
        d.get("wine", {}).get("position") for d in documents
    ]  # killed in its first words it has none
    for what, seen in (("id", [d["id"] for d in documents]), ("position", [p for p in positions if p])):
        if len(set(seen)) < len(seen):
            faults.append(f"a note twice, by its {what}: {sorted(map(str, seen))}")
    odd = {n for n in files if n.rpartition(".")[0] + ".json" not in files or n.endswith(".part")}
    pages = {n for n in files if n.endswith(".json") and n[:-4] + "md" not in files}
    return faults + [f"odd files: {sorted(odd | pages)}"] * bool(odd | pages)
