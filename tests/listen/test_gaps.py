"""Lost sound is found, and lateness that is made up for is not taken for it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.listen.gaps import Chunk, Gap, GapFinder

LENGTH = 0.05


def chunk(at_s: float, *, cause: str = "", slept_s: float = 0.0) -> Chunk:
    return Chunk(b"", at_s, slept_s, LENGTH, cause)


def passed(chunks: list[Chunk]) -> list[tuple[Chunk, Gap | None]]:
    finder = GapFinder()
    return [one for each in chunks for one in finder.feed(each)] + finder.flush()


def gaps(chunks: list[Chunk]) -> list[tuple[int, Gap]]:
    return [(n, gap) for n, (_, gap) in enumerate(passed(chunks)) if gap]


def steady(count: int, *, start_s: float = 1000.0) -> list[float]:
    """Times of arrival in bursts of two, as sound servers deliver."""
    return [start_s + LENGTH * (n + 1 + n % 2) for n in range(count)]


def test_bursts_are_no_gap() -> None:
    assert gaps([chunk(at) for at in steady(1000)]) == []


def test_a_stall_that_is_made_up_for_is_no_gap() -> None:
    times = steady(200)
    stalled = [max(at, times[100] + 3.0) if n >= 100 else at for n, at in enumerate(times)]
    assert gaps([chunk(at) for at in stalled]) == []


@pytest.mark.parametrize("cause", ["", "sound came faster than it was taken"])
def test_what_never_comes_is_a_gap_before_the_first_late_one(cause: str) -> None:
    times = [at + (1.5 if n >= 100 else 0.0) for n, at in enumerate(steady(200))]
    found = gaps([chunk(at, cause=cause if n == 100 else "") for n, at in enumerate(times)])
    assert [(n, g.reason) for n, g in found] == [(100, cause or "the microphone gave no sound")]
    assert found[0][1].seconds == pytest.approx(1.5, abs=0.1)


def test_a_loss_told_later_than_the_stall_lies_where_it_was_told() -> None:
    """Held up for 1 s, then what was in the buffer, then what came after its overflow."""
    times = steady(300)
    late = [
        at + 0.6 if n >= 104 else max(at, times[99] + 1.0) if n >= 100 else at for n, at in enumerate(times)
    ]
    found = gaps([chunk(at, cause="overflow" if n == 104 else "") for n, at in enumerate(late)])
    assert [n for n, _ in found] == [104]
    assert found[0][1].seconds == pytest.approx(0.6, abs=0.1)


def test_an_overflow_told_of_without_anything_missing_is_no_gap() -> None:
    assert gaps([chunk(at, cause="overflow" if n == 50 else "") for n, at in enumerate(steady(100))]) == []


def test_the_first_sound_is_no_gap_though_an_overflow_is_told() -> None:
    assert gaps([chunk(at, cause="overflow" if n == 0 else "") for n, at in enumerate(steady(100))]) == []


def test_sleep_is_told_from_other_silence() -> None:
    chunks = [
        chunk(at + (3600 if n >= 60 else 0), slept_s=3599.0 if n >= 60 else 0.0)
        for n, at in enumerate(steady(120))
    ]
    ((place, gap),) = gaps(chunks)
    assert (place, gap.reason) == (60, "the machine slept")
    assert gap.seconds == pytest.approx(3600, abs=0.1)


def test_a_sound_card_whose_clock_runs_slow_makes_no_gap() -> None:
    times = [1000.0 + (at - 1000.0) * 1.0003 for at in steady(72000)]  # 300 ppm, more than any; an hour
    assert gaps([chunk(at) for at in times]) == []


def test_two_gaps_are_two() -> None:
    times = [at + (2.0 if n >= 100 else 0.0) + (4.0 if n >= 200 else 0.0) for n, at in enumerate(steady(300))]
    found = gaps([chunk(at) for at in times])
    assert [n for n, _ in found] == [100, 200]
    assert [g.seconds for _, g in found] == [pytest.approx(2, abs=0.1), pytest.approx(4, abs=0.1)]


@given(st.lists(st.tuples(st.floats(0, 2), st.sampled_from(["", "", "", "overflow"])), max_size=60))
def test_every_chunk_is_passed_on_once_and_in_order(waits: list[tuple[float, str]]) -> None:
    now, chunks = 1000.0, []
    for wait, cause in waits:
        now += wait
        chunks.append(chunk(now, cause=cause))
    got = passed(chunks)
    assert [c for c, _ in got] == chunks
    total = sum(g.seconds for _, g in got if g)
    assert all(g.seconds > 0 for _, g in got if g)
    assert total <= (now - 1000.0) + 1e-6
