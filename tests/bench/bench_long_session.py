"""A session of three hours, faster than real time: memory and lag by quarter hour.

    python tests/bench/bench_long_session.py [--hours 3] [--quarter 900] [--model base] [--pause 20]

A real session with both ears and a board: recordings of audio_demo/ one behind the other, with a faint
noise in the pauses between them, given as fast as it is heard (few breath groups wait for the careful ear).
By quarter hour of sound: resident memory of the session's process and of its ears (MB, /proc: Linux alone);
lag, seconds from the cut of a breath group to the careful ear's words in the story, and of that the story's
(median / 95 %); CPU seconds of the session's process a minute of sound. The goals: memory flat within 10 %
behind the first quarter hour, no growth of lag. About as long as the speech in it: an hour and a half for
three hours on two idle cores, less with a long --pause. The recording needs 115 MB of disk an hour.
Measures only, asserts nothing.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import cycle
from pathlib import Path
from typing import Any

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.audio import load_recording  # noqa: E402
from dictate.listen.asking import Outcome  # noqa: E402
from dictate.listen.folder import begin  # noqa: E402
from dictate.listen.microphone import SAMPLE_RATE, Block  # noqa: E402
from dictate.listen.session import Session  # noqa: E402
from dictate.settings import Settings  # noqa: E402

DEMO = ROOT / "audio_demo"
# after lunch the taster says "end of tasting" in the end
UNTIL_S = {
    "tank-room.flac": None,
    "after-lunch.flac": 84,
    "guests-table.flac": None,
    "bottling-line.opus": None,
}
BLOCK_S = 0.1
WAITING = 3  # breath groups


@dataclass
class Quarter:
    """What was measured in a quarter hour of sound."""

    until_s: float
    memory: dict[str, float] = field(default_factory=dict)
    lags: list[float] = field(default_factory=list)
    story: list[float] = field(default_factory=list)
    cpu_s: float = 0.0
    wall_s: float = 0.0


class Endless:
    """Recordings and pauses, as fast as they are heard; a source like `Rehearsal`."""

    name = "recordings"

    def __init__(self, hours: float, pause_s: float) -> None:
        self._count = round(hours * 3600 / BLOCK_S)
        self._pause = round(pause_s * SAMPLE_RATE)
        self._stopped = False
        self.given_s = 0.0
        self.waits: Callable[[], bool] = lambda: False
        self.passed: Callable[[float], None] = lambda _: None

    def _sound(self) -> Iterator[np.ndarray]:
        noise = np.random.default_rng(5).normal(size=self._pause) * 6  # -75 dB: no microphone is silent
        for name, until_s in cycle(UNTIL_S.items()):
            samples = load_recording(DEMO / name).samples[: until_s and until_s * SAMPLE_RATE]
            yield np.round(samples * 32767).astype(np.int16)
            yield noise.astype(np.int16)

    def blocks(self) -> Iterator[Block]:
        step = round(BLOCK_S * SAMPLE_RATE)
        for sound in self._sound():
            for first in range(0, len(sound), step):
                while self.waits() and not self._stopped:
                    time.sleep(0.01)
                if self._stopped or self._count <= 0:
                    return
                self._count -= 1
                block = sound[first : first + step]
                yield Block(block)
                self.given_s += len(block) / SAMPLE_RATE
                self.passed(self.given_s)

    def stop(self) -> None:
        self._stopped = True


def resident_mb(pid: int) -> float:
    """Resident memory of a process, MB."""
    status = Path(f"/proc/{pid}/status").read_text("ascii", "replace")
    return int(status.split("VmRSS:")[1].split()[0]) / 1024


class Watch:
    """Looks on and prints a line a quarter hour."""

    def __init__(self, quarter_s: float) -> None:
        self._quarter_s = quarter_s
        self._now = Quarter(quarter_s)
        self._cpu, self._wall = time.process_time(), time.monotonic()
        self.cut: dict[int, float] = {}
        self.done: list[Quarter] = []

    def take(self, take: Callable[[Any], None]) -> Callable[[Any], None]:
        def told(known: Any) -> None:
            for each in known:
                if not isinstance(each, Outcome) and hasattr(each, "stretch"):
                    self.cut[each.number] = time.monotonic()
            take(known)

        return told

    def hear(self, heard: Callable[[Outcome], None]) -> Callable[[Outcome], None]:
        def told(outcome: Outcome) -> None:
            began = time.monotonic()
            heard(outcome)
            self._now.story.append(time.monotonic() - began)
            if outcome.sure and (cut := self.cut.pop(outcome.number, None)) is not None:
                self._now.lags.append(time.monotonic() - cut)

        return told

    def passed(self, given_s: float) -> None:
        if given_s >= self._now.until_s:
            self.close()

    def close(self) -> None:
        """The end of a quarter hour."""
        now = self._now
        now.memory = {"session": resident_mb(os.getpid())}
        for child in multiprocessing.active_children():
            if child.pid is not None:
                now.memory[child.name.removeprefix("dictate ")] = resident_mb(child.pid)
        cpu, wall = time.process_time(), time.monotonic()
        now.cpu_s, now.wall_s = cpu - self._cpu, wall - self._wall
        self._cpu, self._wall = cpu, wall
        self.done.append(now)
        self._now = Quarter(now.until_s + self._quarter_s)
        show(now, self._quarter_s)


def show(quarter: Quarter, quarter_s: float) -> None:
    """One line."""
    memory = "  ".join(f"{name} {mb:.0f}" for name, mb in sorted(quarter.memory.items()))
    lags, story = ([*values, 0.0] for values in (quarter.lags, quarter.story))
    print(
        f"{quarter.until_s / 60:5.0f} min  MB: {memory}   groups {len(quarter.lags)}"
        f"  lag {np.median(lags):.2f} / {np.percentile(lags, 95):.2f}"
        f"  story {np.median(story):.3f} / {np.percentile(story, 95):.3f}"
        f"  CPU {quarter.cpu_s / quarter_s * 60:.1f} s a minute"
        f"  x{quarter_s / max(quarter.wall_s, 1e-9):.1f}",
        flush=True,
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--hours", type=float, default=3.0)
    parser.add_argument("--quarter", type=float, default=900.0, help="seconds")
    parser.add_argument("--pause", type=float, default=20.0, help="seconds between recordings")
    parser.add_argument("--model", default=None)
    args = parser.parse_args()
    source, watch = Endless(args.hours, args.pause), Watch(args.quarter)
    source.passed = watch.passed
    with tempfile.TemporaryDirectory() as parent, begin(Path(parent) / "tasting") as opened:
        session = Session(opened, Settings(model=args.model), source=source)
        patch: Any = session
        source.waits = lambda: len(watch.cut) > WAITING or session._inbox.qsize() > WAITING
        patch._heard, patch._take = watch.hear(session._heard), watch.take(session._take)
        notes = session.run()
    first, last = watch.done[0], watch.done[-1]
    print(f"{len(notes)} notes")
    for name, mb in first.memory.items():
        most = max(q.memory.get(name, 0.0) for q in watch.done)
        end = last.memory.get(name, 0.0)
        print(f"{name}: most {most / mb - 1:+.1%}, last {end / mb - 1:+.1%} beside the first")


if __name__ == "__main__":
    main()
