"""Windows: what goes into one, where it lies, which words are whose."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from dictate.audio.speech import Stretch
from dictate.batch.job import in_spans
from dictate.recognise.decoder import MAX_SECONDS, SAMPLE_RATE, Timed
from dictate.recognise.recogniser import AROUND_S
from dictate.recognise.windows import in_windows, laid_out, parted

_LENGTHS = st.lists(
    st.tuples(st.floats(0.1, 40.0), st.floats(0.35, 90.0)), min_size=1, max_size=60
)  # of speech, and of the pause behind


def _stretches(lengths: list[tuple[float, float]]) -> list[Stretch]:
    reached_s, found = 0.5, []
    for speech_s, pause_s in lengths:
        found.append(Stretch(round(reached_s, 2), round(reached_s + speech_s, 2)))
        reached_s += speech_s + pause_s
    return found


@given(_LENGTHS)
def test_each_group_is_in_one_window_that_whisper_can_hear(lengths: list[tuple[float, float]]) -> None:
    stretches = _stretches(lengths)
    runs = in_windows(stretches)
    assert [s for run in runs for s in run] == stretches
    for run in runs:
        seconds = sum(s.end_s - s.start_s + 2 * AROUND_S for s in run)
        assert seconds <= MAX_SECONDS or len(run) == 1


@given(_LENGTHS, st.data())
def test_runs_do_not_depend_on_where_hearing_began(
    lengths: list[tuple[float, float]], data: st.DataObject
) -> None:
    """So that spans of a recording that several workers hear give what one gives."""
    runs = in_windows(_stretches(lengths))
    first = data.draw(st.integers(0, len(runs) - 1))
    last = data.draw(st.integers(first, len(runs) - 1))
    part = runs[first : last + 1]
    assert in_windows([s for run in part for s in run]) == part


@given(_LENGTHS)
def test_spans_hold_whole_windows(lengths: list[tuple[float, float]]) -> None:
    stretches = _stretches(lengths)
    spans = in_spans(stretches)
    assert [pair for span in spans for pair in span] == [(s.start_s, s.end_s) for s in stretches]
    apart = [run for span in spans for run in in_windows([Stretch(*pair) for pair in span])]
    assert tuple(apart) == in_windows(stretches)


def test_a_window_holds_the_sound_of_each_with_what_stands_around_it() -> None:
    samples = np.random.default_rng(1).normal(size=30 * SAMPLE_RATE).astype(np.float32)
    stretches = [Stretch(0.1, 2.0), Stretch(2.4, 3.71), Stretch(29.0, 29.99)]
    window = laid_out(samples, stretches)
    for stretch, place in zip(stretches, window.places, strict=True):
        first = round(place.start_s * SAMPLE_RATE)
        assert first % 320 == 0  # on a step of the encoder
        from_s = max(0.0, stretch.start_s - AROUND_S)
        assert place.from_s == from_s
        there = window.samples[first : round(place.end_s * SAMPLE_RATE)]
        here = samples[round(from_s * SAMPLE_RATE) : round((stretch.end_s + AROUND_S) * SAMPLE_RATE)]
        assert np.array_equal(there, here)


def test_words_go_to_the_group_they_are_timed_in_and_are_timed_as_in_the_recording() -> None:
    samples = np.zeros(60 * SAMPLE_RATE, np.float32)
    window = laid_out(samples, [Stretch(10.0, 12.0), Stretch(20.0, 21.0), Stretch(50.0, 51.0)])
    one, _, three = window.places
    words = [
        Timed("ruby", one.start_s + 0.4, one.start_s + 0.9, 0.9),
        Timed("core", one.end_s - 0.1, one.end_s + 0.15, 0.9),  # its end strays into the gap
        Timed("gone", three.start_s + 0.3, three.start_s + 0.6, 0.9),
    ]
    first, second, third = parted(words, window)
    assert [w.text for w in first] == ["ruby", "core"]
    assert second == ()
    assert abs(first[0].start_s - 10.1) < 1e-6
    assert [(w.text, round(w.start_s, 3)) for w in third] == [("gone", 50.0)]


@given(st.lists(st.floats(0, 28), max_size=30).map(sorted))
def test_no_word_is_lost_and_their_order_stays(times: list[float]) -> None:
    samples = np.zeros(60 * SAMPLE_RATE, np.float32)
    window = laid_out(samples, [Stretch(n * 3.0 + 1, n * 3.0 + 2.5) for n in range(10)])
    words = [Timed(str(n), at, at + 0.1, 0.5) for n, at in enumerate(times)]
    assert [w.text for group in parted(words, window) for w in group] == [w.text for w in words]
