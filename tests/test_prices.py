"""A price said in a tasting stays a remark of its note, beside the score and vintage that were said."""

from __future__ import annotations

import pytest

from dictate.pipeline import notes_from_words
from dictate.settings import Settings
from dictate.values import Heard
from tests import build


@pytest.mark.parametrize(
    "price", ["ninety five pounds a bottle", "twelve euros fifty", "it costs ninety five"]
)
def test_a_price_stays_a_remark(price: str) -> None:
    words = build.breaths(
        ["next wine, Riesling, twenty eighteen", "acidity is high", "ninety one points", price]
    )
    heard = Heard(words, words[-1].end_s, "transcript")
    (note,) = notes_from_words(heard, settings=Settings(), recording=build.RECORDING)
    assert note.verdict.score is not None
    assert (note.verdict.score.points, note.verdict.score.out_of) == (91, 100)
    assert note.wine.vintage is not None
    assert note.wine.vintage.year == 2018
    assert note.finish.seconds is None
    assert price in [remark.text for remark in note.remarks]
