"""What "strike that" reaches back to."""

from __future__ import annotations

import pytest

from dictate.language.fillers import HESITATIONS, LEAD_IN, STARTERS, WORDS, clock_cue_struck


@pytest.mark.parametrize(
    ("before", "struck"),
    [
        (["gone", "away", "begin"], "gone"),
        (["away", "begin"], "away"),
        (["private_off", "private_on", "gone"], "gone"),
        ([WORDS, "gone"], ""),
        (["private_off", "private_on", WORDS, "gone"], ""),
        (["holding", "away"], ""),
        (["take_back", "gone"], ""),
        ([], ""),
    ],
)
def test_the_cue_of_the_clock_that_is_struck(before: list[str], struck: str) -> None:
    assert clock_cue_struck(before) == struck


def test_what_leads_in_says_nothing_of_a_wine() -> None:
    assert HESITATIONS < LEAD_IN > STARTERS
    assert not LEAD_IN & {"gone", "dry", "strike", "that"}
