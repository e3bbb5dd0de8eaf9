"""Who the wine is: position, code, vintage, grapes, origin, colour, style; and talk that names nothing."""

from __future__ import annotations

from typing import Any

import pytest

from tests.extract.said import held, read


@pytest.mark.parametrize(
    ("text", "field", "value"),
    [
        ("number seven", "wine.position", 7),
        ("the fourth wine", "wine.position", 4),
        ("wine 12", "wine.position", 12),
        ("glass B seven", "wine.code", "B7"),
        ("code K forty four", "wine.code", "K44"),
        ("sample number twelve, code B six", "wine.code", "B6"),
        ("sample twelve", "wine.code", "12"),
        ("two thousand and thirteen", "wine.vintage", 2013),
        ("non vintage", "wine.vintage", "NV"),
        ("non-vintage", "wine.vintage", "NV"),
        ("the oh nine", "wine.vintage", 2009),
        ("Riesling '09", "wine.vintage", 2009),
        ("the eighteen", "wine.vintage", 2018),
        ("the ninety-six", "wine.vintage", 1996),
        ("the eighteen, I mean the twenty nineteen", "wine.vintage", 2019),
        ("nineteen hundred and five", "wine.vintage", 1905),
        ("wine one oh four", "wine.position", 104),
        ("No. 4", "wine.position", 4),
        ("the third wine of the flight", "wine.position", 3),
        ("the twenty first wine", "wine.position", 21),
        ("code four oh nine", "wine.code", "409"),
        ("glass oh nine", "wine.code", "09"),
        ("Riesling", "wine.grapes", ["riesling"]),
        ("Tempranillo and Graciano", "wine.grapes", ["tempranillo", "graciano"]),
        ("from the Mosel", "wine.origin", ["mosel"]),
        ("a white wine", "wine.colour", "white"),
        ("sparkling", "wine.style", "sparkling"),
    ],
)
def test_what_is_named(text: str, field: str, value: Any) -> None:
    assert held(read(text, "identity"))[field] == value


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("nine wines left", "wine.position"),
        ("the second wine of the estate", "wine.position"),
        ("number two thousand", "wine.position"),
        ("number one priority", "wine.position"),
        ("my number one", "wine.position"),
        ("not an NV", "wine.vintage"),
        ("glass oh nine", "wine.vintage"),
        ("from the nineties", "wine.vintage"),
        ("a 1990s wine", "wine.vintage"),
        ("18/20", "wine.vintage"),
        ("bottled 5/10/2019", "wine.vintage"),
        ("2000 bottles", "wine.vintage"),
        ("eighteen ninety nine a bottle", "wine.vintage"),
        ("nineteen ninety five pounds", "wine.vintage"),
        ("nineteen months in oak", "wine.vintage"),
        ("glass in hand", "wine.code"),
        ("twelve bottles", "wine.vintage"),
        ("it is not a Chardonnay", "wine.grapes"),
        ("could be a Riesling", "wine.grapes"),
        ("maybe from the Mosel", "wine.origin"),
    ],
)
def test_what_is_not_named(text: str, field: str) -> None:
    assert field not in held(read(text, "identity"))


def test_a_guess_is_doubtful_and_names_its_rule() -> None:
    reading = next(r for r in read("could be a Riesling", "identity") if r.field == "wine.grapes")
    assert (reading.scope, reading.rule) == ("doubtful", "guess")


def test_the_narrowest_place_is_the_origin() -> None:
    assert held(read("Germany, the Mosel", "identity"))["wine.origin"] == ["mosel"]


@pytest.mark.parametrize(
    ("text", "colour"), [("an orange wine", "orange"), ("orange", None), ("a red wine sauce", None)]
)
def test_outside_identity_only_a_colour_with_its_noun_counts(text: str, colour: str | None) -> None:
    assert held(read(text, "palate")).get("wine.colour") == colour
