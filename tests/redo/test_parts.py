"""Which of the notes that a recording gives now are those that it gave before."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.note import Note
from dictate.redo.parts import Part, layers, parts
from tests.redo.made import placed


def notes(*spans: tuple[float, float]) -> list[Note]:
    return [placed(*span, number=n) for n, span in enumerate(spans, 1)]


A, B, C = (0.0, 60.0), (62.0, 100.0), (102.0, 150.0)


@pytest.mark.parametrize(
    ("old", "new", "found"),
    [
        ([A, B], [A, B], [((0,), (0,)), ((1,), (1,))]),
        ([A, B], [(1.0, 66.0), (67.0, 99.0)], [((0,), (0,)), ((1,), (1,))]),  # an edge that moved
        ([A, B], [(0.0, 35.0), (36.0, 60.0), B], [((0,), (0, 1)), ((1,), (2,))]),  # parted in two
        ([A, B], [(0.0, 30.0), (30.0, 60.0), B], [((0,), (0, 1)), ((1,), (2,))]),
        ([A, B], [(0.0, 100.0)], [((0, 1), (0,))]),  # joined
        ([A], [A, B], [((0,), (0,)), ((), (1,))]),  # one more
        ([A, B], [A], [((0,), (0,)), ((1,), ())]),  # one less
        ([B, A], [A, B], [((1,), (0,)), ((0,), (1,))]),  # whatever the order
        ([A, A], [A], [((0, 1), (0,))]),  # two notes of the same speech
        ([A, B, C], [(0.0, 20.0), (20.0, 99.0), C], [((0, 1), (0, 1)), ((2,), (2,))]),
        ([(5.0, 5.0)], [(5.0, 5.0)], [((0,), (0,))]),
        ([], [], []),
    ],
)
def test_notes_are_known_by_the_speech_they_share(
    old: list[tuple[float, float]], new: list[tuple[float, float]], found: list[tuple[tuple[int, ...], ...]]
) -> None:
    assert parts(notes(*old), notes(*new)) == tuple(Part(*each) for each in found)


def test_notes_of_the_same_speech_are_in_layers_of_their_own() -> None:
    line = notes(A, B, (1.0, 58.0), C, (61.0, 140.0))
    assert layers(line) == ((line[0], line[1], line[3]), (line[2], line[4]))
    assert layers([]) == ()


def test_a_note_of_no_recording_stays_alone() -> None:
    assert parts([placed(None)], notes(A)) == (Part((0,), ()), Part((), (0,)))


SPANS = st.lists(
    st.tuples(st.integers(0, 50), st.integers(0, 30)).map(lambda s: (s[0], s[0] + s[1])), max_size=5
)


@given(SPANS, SPANS)
def test_each_note_is_in_one_part(old: list[tuple[int, int]], new: list[tuple[int, int]]) -> None:
    found = parts(notes(*old), notes(*new))
    assert sorted(p for part in found for p in part.old) == list(range(len(old)))
    assert sorted(p for part in found for p in part.new) == list(range(len(new)))


@given(st.lists(st.integers(1, 30), min_size=1, max_size=6))
def test_notes_that_follow_one_another_are_each_themselves(lengths: list[int]) -> None:
    ends = [float(sum(lengths[: n + 1])) for n in range(len(lengths))]
    line = notes(*zip([0.0, *ends], ends, strict=False))
    assert [(part.old, part.new) for part in parts(line, line)] == [((n,), (n,)) for n in range(len(line))]
