"""The level through a session: told when it is wrong for long, and no more when it is well again."""

from __future__ import annotations

import numpy as np
import pytest

from dictate.listen.watch import DEAD_S, FOR_LONG, LevelWatch

RATE = 16000


def speech(level_db: float, *, seconds: float = 1.5) -> np.ndarray:
    """Noise stands for a voice: only its level counts here; what is above full scale is cut off."""
    noise = np.random.default_rng(1).standard_normal(round(seconds * RATE))
    return np.clip(noise * 10 ** (level_db / 20), -1, 1).astype(np.float32)


WELL, QUIET, LOUD = speech(-25), speech(-56), speech(-3)


def kind(watch: LevelWatch) -> str:
    return watch.remark.kind if watch.remark else ""


def told(*said: np.ndarray) -> list[str]:
    """What is wrong after each breath group."""
    watch, kinds = LevelWatch(), []
    for each in said:
        watch.said(each)
        kinds.append(kind(watch))
    return kinds


@pytest.mark.parametrize(("level", "name"), [(QUIET, "quiet"), (LOUD, "clipped")])
def test_wrong_for_long_is_told_until_it_is_well_again(level: np.ndarray, name: str) -> None:
    assert told(*[level] * (FOR_LONG + 1), WELL) == [*[""] * (FOR_LONG - 1), name, name, ""]


def test_now_and_then_is_not_for_long() -> None:
    assert set(told(*[QUIET, QUIET, WELL] * 4)) == {""}
    assert set(told(*[QUIET, LOUD] * 4)) == {""}


def test_what_is_well_is_never_told() -> None:
    assert set(told(*(speech(level) for level in (-49, -40, -30, -20, -15)))) == {""}


def test_from_one_wrong_to_the_other() -> None:
    assert told(*[QUIET] * 3, *[LOUD] * 3) == ["", "", "quiet", "", "", "clipped"]


def test_the_line_stays_as_it_was_while_it_lasts() -> None:
    watch = LevelWatch()
    lines = set()
    for level in (-56, -57, -58, -59, -60):
        watch.said(speech(level))
        lines.add(watch.remark.text if watch.remark else "")
    assert len(lines) == 2  # none, then one
    assert all("come nearer" in line for line in lines if line)


def feed(watch: LevelWatch, level: np.ndarray, seconds: float) -> None:
    block = np.resize(level, RATE // 20)
    for _ in range(round(seconds * 20)):
        watch.block(block)


def test_a_microphone_switched_off_is_told_until_it_is_on_again() -> None:
    watch = LevelWatch()
    feed(watch, WELL, 1)
    feed(watch, np.zeros(800, np.float32), DEAD_S - 0.1)
    assert kind(watch) == ""
    feed(watch, np.zeros(800, np.float32), 0.2)
    assert kind(watch) == "dead"
    feed(watch, speech(-80), 0.05)  # a room where nobody speaks moves it
    assert kind(watch) == ""


def test_silence_that_stands_for_lost_sound_is_no_microphone_switched_off() -> None:
    watch = LevelWatch()
    for _ in range(10):
        watch.block(np.zeros(60 * RATE, np.float32))
    watch.block(np.zeros(0, np.float32))
    assert kind(watch) == ""


def test_nothing_said_for_long_leaves_what_was_told() -> None:
    watch = LevelWatch()
    for _ in range(FOR_LONG):
        watch.said(QUIET)
    feed(watch, speech(-70), 5)
    assert kind(watch) == "quiet"
