"""The line of a note's revisions, and what an undo takes back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.library.revisions import MADE_AGAIN, READ_AGAIN, in_effect, last_change, taken_back, undone

READ, AGAIN = READ_AGAIN + "2", MADE_AGAIN + "2"


def line(*whys: str) -> dict[int, str]:
    return dict(enumerate(whys, 1))


@pytest.mark.parametrize(
    ("whys", "effect", "last"),
    [
        (line("made"), [1], None),
        (line("made", "reviewed"), [2, 1], 2),
        (line("made", "reviewed", undone(2)), [1], None),
        (line("made", "reviewed", "edited", undone(3)), [2, 1], 2),
        (line("made", AGAIN), [2, 1], 2),
        (line("made", "reviewed", READ, AGAIN), [4, 3, 2, 1], 3),
        (line("made", "reviewed", READ, AGAIN, undone(3)), [2, 1], 2),
        (line("made", "reviewed", READ, AGAIN, undone(3), undone(2)), [1], None),
        (line("made", AGAIN, "reviewed"), [3, 2, 1], 3),
        (line("made", "made"), [2, 1], None),
        (line(AGAIN), [1], None),
        ({}, [], None),
    ],
    ids=str,
)
def test_what_led_to_a_note_and_what_an_undo_takes(
    whys: dict[int, str], effect: list[int], last: int | None
) -> None:
    assert list(in_effect(whys)) == effect
    assert last_change(whys) == last


def test_that_a_hand_put_a_note_back_is_known() -> None:
    assert taken_back(line("made", AGAIN, undone(2))) == "2"
    assert taken_back(line("made", "reviewed", READ, AGAIN, undone(3))) == "2"
    assert taken_back(line("made", AGAIN)) == ""
    assert taken_back(line("made", "reviewed", undone(2))) == ""
    assert taken_back(line("made", AGAIN, undone(2), "reviewed")) == ""
    assert taken_back({}) == ""


WHYS = st.lists(
    st.sampled_from(["made", "reviewed", "edited", READ, AGAIN]) | st.integers(0, 9).map(undone), max_size=9
)


@given(WHYS)
def test_any_line_ends_and_an_undo_goes_back(whys: list[str]) -> None:
    all_of = dict(enumerate(whys, 1))
    effect = list(in_effect(all_of))
    assert effect == sorted(set(effect), reverse=True)
    last = last_change(all_of)
    if last is not None:
        assert last - 1 in all_of
        behind = [*in_effect({**all_of, len(all_of) + 1: undone(last)})]
        assert behind == [place for place in in_effect(all_of) if place < last]
