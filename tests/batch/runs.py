"""Runs of a batch, and what is to be compared of them."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from dictate.batch.folders import Source, search
from dictate.batch.keeping import Keeper
from dictate.batch.manifest import Making, Manifest
from dictate.batch.run import Batch, Result, State
from dictate.batch.values import Failed, Job, Made, Message, Open
from dictate.batch.workers import Crew, Work, Workers
from dictate.library import Library
from dictate.settings import Settings
from tests.batch import fakes

MAKING = Making("0.1.0", "quick", "lexicon 1", "own 1")


class Here:
    """A crew that is this process: for tests in which processes are not the point."""

    def __init__(self, settings: Settings) -> None:
        self._maker = fakes.QuickMaker(settings)
        self._jobs: list[Job] = []

    def __enter__(self) -> Here:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @property
    def workers(self) -> int:
        return 1

    @property
    def at_work(self) -> tuple[int, ...]:
        return tuple(job.number for job in self._jobs)

    def has_room(self, left: int) -> bool:
        return not self._jobs

    def give(self, job: Job) -> None:
        self._jobs.append(job)

    def wait(self, seconds: float) -> list[Message]:
        answers: list[Message] = []
        while self._jobs:
            ready = self._maker.ready(Open(self._jobs.pop(), may_share=False))
            answer = ready if isinstance(ready, Failed) else self._maker.make(ready)
            assert isinstance(answer, Made | Failed)
            answers.append(answer)
        return answers

    def close(self) -> None:
        self._jobs.clear()


@dataclass
class Seen:
    """A view that remembers."""

    states: list[State] = field(default_factory=list)
    told: list[str] = field(default_factory=list)

    def show(self, state: State) -> None:
        self.states.append(state)

    def tell(self, message: str) -> None:
        self.told.append(message)


def run(
    folders: Sequence[Path] | Path,
    to: Path,
    *,
    workers: int = 1,
    work: Work | None = None,
    making: Making = MAKING,
    library: Path | None = None,
    seen: Seen | None = None,
) -> Result:
    """One run; `work`: in processes that do this, else here."""
    settings = Settings(salvage=making.salvage)
    hands = Here(settings) if work is None else Workers(settings, count=workers, work=work)
    with hands as crew:
        return run_with(crew, folders, to, making=making, library=library, seen=seen)


def run_with(
    crew: Crew,
    folders: Sequence[Path] | Path,
    to: Path,
    *,
    making: Making = MAKING,
    library: Path | None = None,
    seen: Seen | None = None,
) -> Result:
    """One run of a crew that stays."""
    searched = search([folders] if isinstance(folders, Path) else folders, without=to)
    to.mkdir(exist_ok=True)

    def makings(source: Source) -> Making:
        return Making(making.program, "transcript", making.lexicon, making.own) if is_text(source) else making

    with Manifest(to) as manifest:
        batch = Batch(
            searched, crew=crew, keeper=Keeper(to, library), manifest=manifest,
            makings=makings, view=seen or Seen(),
        )  # fmt: skip
        return batch.run()


def is_text(source: Source) -> bool:
    """Whether it is a transcript."""
    return source.kind == "transcript"


def notes_below(to: Path) -> dict[str, Any]:
    """Every file of notes, by its name below a folder; documents as documents."""
    found: dict[str, Any] = {}
    for path in sorted(to.rglob("*.*")):
        if path.is_file() and path.suffix in (".json", ".md"):
            text = path.read_text(encoding="utf-8")
            found[str(path.relative_to(to))] = json.loads(text) if path.suffix == ".json" else text
    return found


def library_of(path: Path) -> list[tuple[str, int]]:
    """The ids of a library's notes, and how many revisions each has."""
    with Library.open(path) as library:
        numbers = [hit.number for hit in library.find(by="added").hits]
        return sorted((library.get(str(n)).id, len(library.revisions(str(n)))) for n in numbers)


TRANSCRIPT = """WEBVTT

00:00:01.000 --> 00:00:05.000
next wine, number {number}, Riesling, Clare Valley, twenty twenty

00:00:06.000 --> 00:00:08.500
very pale, lemon coloured, lime and wet stone, acidity high

00:00:09.000 --> 00:00:10.500
next wine, number {next}, Chardonnay, tastes of pear
"""


def write_transcripts(folder: Path, count: int) -> None:
    """So many transcripts, two wines each, in folders of four."""
    for number in range(count):
        path = folder / f"day {number // 4}" / f"{number:03}.vtt"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(TRANSCRIPT.format(number=2 * number + 1, next=2 * number + 2), encoding="utf-8")
