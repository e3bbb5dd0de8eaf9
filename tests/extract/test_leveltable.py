"""The level table: what ships lies on the scale and is found by name; a malformed one is refused."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from dictate.extract.leveltable import level_table
from dictate.lexicon import load_table

DATA = load_table("levels")


def test_every_level_lies_on_the_scale() -> None:
    table = level_table(DATA)
    valued = [table.scale, table.quantity, table.strength, *(a.words for a in table.attributes)]
    assert all(0 <= value <= 10 for group in valued for value, _ in group)
    assert all(-10 < value < 10 for value, _ in table.step)


@pytest.mark.parametrize(
    ("name", "field"),
    [
        ("acidity", "palate.acidity"),
        ("length", "finish.length"),
        ("quality", "verdict.quality"),
        ("depth", "appearance.depth"),
    ],
)
def test_an_attribute_knows_its_field(name: str, field: str) -> None:
    found = level_table(DATA).named(name)
    assert found is not None
    assert found.field == field


def test_an_unknown_attribute_is_none() -> None:
    assert level_table(DATA).named("minerality") is None


@pytest.mark.parametrize("part", ["scale", "quantity", "step", "strength", "attribute"])
def test_a_missing_part_is_refused(part: str) -> None:
    with pytest.raises(KeyError, match=part):
        level_table({k: v for k, v in DATA.items() if k != part})


def test_a_value_that_is_no_number_is_refused() -> None:
    data: dict[str, Any] = copy.deepcopy(DATA)
    data["scale"]["rather"] = ["rather"]
    with pytest.raises(ValueError, match="rather"):
        level_table(data)
