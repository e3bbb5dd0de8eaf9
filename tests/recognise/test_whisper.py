"""Whisper behind the recogniser: laws on real weights, and the pure parts without them."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from dictate.audio import Recording, Stretch, find_speech
from dictate.cues import plain
from dictate.recognise import ModelError, Weights
from dictate.recognise.decoder import MAX_SECONDS, Decoder, Timed, compression_ratio, is_loop
from dictate.recognise.whisper import WhisperRecogniser, _inside, _pieces
from dictate.values import Heard

RATE = 16000
READING = (
    "it was the best of times it was the worst of times "
    "it was the age of wisdom it was the age of foolishness"
)


def recording_of(samples: np.ndarray) -> Recording:
    return Recording(samples.astype(np.float32), RATE, "0" * 64, len(samples) / RATE, Path("made.wav"))


def test_words_lie_inside_their_stretch_and_begin_with_it() -> None:
    timed = [Timed("still", -0.2, 1.4, 0.9), Timed("there", 1.2, 1.9, 1.2), Timed("now", 3.0, 3.5, 0.4)]
    words = _inside(timed, Stretch(1.0, 2.0), None)
    assert [(w.text, w.start_s, w.end_s) for w in words] == [
        ("still", 1.0, 1.4),
        ("there", 1.4, 1.9),
        ("now", 2.0, 2.0),
    ]
    assert all(w.heard is None and w.confidence <= 1.0 for w in words)


def test_a_word_put_right_keeps_what_was_written() -> None:
    words = _inside([Timed("all", 1.0, 1.3, 0.9), Timed("gone", 1.3, 1.6, 0.9)], Stretch(1, 2), "Oh, Garn.")
    assert [w.heard for w in words] == ["Oh, Garn.", ""]


@pytest.mark.parametrize("seconds", [1.0, 27.9, 28.1, 61.0, 200.0])
def test_a_long_stretch_is_cut_where_it_is_quiet(seconds: float) -> None:
    samples = np.random.default_rng(1).normal(size=round((seconds + 2) * RATE)).astype(np.float32)
    samples[20 * RATE : 20 * RATE + 4000] = 0
    stretch = Stretch(1.0, 1.0 + seconds)
    pieces = list(_pieces(samples, stretch))
    assert pieces[0][0] == stretch.start_s
    assert pieces[-1][1] == stretch.end_s
    assert all(a[1] == b[0] for a, b in pairwise(pieces))
    assert all(0 < end - start <= MAX_SECONDS for start, end in pieces)
    if len(pieces) > 1:
        assert pieces[0][1] == pytest.approx(20.1, abs=0.2)


def test_a_loop_compresses_and_speech_does_not() -> None:
    assert compression_ratio("it's gone " * 20) > 2.4
    assert compression_ratio("medium plus acidity, fine chalky tannins, a long saline finish") < 2.4
    assert compression_ratio("") == 0.0
    assert is_loop("it it, it it was the age of foolishness")
    assert not is_loop("very, very, very long")


def test_cue_phrases_are_compared_without_case_and_marks() -> None:
    assert plain(" It’s GONE. ") == "it's gone"
    assert plain("Spitting, now!") == "spitting now"


def test_weights_that_cannot_be_loaded_give_one_line(tmp_path: Path) -> None:
    for name in ("model.bin", "config.json", "tokenizer.json"):
        (tmp_path / name).write_text("{}")
    with pytest.raises(ModelError) as caught:
        Decoder(tmp_path, device="cpu")
    assert "\n" not in str(caught.value)
    assert str(tmp_path) in str(caught.value)


@pytest.fixture(scope="module")
def recogniser(both: tuple[Weights, ...]) -> WhisperRecogniser:
    """As the program has it, without a second hearing."""
    return WhisperRecogniser(both, device="cpu", threads=2)


@pytest.mark.model
def test_silence_and_noise_give_no_word(recogniser: WhisperRecogniser) -> None:
    noise = np.random.default_rng(1).normal(size=20 * RATE)
    pink = np.cumsum(noise) - np.convolve(np.cumsum(noise), np.ones(4001) / 4001, "same")
    for samples in (noise * 0, noise * 0.02, pink / pink.std() * 0.05, noise[:10]):
        assert recogniser.recognise(recording_of(samples)).words == ()


@pytest.fixture(scope="module")
def heard(recogniser: WhisperRecogniser, reading: Recording) -> Heard:
    shares: list[float] = []
    heard = recogniser.recognise(reading, progress=shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    return heard


@pytest.mark.model
def test_a_real_reading_is_understood(heard: Heard) -> None:
    import jiwer

    said = plain(" ".join(w.text for w in heard.words))
    begin = " ".join(said.split()[: len(READING.split())])
    assert jiwer.wer(READING, begin) < 0.15


@pytest.mark.model
def test_words_lie_in_breath_groups_in_order(heard: Heard, reading: Recording) -> None:
    stretches = find_speech(reading.samples)
    starts = {s.start_s for s in stretches}
    assert all(a.end_s <= b.start_s and a.utterance <= b.utterance for a, b in pairwise(heard.words))
    for utterance in {w.utterance for w in heard.words}:
        words = [w for w in heard.words if w.utterance == utterance]
        assert words[0].start_s in starts
        (home,) = [s for s in stretches if s.start_s == words[0].start_s]
        assert all(home.start_s <= w.start_s <= w.end_s <= home.end_s for w in words)
    assert all(0.0 <= w.confidence <= 1.0 for w in heard.words)


@pytest.mark.model
def test_no_cue_is_put_into_a_reading(heard: Heard) -> None:
    assert [w for w in heard.words if w.heard is not None] == []


@pytest.mark.model
def test_the_same_recording_gives_the_same_words(recogniser: WhisperRecogniser, reading: Recording) -> None:
    short = recording_of(reading.samples[: 8 * RATE])
    assert recogniser.recognise(short) == recogniser.recognise(short)
