"""What is said in one go, though a breath is taken."""

from __future__ import annotations

import pytest

from dictate.segment.breaths import MEANT_S, breaths
from tests import build


def parts(first: str, second: str, *, gap_s: float) -> list[str]:
    """Two breath groups so far apart, as they are cut."""
    said = build.words(first, utterance=0)
    then = build.words(second, at=said[-1].end_s + gap_s, utterance=1)
    return [build.said(breath) for breath in breaths([*said, *then])]


def test_a_correction_goes_on_after_a_breath() -> None:
    assert parts("the body, I said light.", "I meant medium", gap_s=1.2) == [
        "the body, I said light. I meant medium"
    ]


@pytest.mark.parametrize(
    ("first", "second", "gap_s"),
    [
        ("the body is light.", "I meant medium", 1.2),  # nothing that was "said" before
        ("I said light.", "the nose is closed", 1.2),
        ("I said light.", "I meant medium", MEANT_S + 1),
    ],
)
def test_other_breaths_stay_apart(first: str, second: str, gap_s: float) -> None:
    assert parts(first, second, gap_s=gap_s) == [first, second]
