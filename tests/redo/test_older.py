"""Which notes were made with older means."""

from __future__ import annotations

import pytest

from dictate.note import MadeWith
from dictate.redo.older import older, told_with
from tests.redo.made import NOW


def but(**other: str) -> MadeWith:
    return NOW.model_copy(update=other)


@pytest.mark.parametrize(
    ("made", "why"),
    [
        (NOW, ()),
        (but(program="0.1.9"), ("program 0.1.9 → 0.2.0",)),
        (but(program="0.10.0"), ()),
        (but(program="0.3.0", lexicon="bbb", model="other"), ()),
        (but(model="whisper-tiny int8"), ("model whisper-tiny int8 → whisper-base int8",)),
        (but(model="transcript"), ()),
        (but(lexicon="bbb"), ("lexicon",)),
        (but(lexicon="aaa+7"), ()),
        (None, ("not known with what it was made",)),
        (but(program="0.1.0", lexicon="b"), ("program 0.1.0 → 0.2.0", "lexicon")),
        (but(program="?"), ("program ? → 0.2.0",)),
    ],
    ids=str,
)
def test_what_is_older_in_what(made: MadeWith | None, why: tuple[str, ...]) -> None:
    assert older(made, NOW) == why


def test_a_model_is_no_reason_where_nothing_is_heard_or_none_is_there() -> None:
    assert older(but(model="x"), NOW, hears=False) == ()
    assert older(but(model="x"), but(model="")) == ()


def test_means_on_one_line() -> None:
    assert told_with(but(lexicon="aaa+7")) == "program 0.2.0, whisper-base int8, lexicon aaa"
