"""What redoing is told as."""

from __future__ import annotations

import pytest

from dictate.form import Difference, FieldDifference
from dictate.redo.lines import about, field_line, length, redone_lines
from dictate.redo.values import Redone
from tests.redo.made import placed


@pytest.mark.parametrize(
    ("seconds", "told"),
    [(0, "0:00"), (59.6, "1:00"), (750, "12:30"), (3600, "1:00:00"), (86_399, "23:59:59")],
)
def test_lengths(seconds: float, told: str) -> None:
    assert length(seconds) == told


@pytest.mark.parametrize(
    ("seconds", "told"),
    [(1, "about a minute"), (100, "about 2 min"), (5000, "about 83 min"), (9000, "about 2 h")],
)
def test_times_that_are_known_roughly(seconds: float, told: str) -> None:
    assert about(seconds) == told


@pytest.mark.parametrize(
    ("field", "told"),
    [
        (("palate.acidity", "machine", ("5",), ("8",), ("8",)), "acidity: 5 → 8"),
        (("palate.acidity", "machine", (), ("8",), ("8",)), "acidity: nothing → 8"),
        (("nose.aromas", "machine", ("a", "b"), ("b", "c"), ("b", "c")), "smell: − a, + c"),
        (("nose.aromas", "machine", ("a", "b"), ("b", "a"), ("b", "a")), "smell: b; a"),
        (("nose.aromas", "machine", ("a", "a"), ("a",), ("a",)), "smell: − a"),
        (("finish.how", "machine", ("a",), ("b",), ("b",)), "how the finish is known: a → b"),
        (("palate.body", "kept", ("5",), ("5",), ()), "body: nothing (read as before: 5)"),
        (("palate.body", "agree", ("5",), ("7",), ("7",)), "body: 7 (read before: 5)"),
        (("palate.body", "conflict", ("5",), ("3",), ("7",)), "body: 7 (read before: 5; now: 3)"),
    ],
)  # fmt: skip
def test_a_field_on_one_line(field: tuple[str, ...], told: str) -> None:
    assert field_line(FieldDifference(*field)) == told  # type: ignore[arg-type]


def test_a_note_in_lines() -> None:
    fields = (
        FieldDifference("palate.acidity", "machine", ("5",), ("8",), ("8",)),
        FieldDifference("palate.body", "conflict", ("5",), ("3",), ("7",)),
    )
    redone = Redone(7, placed(0, 1), None, Difference(fields, 40, 3))
    assert list(redone_lines(redone)) == [
        "7: A wine without a name",
        "  Read otherwise: acidity: 5 → 8",
        "  Yours stands, and is read otherwise again: body: 7 (read before: 5; now: 3)",
        "  Heard otherwise: 3 of 40 words",
    ]
    assert list(redone_lines(Redone(7, placed(0, 1), None, Difference(), same=True)))[1:] == ["  The same."]
    assert list(redone_lines(Redone(7, placed(0, 1), None, Difference())))[1:] == ["  Says the same."]
    assert list(redone_lines(Redone(7, placed(0, 1), None, Difference(), is_new=True)))[1:] == [
        "  A note of its own now."
    ]
