"""Names of wines in descriptions: of the wine in hand, of another, and names that are given."""

from __future__ import annotations

import pytest

from dictate.language.mentions import find_mentions
from dictate.language.passing_names import in_passing
from dictate.language.tokens import tokenise
from dictate.lexicon import load_lexicon
from tests.build import words


@pytest.mark.parametrize(
    ("text", "whose"),
    [
        ("this Chinon has strawberry", "this"),
        ("full for a Muscadet", "this"),
        ("this Barolo is pale", "this"),
        ("the Chablis has more chalk", "the"),
        ("number four, Chinon, 2019", ""),
        ("this Riesling is from Eden Valley", ""),
        ("it's a Chinon", ""),
        ("from Chinon, has strawberry", ""),
        ("the robe is deep gold", ""),  # Robe is a place
    ],
)
def test_whose_name_it_is(text: str, whose: str) -> None:
    tokens = tokenise(words(text))
    found = {in_passing(tokens, mention) for mention in find_mentions(tokens, load_lexicon())}
    assert found - {""} == ({whose} - {""})
