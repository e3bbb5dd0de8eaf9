"""A long recording in spans: which task comes after which reply, and that the notes are those of it uncut."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from dictate.audio import Stretch
from dictate.batch.courses import Courses
from dictate.batch.job import SPAN_S, in_spans
from dictate.batch.values import Close, Failed, Hear, Job, Made, Open, Part, Share, Shared
from tests.batch import fakes
from tests.batch.runs import notes_below, run
from tests.batch.test_run import DEMO

JOB = Job(7, Path("/a.wav"), "sound", "s")
SPANS = (((0.0, 1.0), (2.0, 3.0)), ((4.0, 5.0),))
MADE = Made(7, "s", (), None, 5.0, 9.0)


def test_a_short_recording_is_one_task() -> None:
    courses = Courses(may_share=True)
    assert courses.begin(JOB) == Open(JOB, may_share=True)
    assert courses.numbers == (7,)
    assert courses.after(MADE) == ([], [MADE])
    assert courses.numbers == ()


def test_spans_are_heard_in_any_order_and_closed_in_theirs() -> None:
    courses = Courses(may_share=True)
    courses.begin(JOB)
    tasks, told = courses.after(Shared(7, "s", SPANS, 1.0))
    assert (tasks, told) == ([Hear(JOB, "s", 0, SPANS[0]), Hear(JOB, "s", 1, SPANS[1])], [])
    assert courses.after(Share(7, 0.5, 1)) == ([], [Share(7, 0.25)])
    assert courses.after(Part(7, 1, b"two", 2.0)) == ([], [Share(7, 0.5)])
    assert courses.after(Part(7, 0, b"one", 4.0)) == (
        [Close(JOB, "s", (b"one", b"two"), 7.0)],
        [Share(7, 1.0)],
    )
    assert courses.after(MADE) == ([], [MADE])


def test_what_comes_of_a_recording_that_was_given_up_counts_for_nothing() -> None:
    courses = Courses(may_share=True)
    courses.begin(JOB)
    (first, _), _ = courses.after(Shared(7, "s", SPANS, 1.0))
    assert courses.needs(first)
    failed = Failed(7, "why")
    assert courses.after(failed) == ([], [failed])
    assert not courses.needs(first)
    assert courses.after(Part(7, 1, b"two", 2.0)) == ([], [])
    assert courses.after(failed) == ([], [])


def test_a_recording_is_given_up_when_three_workers_died_on_whatever_of_it() -> None:
    courses = Courses(may_share=True)
    courses.begin(JOB)
    (first, second), _ = courses.after(Shared(7, "s", SPANS, 1.0))
    assert courses.died([first, second], worker="a") == ([first, second], [])
    assert courses.died([first], worker="b") == ([first], [])
    assert courses.died([second], worker="b") == ([second], [])  # the same death, told of once more
    again, told = courses.died([first, second], worker="c")
    assert again == []
    assert [m.number for m in told] == [7]
    assert "3 workers died on it" in getattr(told[0], "reason", "")
    assert courses.died([second], worker="d") == ([], [])


def test_spans_hold_all_breath_groups_in_order() -> None:
    stretches = [Stretch(n * 5.0, n * 5.0 + 4.0) for n in range(200)]
    spans = in_spans(stretches)
    assert [s for span in spans for s in span] == [(s.start_s, s.end_s) for s in stretches]
    assert len(spans) == pytest.approx(200 * 4 / SPAN_S, abs=1)
    assert in_spans([]) == ()


def test_cut_into_spans_it_gives_the_notes_of_the_whole(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    shutil.copy(DEMO / "after-lunch.flac", tmp_path / "in")
    run(tmp_path / "in", tmp_path / "whole")
    result = run(tmp_path / "in", tmp_path / "out", workers=2, work=fakes.sharing)
    assert result.failures == ()
    assert notes_below(tmp_path / "out") == notes_below(tmp_path / "whole") != {}
