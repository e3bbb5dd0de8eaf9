"""Sound cut while it comes: as a whole recording is cut, and nothing given out twice."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import cycle
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictate.audio import Stretch, find_speech, load_recording
from dictate.audio import cutter as cutter_module
from dictate.audio.cutter import LiveCutter
from dictate.audio.speech import VOICE_HOP, VoiceDetector, measure

DEMO = Path(__file__).parents[2] / "audio_demo"
RATE = 16000


def fed(
    samples: np.ndarray, *, block: int = 1600, blocks: Sequence[int] = (), from_s: float = 0.0
) -> list[Stretch]:
    """What is cut from sound in blocks of one size, or of several, round and round."""
    cutter = LiveCutter(from_s=from_s)
    ended: list[Stretch] = []
    at = 0
    for size in cycle(blocks or [block]):
        if at >= len(samples):
            return [*ended, *cutter.finish()]
        ended += cutter.feed(samples[at : at + size]).ended
        at += size
    raise AssertionError


@lru_cache
def guests() -> np.ndarray:
    return load_recording(DEMO / "guests-table.flac").samples


@pytest.fixture(scope="module")
def talk() -> np.ndarray:
    return load_recording(DEMO / "after-lunch.flac").samples


def meet(one: Stretch, other: Stretch) -> bool:
    return min(one.end_s, other.end_s) > max(one.start_s, other.start_s)


def edges_apart(whole: Sequence[Stretch], live: Sequence[Stretch]) -> float:
    """The furthest that an edge lies from its own; fails where breath groups are not one to one."""
    assert len(whole) == len(live)
    assert all(meet(a, b) for a, b in zip(whole, live, strict=True))
    return max(
        max(abs(a.start_s - b.start_s), abs(a.end_s - b.end_s)) for a, b in zip(whole, live, strict=True)
    )


QUIET = ("after-lunch.flac", "guests-table.flac", "tank-room.flac")


@lru_cache
def of(name: str) -> np.ndarray:
    return load_recording(DEMO / name).samples


@lru_cache
def pauses(name: str) -> list[float]:
    """Where nothing is said for a while, seconds: just before each breath group."""
    return [stretch.start_s - 0.4 for stretch in find_speech(of(name))[:-4]]


@pytest.mark.parametrize("name", QUIET)
def test_it_cuts_as_a_whole_recording_is_cut(name: str) -> None:
    assert edges_apart(find_speech(of(name)), fed(of(name))) <= 0.02


def test_where_a_room_grows_loud_the_groups_are_the_same_and_edges_near() -> None:
    """The bottling line begins to run behind the first sentence: its noise is not known before."""
    name = "bottling-line.opus"
    assert edges_apart(find_speech(of(name)), fed(of(name))) <= 0.12


@settings(max_examples=12)
@given(st.data(), st.sampled_from(QUIET), st.floats(0.1, 1.0), st.sampled_from([0.0, 1e-4, 1e-3]))
def test_from_whatever_pause_it_begins_and_however_it_is_fed(
    data: st.DataObject, name: str, gain: float, hiss: float
) -> None:
    """A soft beginning must not be learnt as noise: a sentence of the tank room was cut in two for that."""
    begin = round(max(0.0, data.draw(st.sampled_from(pauses(name)))) * RATE)
    part = of(name)[begin : begin + 12 * RATE] * np.float32(gain)
    part = part + np.random.default_rng(1).normal(size=len(part)).astype(np.float32) * np.float32(hiss * gain)
    sizes = data.draw(st.lists(st.integers(1, 9000), min_size=1, max_size=12))
    live = fed(part, blocks=sizes)
    assert live == fed(part, block=1600)
    assert edges_apart(find_speech(part), live) <= 0.12


def test_nothing_is_lost_that_begins_in_the_middle_of_a_loud_place() -> None:
    """Nothing is known of such a room: more may be taken for speech, and edges lie further out."""
    whole = of("bottling-line.opus")
    for begin_s in (5.0, 32.5, 62.0):
        part = whole[round(begin_s * RATE) : round((begin_s + 20) * RATE)]
        live = fed(part)
        for stretch in find_speech(part):
            covered = sum(
                max(0.0, min(stretch.end_s, s.end_s) - max(stretch.start_s, s.start_s)) for s in live
            )
            assert covered >= stretch.end_s - stretch.start_s - 0.3


def test_seconds_count_from_where_it_begins(talk: np.ndarray) -> None:
    part = talk[: 12 * RATE]
    later = fed(part, from_s=100.0)
    assert [(s.start_s - 100, s.end_s - 100) for s in later] == [
        (pytest.approx(s.start_s), pytest.approx(s.end_s)) for s in fed(part)
    ]


def test_what_is_being_said_is_told_before_it_ends(talk: np.ndarray) -> None:
    first = find_speech(talk)[0]
    cutter = LiveCutter()
    states = [cutter.feed(talk[at : at + 800]) for at in range(0, round((first.end_s + 0.6) * RATE), 800)]
    opened = [s for s in states if s.open]
    assert opened[0].open is not None
    assert opened[0].open.start_s == pytest.approx(first.start_s, abs=0.05)
    assert max(s.silent_s for s in opened) >= 0.2  # a pause is seen before it ends the stretch
    assert sum(len(s.ended) for s in states) == 1
    assert states[-1].open is None


def test_what_is_being_said_at_the_end_is_given_out(talk: np.ndarray) -> None:
    first = find_speech(talk)[0]
    middle = round((first.start_s + first.end_s) / 2 * RATE)
    (cut,) = fed(talk[:middle])
    assert cut.start_s == pytest.approx(first.start_s, abs=0.05)
    assert cut.end_s == pytest.approx(middle / RATE, abs=0.4)


def test_silence_and_nothing_give_nothing() -> None:
    assert fed(np.zeros(0, np.float32)) == []
    assert fed(np.zeros(30 * RATE, np.float32)) == []
    noise = np.random.default_rng(4).normal(size=30 * RATE).astype(np.float32) * 1e-3
    assert fed(noise) == []


def test_talk_without_a_pause_is_cut_all_the_same(talk: np.ndarray) -> None:
    first = find_speech(talk)[0]
    piece = talk[round(first.start_s * RATE) : round((first.end_s - 0.2) * RATE)]
    found = fed(np.tile(piece, 1 + round(45 * RATE / len(piece))))
    assert all(s.end_s - s.start_s <= 20.0 for s in found)
    assert sum(s.end_s - s.start_s for s in found) > 40


def test_minutes_ago_are_forgotten_and_nothing_is_lost(
    talk: np.ndarray, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cutter_module, "_LEARN", 6000)
    once = talk[: 60 * RATE]
    many = np.tile(once, 5)
    cutter = LiveCutter()
    ended = [s for at in range(0, len(many), 3200) for s in cutter.feed(many[at : at + 3200]).ended]
    assert cutter._kept.count - cutter._kept.first <= 120 * 100
    a_round = [sum(60 * n <= s.start_s < 60 * n + 60 for s in ended) for n in range(5)]
    assert set(a_round[1:4]) == {a_round[1]}


def test_the_voice_detector_hears_the_same_in_pieces(talk: np.ndarray) -> None:
    from faster_whisper.vad import get_vad_model

    part = talk[: 300 * VOICE_HOP]
    whole = np.ravel(get_vad_model()(part))  # faster-whisper's own way, all at once
    detector = VoiceDetector()
    pieces = [detector(part[a * VOICE_HOP : b * VOICE_HOP]) for a, b in [(0, 1), (1, 7), (7, 7), (7, 300)]]
    np.testing.assert_allclose(np.concatenate(pieces), whole, atol=1e-5)
    assert len(measure(part).voice) == len(part) // 160


@settings(max_examples=25, deadline=None)
@given(st.lists(st.integers(0, 5000), min_size=1, max_size=40), st.integers(0, 2**32 - 1))
def test_stretches_ascend_and_never_overlap(sizes: list[int], seed: int) -> None:
    samples = guests()
    rng = np.random.default_rng(seed)
    cutter = LiveCutter()
    ended: list[Stretch] = []
    at = int(rng.integers(0, len(samples) // 2))
    for size in sizes:
        ended.extend(cutter.feed(samples[at : at + size] * np.float32(rng.uniform(0.2, 1))).ended)
        at += size
    ended.extend(cutter.finish())
    assert all(s.start_s < s.end_s for s in ended)
    assert all(a.end_s <= b.start_s for a, b in zip(ended, ended[1:], strict=False))
