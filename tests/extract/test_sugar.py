"""Grams of sugar said aloud become a level by the EU's bands (2019/33, Annex III) and the wine's style, never
over a word of sweetness that was said; acids and sugars of another wine, or quoted, give none."""

from __future__ import annotations

import pytest

from dictate.extract import read_fields
from dictate.lexicon import load_table
from dictate.values import Reading, Stage
from tests.extract.said import LEXICON, RULES, phrase

SUGAR = load_table("levels")["sugar"]


def sweetness(*texts: tuple[str, Stage]) -> list[Reading]:
    phrases = [phrase(text, stage) for text, stage in texts]
    return [r for r in read_fields(phrases, LEXICON, rules=RULES) if r.field == "palate.sweetness"]


@pytest.mark.parametrize(
    ("before", "said", "style", "word"),
    [
        ("", "three grams residual", "still", "dry"),
        ("", "seven grams residual", "still", "medium dry"),
        ("", "eight grams of sugar, total acidity six grams", "still", "dry"),
        ("", "fourteen to sixteen grams residual", "still", "medium sweet"),
        ("", "a hundred and twenty grams of residual sugar", "still", "sweet"),
        ("sparkling, from Champagne", "nine grams residual", "sparkling", "brut"),
        ("Champagne", "twenty grams residual", "sparkling", "dry"),
        ("", "fine mousse, twenty grams residual", "sparkling", "dry"),
    ],
)
def test_grams_map_by_the_wines_style(before: str, said: str, style: str, word: str) -> None:
    found = sweetness((before or "number three", "identity"), (said, "palate"))
    assert [(r.value, r.scope) for r in found] == [(SUGAR[style][word], "said")]


@pytest.mark.parametrize(
    "said",
    [
        "dry, with nine grams residual",
        "nine grams residual, and yet it tastes dry",
        "dry, total acidity six grams",
    ],
)
def test_a_word_said_holds_over_grams(said: str) -> None:
    assert [r.value for r in sweetness((said, "palate"))] == [0.8]


@pytest.mark.parametrize(
    "said",
    [
        "acidity seven grams",
        "seven bottles of it",
        "the last bottle had forty grams of sugar",
        "9999 g/L sugar",
    ],
)
def test_what_is_no_sugar_of_this_wine_maps_to_nothing(said: str) -> None:
    assert [r for r in sweetness((said, "palate")) if r.scope == "said"] == []


def test_each_word_of_the_annex_has_a_level_and_they_rise() -> None:
    for style in ("still", "sparkling"):
        levels = list(SUGAR[style].values())
        assert levels == sorted(levels)
        assert all(0 <= level <= 10 for level in levels)
