"""Sweetness words against Commission Delegated Regulation (EU) 2019/33, Annex III, parts A and B.

The bands are copied from the regulation's tables; part B's conditions of acidity are those of
753/2002 Article 16 and of OIV I.3.2. Where two words fit, ours takes the drier (the choice is the
producer's, Article 52(2)).
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.extract.sweetness import word_for_sugar

# word: lowest and highest sugar in g/L, and whether the ends belong to the band
SPARKLING = {
    "extra brut": (0, 6, True),
    "brut": (0, 12, False),  # "less than 12"
    "extra dry": (12, 17, True),
    "dry": (17, 32, True),
    "medium dry": (32, 50, True),
    "sweet": (50, float("inf"), False),  # "greater than 50"
}
SUGAR = st.floats(0, 400).map(lambda s: round(s, 2))


@given(sugar=SUGAR)
def test_a_sparkling_wine_s_word_is_one_the_regulation_allows(sugar: float) -> None:
    low, high, ends = SPARKLING[word_for_sugar(sugar, style="sparkling")]
    assert low <= sugar <= high
    assert ends or sugar != high


@given(sugar=SUGAR)
def test_of_the_words_allowed_the_drier_is_taken(sugar: float) -> None:
    allowed = [
        w
        for w, (low, high, ends) in SPARKLING.items()
        if low < sugar < high or (ends and sugar in (low, high))
    ]
    if sugar == 0:
        allowed = ["extra brut"]
    assert word_for_sugar(sugar, style="sparkling") == allowed[0]


@pytest.mark.parametrize(
    ("sugar", "word"),
    [(0, "extra brut"), (6, "extra brut"), (6.01, "brut"), (11.99, "brut"), (12, "extra dry"),
     (17, "extra dry"), (17.01, "dry"), (32, "dry"), (32.01, "medium dry"),
     (50, "medium dry"), (50.01, "sweet")],
)  # fmt: skip
def test_sparkling_bands_at_their_ends(sugar: float, word: str) -> None:
    assert word_for_sugar(sugar, style="sparkling") == word


def test_brut_nature_needs_the_promise_that_no_sugar_was_added() -> None:
    assert word_for_sugar(2, style="sparkling", no_sugar_added=True) == "brut nature"
    assert word_for_sugar(3, style="sparkling", no_sugar_added=True) == "extra brut"
    assert word_for_sugar(2, style="still", no_sugar_added=True) == "dry"


@pytest.mark.parametrize(
    ("sugar", "acidity", "word"),
    [
        (4, None, "dry"),
        (4.1, None, "medium dry"),
        (8, 6.0, "dry"),  # worked in the facts: TA >= sugar - 2
        (8, 5.9, "medium dry"),
        (9, 7.0, "dry"),
        (9.1, 9.0, "medium dry"),  # above 9 acidity no longer helps
        (12, None, "medium dry"),
        (12.1, None, "medium sweet"),
        (17, 7.0, "medium dry"),  # worked: sugar - TA <= 10
        (17, 6.9, "medium sweet"),
        (18.1, 12.0, "medium sweet"),
        (45, None, "medium sweet"),
        (45.1, None, "sweet"),
    ],
)
def test_other_wines_at_the_ends_of_their_bands(sugar: float, acidity: float | None, word: str) -> None:
    assert word_for_sugar(sugar, style="still", total_acidity=acidity) == word
    assert word_for_sugar(sugar, style="fortified", total_acidity=acidity) == word


def test_dry_means_another_thing_in_a_sparkling_wine() -> None:
    assert word_for_sugar(20, style="sparkling") == "dry"
    assert word_for_sugar(20, style="still") == "medium sweet"


@given(sugar=SUGAR, acidity=st.none() | st.floats(0, 20), style=st.sampled_from(["still", "sparkling"]))
def test_more_sugar_is_never_a_drier_word(sugar: float, acidity: float | None, style: str) -> None:
    order = ["extra brut", "brut", "extra dry", "dry", "medium dry", "medium sweet", "sweet"]
    words = [word_for_sugar(s, style=style, total_acidity=acidity) for s in (sugar, sugar + 1)]
    assert order.index(words[0]) <= order.index(words[1])


@pytest.mark.parametrize("amount", [-1, float("nan"), float("inf")])
def test_what_is_no_amount_is_refused(amount: float) -> None:
    with pytest.raises(ValueError, match="no amount"):
        word_for_sugar(amount, style="still")


def test_an_unknown_style_is_refused() -> None:
    with pytest.raises(ValueError, match="style must be"):
        word_for_sugar(3, style="orange")
