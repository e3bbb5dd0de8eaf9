"""Latency of a session in real time: from the end of what is said to what the taster gets, and where it goes.

    python tests/bench/bench_listen.py [--recordings tank-room,after-lunch] [--times 1]

Recordings of audio_demo/ are rehearsed as though they were being said, both ears at work as in `dictate
listen`; where a line ends is known from its truth file. Figures, seconds from the end of the line:

    cue         the clock started or stopped, the next wine begun: told (goal: median 0.5, 95 % 0.9)
    phrase      its words are in the note (goal: median 1.5)
    word        a word of a long breath group is seen while the taster talks on, from the end of the word
    closed      the note is written, from the end of the breath group that "next wine" begins (goal: 3)

    careful     the careful ear's words, from the end of the breath group

and for cues and phrases the steps: silence waited for until the quick ear is asked, then until it begins,
until it has decoded, and until the story has told. Where the breath group is known to have ended only after
that, the wait stands under "ended". A recording takes its own time (90 s). Measures only, asserts nothing;
other programs at work make it worse.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.listen.asking import Growing, Outcome  # noqa: E402
from dictate.listen.ears import Ready, Reply, Task  # noqa: E402
from dictate.listen.folder import begin  # noqa: E402
from dictate.listen.microphone import Block  # noqa: E402
from dictate.listen.rehearsal import Rehearsal  # noqa: E402
from dictate.listen.session import Session  # noqa: E402
from dictate.listen.story import News  # noqa: E402
from dictate.settings import Settings  # noqa: E402

DEMO = ROOT / "audio_demo"
STEPS = ("silence", "queue", "decoding", "ended", "story")


class Timed(Rehearsal):
    """A rehearsal that knows when it began."""

    began = 0.0

    def blocks(self) -> Iterator[Block]:
        self.began = time.monotonic()
        yield from super().blocks()


@dataclass
class Asked:
    """A quick task on its way; seconds of the wall clock."""

    task: Task
    sent: float
    begun: float = 0.0
    done: float = 0.0


@dataclass
class Probe:
    """Looks on while a session runs; all times are seconds in the recording as it is played."""

    source: Timed
    asked: dict[int, Asked] = field(default_factory=dict)
    heard: list[tuple[Outcome, float, float]] = field(default_factory=list)  # from, until
    news: list[tuple[News, float]] = field(default_factory=list)
    closed: list[float] = field(default_factory=list)
    words: list[float] = field(default_factory=list)  # latency of words seen while they are said
    careful: list[float] = field(default_factory=list)  # latency of the careful ear
    idle_from: float = 0.0
    _seen: int = 0

    def now(self) -> float:
        return time.monotonic() - self.source.began

    def ask(self, hear: Callable[[Task], None]) -> Callable[[Task], None]:
        def told(task: Task) -> None:
            self.asked[task.number] = Asked(task, self.now())
            hear(task)

        return told

    def reply(self, replied: Callable[[Reply], None]) -> Callable[[Reply], None]:
        def told(reply: Reply) -> None:
            asked = self.asked.get(reply.number)
            if asked is not None:  # one after the other: it began when the one before was done
                asked.done = self.now()
                asked.begun = max(asked.sent, self.idle_from)
                self.idle_from = asked.done
            replied(reply)

        return told

    def hear(self, heard: Callable[[Outcome], None]) -> Callable[[Outcome], None]:
        def told(outcome: Outcome) -> None:
            began = self.now()
            heard(outcome)
            self.heard.append((outcome, began, self.now()))
            if outcome.sure:
                self.careful.append(began - outcome.stretch.end_s)
            self._seen = 0

        return told

    def grow(self, grew: Callable[[Growing], None]) -> Callable[[Growing], None]:
        def told(growing: Growing) -> None:
            grew(growing)
            self.words += [self.now() - w.end_s for w in growing.words[self._seen :]]
            self._seen = len(growing.words)

        return told

    def write(self, write: Callable[[Any], bool]) -> Callable[[Any], bool]:
        def told(note: Any) -> bool:
            done = write(note)
            self.closed.append(self.now())
            return done

        return told


def run(name: str, folder: Path) -> Probe:
    """One recording through a session, in real time."""
    path = next(p for p in DEMO.glob(f"{name}.*") if p.suffix in (".flac", ".opus"))
    source = Timed(path)
    probe = Probe(source)
    with begin(folder) as opened:
        session = Session(
            opened, Settings(), source=source, on_news=lambda item, _: probe.news.append((item, probe.now()))
        )
        patch: Any = session
        patch._heard = probe.hear(session._heard)
        patch._replied = probe.reply(session._replied)
        patch._write = probe.write(session._write)
        patch._saying.grow = probe.grow(session._saying.grow)
        ready = session._ready

        def when_ready(told: Ready) -> None:
            print(f"  the {told.ear} ear was ready after {probe.now():.1f} s", file=sys.stderr)
            ready(told)

        patch._ready = when_ready
        take = session._take

        def with_ears(known: Any) -> None:
            quick: Any = session._ears.get("quick")
            if quick is not None and not hasattr(quick, "probed"):
                quick.probed = True
                quick.hear = probe.ask(quick.hear)
            take(known)

        patch._take = with_ears
        session.run()
    return probe


@dataclass
class Figures:
    cue: list[float] = field(default_factory=list)
    phrase: list[float] = field(default_factory=list)
    closed: list[float] = field(default_factory=list)
    word: list[float] = field(default_factory=list)
    careful: list[float] = field(default_factory=list)
    steps: dict[str, list[list[float]]] = field(default_factory=lambda: {"cue": [], "phrase": []})
    missed: int = 0

    def add(self, probe: Probe, lines: list[dict[str, Any]]) -> None:
        """What came of the lines of one recording."""
        self.word += probe.words
        self.careful += probe.careful
        begun = 0
        for line in lines:
            end_s = line["end_s"]
            first = next(
                (h for h in probe.heard if h[0].stretch.start_s < end_s - 0.1 < h[0].stretch.end_s), None
            )
            if first is None:
                self.missed += 1
                continue
            if line["cue"] == "begin":
                begun += 1
                later = [at for at in probe.closed if at > line["start_s"]]
                spoken = [h[0].stretch for h in probe.heard]
                said_s = min(s.end_s for s in spoken if s.end_s > line["start_s"] + 0.1)
                if begun > 1 and later:
                    self.closed.append(later[0] - said_s)
            if line["cue"] in ("away", "gone", "begin"):
                told = [
                    at
                    for item, at in probe.news
                    if item.kind == line["cue"] and line["start_s"] - 0.6 < item.at_s < end_s
                ]
                if not told:
                    self.missed += 1
                    continue
                self.cue.append(told[0] - end_s)
                kind = "cue"
            elif line["cue"] is None:
                self.phrase.append(first[2] - end_s)
                kind = "phrase"
            else:
                continue
            self.steps[kind].append(steps_of(probe, first, end_s))

    def show(self) -> None:
        """A line for each figure, and the steps."""
        for name, goal in (
            ("cue", "median 0.5, 95 % 0.9"),
            ("phrase", "median 1.5"),
            ("word", ""),
            ("closed", "3"),
            ("careful", ""),
        ):
            values = getattr(self, name)
            if values:
                middle, most, worst = np.percentile(values, (50, 95, 100))
                goal = f"  (goal: {goal})" if goal else ""
                print(
                    f"{name:8} {len(values):4}  median {middle:.2f}  95 % {most:.2f}  worst {worst:.2f}{goal}"
                )
        print(f"lines of which nothing was told or heard: {self.missed}")
        for kind, rows in self.steps.items():
            if rows:
                parts = "  ".join(
                    f"{step} {np.median(column):.2f} / {np.percentile(column, 95):.2f}"
                    for step, column in zip(STEPS, zip(*rows, strict=True), strict=True)
                )
                print(f"where the time goes, {kind} (median / 95 %): {parts}")


def steps_of(probe: Probe, heard: tuple[Outcome, float, float], end_s: float) -> list[float]:
    """Seconds of each of STEPS for one line."""
    outcome, began, until = heard
    asked = [
        a
        for a in probe.asked.values()
        if not a.task.growing
        and a.done
        and abs(a.task.stretch.end_s - outcome.stretch.end_s) <= 0.06
        and abs(a.task.stretch.start_s - outcome.stretch.start_s) <= 0.06
    ]
    if not asked:
        return [began - end_s, 0.0, 0.0, 0.0, until - began]
    one = asked[-1]
    return [one.sent - end_s, one.begun - one.sent, one.done - one.begun, began - one.done, until - began]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--recordings", default="tank-room,after-lunch,guests-table,bottling-line")
    parser.add_argument("--times", type=int, default=1)
    args = parser.parse_args()
    figures = Figures()
    for name in args.recordings.split(",") * args.times:
        lines = json.loads((DEMO / f"{name}.truth.json").read_text("utf-8"))["lines"]
        print(f"{name} ...", file=sys.stderr)
        with tempfile.TemporaryDirectory() as parent:
            figures.add(run(name, Path(parent) / "tasting"), lines)
    figures.show()


if __name__ == "__main__":
    main()
