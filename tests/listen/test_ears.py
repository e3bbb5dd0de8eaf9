"""An ear and its process: real processes, some of which die."""

from __future__ import annotations

import os
import queue
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path

import numpy as np
import pytest

from dictate.audio import Stretch
from dictate.board import Board
from dictate.listen import ears as ears_module
from dictate.listen.ears import Ear, Ready, Reply, Task, Which
from dictate.listen.eventlog import HeardEvent, read_log
from dictate.listen.folder import LOG, begin
from dictate.listen.rehearsal import Rehearsal
from dictate.listen.session import Session
from dictate.recognise.recogniser import HeardStretch
from dictate.settings import Settings
from dictate.values import Word

ROOT = Path(__file__).parents[2]


def task(number: int) -> Task:
    return Task(number, np.zeros(1600, np.float32), Stretch(0.0, 0.1), 0.0)


def dies_while_loading(pipe: Connection, *_: object) -> None:
    os._exit(9)


def hears(pipe: Connection, which: Which, settings: Settings, threads: int) -> None:
    """Hears the number of each task; at 13 it dies; the clock runs from 5 on."""
    pipe.send(Ready(which, "test"))
    running = None
    try:
        while True:
            asked: Task = pipe.recv()
            if asked.number % 100 == 13:
                os._exit(9)
            running = asked.running if asked.running is not None else running
            said = f"{asked.number} {running}"
            pipe.send(
                Reply(which, asked.number, HeardStretch((Word(said, 0.0, 0.1),)), running=asked.number >= 5)
            )
    except EOFError:
        return


class Told:
    """What an ear tells, and when."""

    def __init__(self) -> None:
        self.queue: queue.SimpleQueue[Reply | Ready] = queue.SimpleQueue()

    def next(self, wait_s: float = 60.0) -> Reply | Ready:
        return self.queue.get(timeout=wait_s)

    def replies(self, count: int) -> list[Reply]:
        found: list[Reply] = []
        while len(found) < count:
            if isinstance(one := self.next(), Reply):
                found.append(one)
        return found


def ear_of(told: Told, work: Callable[..., None], which: Which = "careful") -> Ear:
    return Ear(which, Settings(), tell=told.queue.put, work=work)


@pytest.fixture(autouse=True)
def short_waits(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ears_module, "_WAIT_S", 0.01)


def test_what_is_asked_is_heard_in_its_order() -> None:
    told = Told()
    ear = ear_of(told, hears)
    for number in (1, 2, 3):
        ear.hear(task(number))
    assert [r.number for r in told.replies(3)] == [1, 2, 3]
    ear.close(20)
    assert not ear._guard.is_alive()


@pytest.mark.parametrize("which", ["quick", "careful"])
def test_one_that_dies_while_it_loads_is_given_up_and_says_so(which: Which) -> None:
    told = Told()
    ear = ear_of(told, dies_while_loading, which)
    ear.hear(task(1))
    gone = told.next()
    assert isinstance(gone, Ready)
    assert gone.ear == which
    assert gone.problem
    assert "\n" not in gone.problem
    began = time.monotonic()
    ear.close(20)  # at once, though a task was never heard
    assert time.monotonic() - began < 5
    assert told.queue.empty()


def test_one_that_dies_of_a_stretch_goes_on_with_the_next() -> None:
    told = Told()
    ear = ear_of(told, hears)
    for number in (1, 13, 2):
        ear.hear(task(number))
    first, broken, last = told.replies(3)
    assert (first.number, first.problem) == (1, "")
    assert broken.number == 13
    assert broken.problem
    assert (last.number, last.problem) == (2, "")
    ear.close(20)


def test_a_process_that_begins_anew_is_told_of_the_running_clock() -> None:
    told = Told()
    ear = ear_of(told, hears)
    for number in (1, 7, 13, 2):
        ear.hear(task(number))
    *_, last = told.replies(4)
    assert last.heard.words[0].text == "2 True"
    ear.close(20)


def test_one_that_dies_of_every_stretch_is_given_up() -> None:
    told = Told()
    ear = ear_of(told, hears)
    for number in (13, 113, 213, 1):
        ear.hear(task(number))
    seen = [told.next()]
    while not (isinstance(seen[-1], Ready) and seen[-1].problem):
        seen.append(told.next())
    assert [r.number for r in seen if isinstance(r, Reply)] == [13, 113, 213]
    ear.close(20)
    assert told.queue.empty()


def test_a_session_whose_ears_die_goes_on_recording_and_ends(tmp_path: Path) -> None:
    """Real processes die while they load; the sound is on the disk, and the notes are made later."""
    boards: list[Board] = []
    folder = tmp_path / "tasting"
    source = Rehearsal(ROOT / "audio_demo" / "tank-room.flac", pace=0)
    with pytest.MonkeyPatch.context() as patch, begin(folder) as opened:
        patch.setattr(ears_module, "_listen", dies_while_loading)
        session = Session(opened, Settings(), source=source, show=boards.append)
        notes = session.run()
        assert opened.recorder.seconds > 90
    assert notes == ()
    assert not session.failure
    assert "dictate resume --close" in boards[-1].problem
    log = read_log(folder / LOG)
    assert not [e for e in log.events if isinstance(e, HeardEvent)]
