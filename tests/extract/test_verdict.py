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
        ("ninety one, ninety two points", [92, 100]),
        ("ninety-two to ninety-four points", [93, 100]),
        ("92-94", [93, 100]),
        ("seventeen to eighteen out of twenty", [17.5, 20]),
        ("three to four stars", [3.5, 5]),
        ("ninety two plus", [92, 100]),
        ("95+", [95, 100]),
        ("18/20", [18, 20]),
        ("20/20", [20, 20]),
        ("ninety three points, and sixty euros", [93, 100]),
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
        "ninety pounds a bottle",
        "ninety-five quid",
        "retails at ninety five",
        "sixty five a case",
        "ninety-nine cents",
        "€65-70",
        "sixty five to seventy dollars",
        "sixteen ninety nine on the shelf",
        "sixty to seventy people",
        "ninety percent",
        "the low nineties",
        "the 90s",
        "A-95",
        "one of ten",
        "one of five that I would buy",
        "at 10:55",
        "5/10/2019",
        "five to seven years",
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
        ("drink from '28 to '36", 2028, 2036),
        ("drink twenty twenty eight to thirty five", 2028, 2035),
        ("drink 2028–35", 2028, 2035),
        ("drink it, eighteen ninety nine a bottle", None, None),
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
        ("between fifteen and twenty seconds", 17.5),
        ("20–25 seconds", 22.5),
        ("a twelve second finish", 12.0),
        ("a twenty second finish", 20.0),
        ("12s", 12.0),
        ("a couple of seconds", 2.0),
        ("a minute and a half", 90.0),
        ("three quarters of a minute", 45.0),
        ("a minute and ten seconds", 70.0),
        ("for two minutes", 120.0),
        ("just under a minute", 60.0),
    ],
)
def test_stated_seconds(text: str, seconds: float) -> None:
    assert held(read(text, "finish"))[SECONDS] == seconds


@pytest.mark.parametrize(
    "text",
    [
        "give me ten seconds",
        "wait ten seconds",
        "nine hundred seconds",
        "a minute please",
        "twelve",
        "just a minute",
        "give it a minute",
        "I've swirled it five minutes",
        "for a second",
        "the second glass",
        "twelve pounds",
    ],
)
def test_no_stated_seconds(text: str) -> None:
    assert SECONDS not in held(read(text, "finish"))


@pytest.mark.parametrize(("stage", "field"), [("nose", SCORE), ("palate", FROM), ("nose", SECONDS)])
def test_other_stages_judge_nothing(stage: Stage, field: str) -> None:
    text: dict[str, Any] = {SCORE: "ninety one points", FROM: "drink from 2027", SECONDS: "twelve seconds"}
    assert field not in held(read(text[field], stage))
