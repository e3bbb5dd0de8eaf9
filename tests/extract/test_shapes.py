"""Things the lexicon does not know: the shapes that give one, those that do not, and the shipped table."""

from __future__ import annotations

import pytest

from dictate.extract.shapes import shape_table, unknown_things
from dictate.lexicon import load_table
from tests.extract.said import RULES, parsed


def things(text: str, busy: frozenset[int] = frozenset()) -> list[str]:
    made = parsed(text, "nose")
    return [made.text(a, b) for a, b in unknown_things(made, RULES.shapes, level_places=busy)]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("it smells of tram depot", ["tram depot"]),
        ("notes of ballet shoes and cherry", ["ballet shoes"]),
        ("cherry, ballet shoes, plum", ["ballet shoes"]),
        ("something like an old tram depot", ["old tram depot"]),
        ("ballet shoes", []),
        ("it smells of cherry", []),
        ("it smells of what you said", []),
        ("it smells of seven different people talking at the same time", []),
        ("cherry, honestly", []),
    ],
)
def test_shapes(text: str, found: list[str]) -> None:
    assert things(text) == found


def test_words_that_measure_something_are_no_things() -> None:
    assert things("cherry, tram depot", frozenset([1, 2])) == []


@pytest.mark.parametrize("part", ["introducers", "strong", "hedges", "sentence"])
def test_a_missing_part_is_refused(part: str) -> None:
    with pytest.raises(KeyError, match=part):
        shape_table({k: v for k, v in load_table("shape").items() if k != part})
