"""One long breath is read in linear time: steps of our own code are counted, never seconds."""

from __future__ import annotations

import sys
from types import FrameType
from typing import Any

import pytest

from tests.extract.said import read

BREATHS = {
    "commas": "plum, cherry and no oak to speak of, medium acidity, I was looking for toast, tannin is high,",
    "no pause": "plum and cherry but no oak and medium acidity with silky tannin you would expect toast and",
    "repairs": "cherry, no, plum, acidity low, no, high, we had this in June, smoke, there isn't any,",
    "unknown": "notes of bell tower and something like wet rope behind the plum, then boot lace, fig,",
}


def steps(text: str) -> int:
    """Lines of `dictate/extract` run to read a text (loops within a line count each time round)."""
    count = 0

    def line(frame: FrameType, event: str, arg: Any) -> Any:
        nonlocal count
        count += event == "line"
        return line

    def call(frame: FrameType, event: str, arg: Any) -> Any:
        return line if "/dictate/extract/" in frame.f_code.co_filename else None

    before = sys.gettrace()
    sys.settrace(call)
    try:
        read(text, "palate")
    finally:
        sys.settrace(before)
    return count


@pytest.mark.parametrize("name", BREATHS)
def test_four_times_the_words_take_about_four_times_the_steps(name: str) -> None:
    words = BREATHS[name].split()
    short, long = (steps(" ".join(words * times)) for times in (20, 80))
    assert long <= 4.4 * short
