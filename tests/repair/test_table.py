"""The repair table: each pair by its example and counter-example, and what is wrong in a table is named."""

from __future__ import annotations

from typing import Any

import pytest

from dictate.lexicon import load_table
from dictate.repair import RepairTableError, repair_table
from tests.repair.said import TABLE, lines_of, repaired

DATA = load_table("repair")


@pytest.mark.parametrize("row", DATA["pairs"], ids=lambda r: r["said"])
def test_each_pair_acts_in_its_example_and_not_in_its_counter(row: dict[str, Any]) -> None:
    done = repaired(row["example"])
    assert [s.reason for s in done.steps if s.reason.startswith("pair")] == [f"pair: {row['said']}"]
    assert lines_of(repaired(row["counter"]).words) == [row["counter"]]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"pairs": [{"heard": "a", "said": "b"}]}, "without 'where'"),
        ({"pairs": [{"heard": "a", "said": "b", "where": ["no mark"]}]}, "must hold an @"),
        ({"pairs": [{"heard": "a", "said": "b", "where": ["{nowhere} @"]}]}, "no set named nowhere"),
        ({"measures": {"shortest": 3}}, "missing"),
    ],
)
def test_a_wrong_table_is_refused(change: dict[str, Any], message: str) -> None:
    with pytest.raises(RepairTableError, match=message):
        repair_table({**DATA, **change})


def test_a_missing_key_is_named() -> None:
    with pytest.raises(RepairTableError, match="keep"):
        repair_table({key: value for key, value in DATA.items() if key != "keep"})


@pytest.mark.parametrize(
    "word", ["sailing", "tendons", "sniffed", "rusted", "boxes", "it's", "2019", "heavier"]
)
def test_everyday_words(word: str) -> None:
    assert TABLE.ordinary(word)


@pytest.mark.parametrize("word", ["rieslin", "shabley", "brioshe", "nebilo", "tanins"])
def test_no_everyday_words(word: str) -> None:
    assert not TABLE.ordinary(word)
