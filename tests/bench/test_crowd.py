"""Working through long lists: every piece once, with progress, in one process or in several."""

from __future__ import annotations

import os

import pytest

from tests.bench.crowd import work_through


def squared(number: int) -> tuple[int, int, int]:
    return number, number**2, os.getpid()


@pytest.mark.parametrize(
    ("processes", "apart", "elsewhere"), [(1, False, False), (2, False, True), (1, True, True)]
)
def test_each_piece_is_done_once(
    processes: int, apart: bool, elsewhere: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    done = list(work_through(squared, range(5), processes=processes, apart=apart, done="squared"))
    assert sorted(n for n, _, _ in done) == [0, 1, 2, 3, 4]
    assert all(n**2 == square and (pid != os.getpid()) is elsewhere for n, square, pid in done)
    told = capsys.readouterr().err
    assert told.count(" of 5 squared") == 5
    assert told.endswith("\n")


def test_nothing_to_do_says_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    assert list(work_through(squared, [], processes=2, apart=True)) == []
    assert capsys.readouterr().err == ""
