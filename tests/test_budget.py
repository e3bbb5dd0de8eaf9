"""The error budget of spoken notes: a mistake is laid to the hearing or to the reading."""

from __future__ import annotations

from typing import Any

import pytest

from tests.bench.budget import class_of
from tests.scoring import Mistake
from tests.speech.synth import Line

LINES = (
    Line("next wine, number four, Barolo, from Tin Whistle", "identity", "begin", 0.0, 4.0),
    Line("cherry, acidity high", "palate", None, 5.0, 8.0),
)
TEXT: dict[str, Any] = {
    "wine": {"position": 4, "origin": {"text": "barolo", "said": "Barolo", "at": [2.0, 2.5]},
             "producer": {"text": "Tin Whistle", "said": "Tin Whistle", "at": [3.0, 4.0]}},
    "palate": {"flavours": [{"term": "cherry", "said": "cherry", "at": [5.0, 5.5]}],
               "acidity": {"level": 8.0, "said": "acidity high", "at": [6.0, 8.0]}},
}  # fmt: skip


def told(mistake: Mistake, heard: str) -> str:
    """The class of a mistake in a note that heard this all along."""
    note = {"transcript": [{"at": [0.0, 9.0], "text": heard}],
            "palate": {"flavours": [{"term": "beer", "said": "beer"}]}}  # fmt: skip
    return class_of(mistake, note=note, text=TEXT, lines=LINES, as_text=())[0]


@pytest.mark.parametrize(
    ("mistake", "heard", "kind"),
    [
        (Mistake("x", "palate.flavours", wanted="cherry"), "cherry, facility high", "d"),
        (Mistake("x", "palate.flavours", wanted="cherry"), "sherry, acidity high", "c"),
        (Mistake("x", "palate.flavours", given="beer"), "beer", "c"),
        (Mistake("x", "palate.acidity", wanted=[7, 9]), "cherry, facility high", "e"),
        (Mistake("x", "wine.origin", wanted="barolo"), "barrel oh", "b"),
        (Mistake("x", "wine.producer", given="Tin Missile", wanted="tin whistle"), "Tin Missile", "a"),
        (Mistake("x", "wine.position", wanted=4), "number for", "f"),
        (Mistake("x", "wine.position", wanted=4), "number 4", "d"),
    ],
)
def test_each_class(mistake: Mistake, heard: str, kind: str) -> None:
    assert told(mistake, heard) == kind


def test_what_the_text_gets_wrong_too_is_no_fault_of_hearing() -> None:
    wrong = Mistake("x.0", "palate.flavours", wanted="cherry")
    assert class_of(wrong, note={}, text=TEXT, lines=LINES, as_text=[wrong]).startswith("i")
