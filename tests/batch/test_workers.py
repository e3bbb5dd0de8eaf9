"""Workers that die take nothing with them, and nobody waits for the last recording in vain."""

from __future__ import annotations

from pathlib import Path

import pytest

from dictate.batch.values import Job, Message, Share
from dictate.batch.workers import Workers, WorkersError
from dictate.settings import Settings
from tests.batch import dying


def jobs(folder: Path, *names: str) -> list[Job]:
    return [Job(n, folder / name, "sound", str(n)) for n, name in enumerate(names)]


def done(crew: Workers, given: list[Job]) -> list[Message]:
    """Give all, and wait for all that comes."""
    left, messages = list(given), list[Message]()
    while left or crew.at_work:
        while left and crew.has_room(len(left)):
            crew.give(left.pop(0))
        messages += crew.wait(0.1)
    return messages


def test_workers_that_die_take_nothing_with_them(tmp_path: Path) -> None:
    names = ("a", "b dies-once", "c", "d dies-always", "e", "f dies-decoding", "g", "h")
    with Workers(Settings(), count=2, work=dying.dying) as crew:
        messages = done(crew, jobs(tmp_path, *names))
    answers = {names[m.number]: m for m in messages if not isinstance(m, Share)}
    failed = {name for name, answer in answers.items() if "died on it" in getattr(answer, "reason", "")}
    assert failed == {"d dies-always", "f dies-decoding"}
    assert set(answers) == set(names)
    assert len(answers) == len([m for m in messages if not isinstance(m, Share)])
    assert any(isinstance(m, Share) for m in messages)


def test_workers_that_never_begin_are_told_of(tmp_path: Path) -> None:
    with (
        Workers(Settings(), count=1, work=dying.stillborn) as crew,
        pytest.raises(WorkersError, match="die before they have begun"),
    ):
        done(crew, jobs(tmp_path, "a"))


def test_a_worker_has_one_recording_ahead_but_not_of_the_last(tmp_path: Path) -> None:
    given = jobs(tmp_path, "0 slow", "1 slow", "2 slow", "3 slow")
    with Workers(Settings(), count=2, work=dying.dying) as crew:
        for job in given[:2]:
            assert crew.has_room(1)
            crew.give(job)
        assert not crew.has_room(1)  # of few, another worker may be idle sooner
        assert crew.has_room(99)
        crew.give(given[2])
        crew.give(given[3])
        assert not crew.has_room(99)
        assert sorted(crew.at_work) == [0, 1, 2, 3]
