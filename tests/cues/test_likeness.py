"""How alike two stretches sound."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.cues import Earlier
from dictate.cues.likeness import distance


def noise(seed: int, count: int, *, size: int = 12) -> np.ndarray:
    return np.random.default_rng(seed).normal(size=(count, size)).astype(np.float32)


def by_the_book(one: np.ndarray, other: np.ndarray) -> float:
    """Cell by cell, as the paper writes it."""
    unit = [f / np.linalg.norm(f, axis=1, keepdims=True) for f in (one, other)]
    cost = 1 - unit[0] @ unit[1].T
    reached = np.full((len(one) + 1, len(other) + 1), np.inf)
    reached[0, 0] = 0
    for i in range(1, len(one) + 1):
        for j in range(1, len(other) + 1):
            here = cost[i - 1, j - 1]
            ways = (reached[i - 1, j - 1] + 2 * here, reached[i - 1, j] + here, reached[i, j - 1] + here)
            reached[i, j] = min(ways)
    return float(reached[-1, -1] / (len(one) + len(other)))


@given(st.integers(0, 999), st.integers(1, 9), st.integers(1, 9))
def test_the_distance_is_that_of_the_paper_and_the_same_both_ways(seed: int, n: int, m: int) -> None:
    one, other = noise(seed, n), noise(seed + 1000, m)
    assert distance(one, other) == pytest.approx(by_the_book(one, other), abs=1e-5)
    assert distance(one, other) == pytest.approx(distance(other, one), abs=1e-5)
    assert 0 <= distance(one, other) <= 2


def test_the_same_said_slower_and_in_noise_is_nearer_than_something_else() -> None:
    said = noise(1, 30)
    slower = np.repeat(said, 2, axis=0) + 0.3 * noise(2, 60)
    assert distance(said, said) == pytest.approx(0, abs=1e-6)
    assert distance(said, slower) < 0.1 < 0.5 < distance(said, noise(3, 30))


def test_only_what_was_said_in_the_same_words_is_compared() -> None:
    earlier = Earlier()
    said = noise(1, 30)
    assert earlier.distance("all gone", said) is None
    earlier.hear(said)
    earlier.keep("all gone", said)
    assert earlier.distance("all gone", said) == pytest.approx(0, abs=1e-6)
    assert earlier.distance("okay all gone", said) is None
    assert earlier.distance("all gone", said[:0]) is None


def test_what_all_stretches_share_counts_for_nothing() -> None:
    """A hum, a voice: without it two stretches are as far apart as they are."""
    hum = 40 * np.ones((1, 12), dtype=np.float32)
    one, other = noise(1, 30) + hum, noise(2, 30) + hum
    assert distance(one, other) < 0.01
    earlier = Earlier()
    for frames in (one, other):
        earlier.hear(frames)
    earlier.keep("gone", one)
    assert (earlier.distance("gone", other) or 0) > 0.3


def test_the_latest_ways_of_saying_it_are_kept() -> None:
    earlier = Earlier()
    for seed in range(9):
        earlier.keep("gone", noise(seed, 20))
    assert earlier.distance("gone", noise(8, 20)) == pytest.approx(0, abs=1e-6)
    assert (earlier.distance("gone", noise(0, 20)) or 0) > 0.3
