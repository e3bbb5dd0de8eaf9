"""The lexicon against names in the wine law of the United States (us_wine_law.toml).

The lexicon was made without them; the blind figures are in tests/bench/bench_coverage.py.
"""

from __future__ import annotations

import pytest

from dictate.lexicon import Lexicon, load_lexicon
from tests.lexicon.us_law import COUNTRIES, known_to_us_trade, us_areas, us_grapes


@pytest.fixture(scope="module")
def lexicon() -> Lexicon:
    return load_lexicon()


def missed(names: tuple[str, ...], lexicon: Lexicon, *, kind: str) -> list[str]:
    return [name for name in names if lexicon.lookup(name, kind) is None]


def test_american_areas(lexicon: Lexicon) -> None:
    """All but three, which are plain words of another kind or other places."""
    assert len(us_areas()) == 239
    assert missed(us_areas(), lexicon, kind="origin") == ["Madera", "South Coast", "Willow Creek"]


def test_american_grape_names(lexicon: Lexicon) -> None:
    """Two in three: muscadines and old hybrids named by a word of every day are left out."""
    unknown = missed(us_grapes(), lexicon, kind="grape")
    assert {"Creek", "Taylor", "Fry", "Summit"} <= set(unknown)
    assert 1 - len(unknown) / len(us_grapes()) >= 0.66


@pytest.mark.parametrize("country", COUNTRIES)
def test_names_known_to_the_american_trade(lexicon: Lexicon, country: str) -> None:
    names = known_to_us_trade(country)
    least = 0.75 if country in ("Portugal", "Romania") else 0.9  # of these two the law names villages
    assert 1 - len(missed(names, lexicon, kind="origin")) / len(names) >= least
