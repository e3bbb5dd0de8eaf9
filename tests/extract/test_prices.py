"""A price has no field: it must never become a score, a vintage, a position, a code, a level or seconds."""

from __future__ import annotations

import pytest

from dictate.values import Stage
from tests.extract.said import read

PRICES = [
    "twelve pounds fifty", "eighteen ninety nine a bottle", "nineteen ninety five on the shelf",
    "ninety pounds a bottle", "ninety-five quid", "about ninety euros", "a hundred dollars", "€12.50", "$95",
    "£90", "95€", "12,50 €", "EUR 95", "ninety five francs", "it retails at ninety five", "sixty five a case",
    "ninety to ninety five dollars", "€90-95", "ninety-nine cents", "twelve euros and fifty cents",
    "two thousand and nine pounds", "1950 euros", "twenty twenty euros", "a fiver", "seven pounds",
    "it costs eight",
]  # fmt: skip
STAGES: tuple[Stage, ...] = ("identity", "appearance", "nose", "palate", "finish", "verdict")
FIELDS = {"wine.vintage", "wine.position", "wine.code", "verdict.score", "verdict.drink_from",
          "verdict.drink_to", "finish.seconds"}  # fmt: skip


@pytest.mark.parametrize("stage", STAGES)
@pytest.mark.parametrize("price", PRICES)
def test_a_price_feeds_no_field(price: str, stage: Stage) -> None:
    found = {r.field: r.value for r in read(price, stage)}
    assert not set(found) & FIELDS
    assert not [value for value in found.values() if isinstance(value, float)]


@pytest.mark.parametrize("said", ["acidity, seven pounds", "number four, ninety pounds"])
def test_what_stands_beside_a_price_is_still_read(said: str) -> None:
    stage: Stage = "identity" if said.startswith("number") else "palate"
    assert {r.field: r.value for r in read(said, stage)} == (
        {"wine.position": 4} if stage == "identity" else {}
    )
