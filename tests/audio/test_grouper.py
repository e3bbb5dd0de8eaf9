"""Frames one by one give the breath groups of all at once, at the same levels."""

from __future__ import annotations

import numpy as np
from hypothesis import example, given, settings
from hypothesis import strategies as st

from dictate.audio.grouper import SURE, Grouper
from dictate.audio.speech import Frames, Levels, breath_groups

GAP = 35


def runs(rng: np.random.Generator, low: float, high: float, *, count: int, mean: int) -> np.ndarray:
    """Values that stay the same for a while, shape (count,)."""
    lengths = rng.integers(1, 2 * mean, size=count)
    return np.repeat(rng.uniform(low, high, size=count), lengths)[:count].astype(np.float32)


def made_up(seed: int) -> tuple[Frames, Levels]:
    """Frames of nothing in particular, with silence behind them, and levels among them."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(50, 3000))
    level = runs(rng, -80, 0, count=count, mean=int(rng.choice([3, 10, 60, 200])))
    bands = level + rng.normal(0, 4, (4, count)).astype(np.float32)
    voice = runs(rng, 0, 1, count=count, mean=int(rng.choice([5, 30, 100])))
    silence = np.full((4, SURE + GAP), -100, np.float32)
    edges = np.full(4, rng.choice([-60, -30, -27]), np.float32)
    frames = Frames(
        np.hstack([bands, silence]).astype(np.float32), np.concatenate([voice, np.zeros(SURE + GAP)])
    )
    return frames, Levels(-15.0, float(rng.choice([-45, -35, -28, -26])), edges)


def part(frames: Frames, first: int, last: int) -> Frames:
    return Frames(frames.bands[:, first:last], frames.voice[first:last])


def fed(frames: Frames, levels: Levels, *, sizes: list[int]) -> list[tuple[int, int]]:
    grouper = Grouper(levels, gap=GAP)
    found: list[tuple[int, int]] = []
    at, turn = 0, 0
    while at < len(frames.voice):
        size = sizes[turn % len(sizes)]
        found += grouper.feed(part(frames, at, at + size))
        at, turn = at + size, turn + 1
    return found


@settings(max_examples=150)
@given(st.integers(0, 2**32 - 1), st.lists(st.integers(1, 200), min_size=1, max_size=9))
def test_frame_by_frame_the_groups_are_those_of_all_at_once(seed: int, sizes: list[int]) -> None:
    frames, levels = made_up(seed)
    assert fed(frames, levels, sizes=sizes) == breath_groups(frames, levels, gap=GAP)


def test_the_frames_made_up_have_groups_and_lulls() -> None:
    cases = [made_up(seed) for seed in range(60)]
    counts = [len(breath_groups(f, levels, gap=GAP)) for f, levels in cases]
    assert sum(c >= 2 for c in counts) > 20
    lulls = [
        levels.parts and len(breath_groups(f, levels, gap=GAP)) != len(breath_groups(f, whole, gap=GAP))
        for f, levels in cases
        for whole in [Levels(200.0, levels.gate, levels.edges)]  # as though nobody talked in the pauses
    ]
    assert sum(lulls) > 5


@settings(max_examples=40)
@example(1045)  # what ended a moment ago, and a click behind it
@given(st.integers(0, 2**32 - 1))
def test_what_is_open_is_what_all_at_once_has_last(seed: int) -> None:
    frames, levels = made_up(seed)
    grouper = Grouper(Levels(200.0, levels.gate, levels.edges), gap=GAP)  # without lulls
    ends: list[tuple[int, int]] = []
    for at in range(0, len(frames.voice), 40):
        ends += grouper.feed(part(frames, at, at + 40))
        found = breath_groups(part(frames, 0, at + 40), grouper.levels, gap=GAP)
        if (now := grouper.open()) is not None:
            assert found[-1] == now
        else:
            assert found == ends or len(found) == len(ends)


def test_a_soft_beginning_is_waited_for() -> None:
    """What was said, 0.3 s of silence, 0.1 s of a fricative, then voice: one breath group."""
    levels = Levels(-15.0, -45.0, np.full(4, -55, np.float32))
    pieces = [(-20, 0.9, 50), (-90, 0.0, 30), (-46, 0.1, 10), (-20, 0.9, 40), (-90, 0.0, 120)]
    level = np.concatenate([np.full(n, db - 6.0206) for db, _, n in pieces])
    voice = np.concatenate([np.full(n, v) for _, v, n in pieces]).astype(np.float32)
    frames = Frames(np.tile(level, (4, 1)).astype(np.float32), voice)
    assert breath_groups(frames, levels, gap=GAP) == [(0, 130)]
    assert fed(frames, levels, sizes=[1]) == [(0, 130)]


def test_without_anything_behind_it_a_group_ends_at_once() -> None:
    levels = Levels(-15.0, -45.0, np.full(4, -50, np.float32))
    frames = Frames(np.repeat([[-26.0], [-90.0]], 60, axis=0).reshape(1, 120).repeat(4, 0), np.ones(120))
    grouper = Grouper(levels, gap=GAP)
    ended = [at for at in range(120) for _ in grouper.feed(part(frames, at, at + 1))]
    assert ended == [60 + GAP - 1]


def test_what_is_long_past_is_not_kept() -> None:
    frames, levels = made_up(3)
    grouper = Grouper(levels, gap=GAP)
    kept = []
    for _ in range(40):
        list(grouper.feed(frames))
        kept.append(len(grouper._loud))
    assert max(kept) < 2 * len(frames.voice) + 3000
