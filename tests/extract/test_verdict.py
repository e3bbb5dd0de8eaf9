"""Scores, drinking windows, and the seconds of a finish where they are stated."""

from __future__ import annotations

from typing import Any

import pytest

from dictate.values import Stage
from tests.extract.said import held, read

SCORE, FROM, TO, SECONDS = "verdict.score", "verdict.drink_from", "verdict.drink_to", "finish.seconds"


@pytest.mark.parametrize(
    ("text", "score"),
    [
        ("ninety one points", [91, 100]),
        ("my score is eighty nine", [89, 100]),
        ("17.5/20", [17.5, 20]),
        ("sixteen and a half out of twenty", [16.5, 20]),
        ("seventeen on twenty", [17, 20]),
        ("four stars", [4, 5]),
        ("eight out of ten", [8, 10]),
        ("ninety, no, ninety one points", [91, 100]),
    ],
)
def test_a_score(text: str, score: list[float]) -> None:
    assert held(read(text, "verdict"))[SCORE] == score


@pytest.mark.parametrize(
    "text",
    [
        "sixty euros",
        "it is $75",
        "£60 well spent",
        "ninety seconds",
        "I'd have given it ninety five",
        "over ninety people",
        "seventy years old",
        "the last one got ninety points",
        "twelve",
    ],
)
def test_no_score(text: str) -> None:
    assert SCORE not in held(read(text, "verdict"))


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("drink from 2027 to 2035", 2027, 2035),
        ("drink between twenty twenty eight and twenty forty", 2028, 2040),
        ("drink by 2029", None, 2029),
        ("no later than 2031", None, 2031),
        ("it'll hold until 2034", None, 2034),
        ("hold it until 2030", 2030, None),
        ("don't open it before 2030", 2030, None),
        ("from 2028 on", 2028, None),
        ("drink from 2026, no, 2027", 2027, None),
        ("bottled in 2019", None, None),
        ("planted in 1948, drink it", None, None),
    ],
)
def test_a_window(text: str, first: int | None, last: int | None) -> None:
    values = held(read(text, "verdict"))
    assert (values.get(FROM), values.get(TO)) == (first, last)


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("about twelve seconds", 12.0),
        ("twelve to sixteen seconds", 14.0),
        ("six, seven seconds", 6.5),
        ("half a minute", 30.0),
        ("it goes on for a minute", 60.0),
        ("fifteen caudalies", 15.0),
    ],
)
def test_stated_seconds(text: str, seconds: float) -> None:
    assert held(read(text, "finish"))[SECONDS] == seconds


@pytest.mark.parametrize(
    "text", ["give me ten seconds", "wait ten seconds", "nine hundred seconds", "a minute please", "twelve"]
)
def test_no_stated_seconds(text: str) -> None:
    assert SECONDS not in held(read(text, "finish"))


@pytest.mark.parametrize(("stage", "field"), [("nose", SCORE), ("palate", FROM), ("nose", SECONDS)])
def test_other_stages_judge_nothing(stage: Stage, field: str) -> None:
    text: dict[str, Any] = {SCORE: "ninety one points", FROM: "drink from 2027", SECONDS: "twelve seconds"}
    assert field not in held(read(text[field], stage))
