"""What a recogniser makes of a taster's sentences is read as it was meant: pauses lost, breaths more."""

from __future__ import annotations

from typing import Any

import pytest

from dictate.extract import read_fields
from dictate.values import Stage
from tests.extract.said import LEXICON, RULES, held, phrase, read


def told(*breaths: tuple[str, Stage]) -> dict[str, Any]:
    """What a note would hold of breaths with their stages."""
    return held(read_fields([phrase(*breath) for breath in breaths], LEXICON, rules=RULES))


@pytest.mark.parametrize(
    ("text", "stage", "field", "value"),
    [
        ("Medium-bodied, I suppose no fuller than that medium to full.", "palate", "palate.body", 6.8),
        ("it's no fuller than that", "palate", "palate.body", None),
        ("Very good not quite great keep it a couple of years", "verdict", "verdict.readiness", "keep"),
        ("I wouldn't keep it", "verdict", "verdict.readiness", "drink soon"),
        ("It's not in balance the heat sticks out.", "palate", "palate.balance", "unbalanced"),
        ("the oak's there but it's tuck in", "palate", "verdict.readiness", None),
        ("tuck it away for a while", "verdict", "verdict.readiness", "keep"),
        ("and some leaves, that's lees not leaves", "nose", "nose.aromas", ["lees"]),
        ("some plum, that's plum, not a plum tart", "nose", "nose.aromas", ["plum"]),
        ("next why and less b7.", "identity", "wine.code", "B7"),
        ("number four, Syrah, clone B7.", "identity", "wine.code", None),
        ("smells of hum, boiled cabbage", "nose", "nose.aromas", ["cooked cabbage"]),
        ("and then y'all, sticking plaster", "nose", "nose.aromas", ["sticking plaster"]),
    ],
)
def test_a_breath_as_it_is_heard(text: str, stage: Stage, field: str, value: Any) -> None:
    found = held(read(text, stage)).get(field)
    assert found == pytest.approx(value) if isinstance(value, float) else found == value


def test_a_window_of_years_goes_on_in_the_next_breath() -> None:
    window = told(("drink from 2026", "verdict"), ("through to say 2031", "verdict"))
    assert (window["verdict.drink_from"], window["verdict.drink_to"]) == (2026, 2031)
    again = told(("drink from 2026", "verdict"), ("no, make that 2027", "verdict"))
    assert again["verdict.drink_from"] == 2027
    assert "verdict.drink_to" not in again


def test_a_memory_goes_on_in_the_next_breath() -> None:
    last_time = ("last time I had it, 2015 I think", "nose")
    assert "nose.aromas" not in told(last_time, ("it was shut tight and all graphite", "nose"))
    assert told(last_time, ("it was shut", "nose"), ("now there's plum", "nose"))["nose.aromas"] == ["plum"]
    assert told(("cedar", "nose"), ("it was decanted, plum", "nose"))["nose.aromas"] == ["cedar", "plum"]


def test_a_denial_that_lost_its_pronoun_is_of_the_breath_before() -> None:
    lees = ("the mushroom one expects after eight years on lees", "nose")
    assert "mushroom" not in told(lees, ("don't have it at all", "nose")).get("nose.aromas", [])
    assert "mushroom" in told(lees, ("don't have a cold at all", "nose"))["nose.aromas"]


def test_a_wine_without_a_name_is_named_in_passing() -> None:
    assert told(("number four", "identity"), ("this Chinon has strawberry", "nose"))["wine.origin"] == [
        "chinon"
    ]
    named = told(("number four, Barolo", "identity"), ("this Chinon has strawberry", "nose"))
    assert named["wine.origin"] == ["barolo"]
    assert "wine.origin" not in told(("number four", "identity"), ("the Chinon has strawberry", "nose"))


def test_another_wine_of_today_is_no_part_of_this_one() -> None:
    barolo = ("number four, Barolo", "identity")
    assert "nose.aromas" not in told(barolo, ("the Chablis has more chalk", "nose"))
    assert "nose.aromas" not in told(barolo, ("the Chablis shows chalk", "nose"))
    blend = ("number two, Merlot and Cabernet", "identity")
    assert told(blend, ("the Merlot gives plum", "nose"))["nose.aromas"] == ["plum"]
    assert told(barolo, ("the robe is gold, the nose has chalk", "nose"))["nose.aromas"] == ["chalk"]
