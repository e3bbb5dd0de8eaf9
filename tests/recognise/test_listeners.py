"""Two models that hear the same sound: laws on real weights and a real person's reading."""

from __future__ import annotations

import numpy as np
import pytest

from dictate.audio import Recording
from dictate.recognise import Weights
from dictate.recognise.decoder import Decoder
from dictate.recognise.listeners import Listeners, Sound

pytestmark = pytest.mark.model
PROMPT = "Ruby core, garnet rim. On the nose cassis and tar. A saline finish."
RATE = 16000


@pytest.fixture(scope="module")
def decoders(both: tuple[Weights, ...]) -> list[Decoder]:
    """Of base and of tiny.en."""
    return [Decoder(w.folder, device="cpu", threads=2) for w in both]


@pytest.fixture(scope="module")
def pieces(reading: Recording) -> list[np.ndarray]:
    """Six seconds each."""
    return [reading.samples[n * RATE : (n + 6) * RATE] for n in (0, 6, 12, 18, 24)]


def test_the_text_is_likelier_on_the_whole_than_what_each_wrote(
    decoders: list[Decoder], pieces: list[np.ndarray]
) -> None:
    both = Listeners(decoders, prompt=PROMPT)
    base, tiny = (Listeners([each]) for each in decoders)
    changed = 0
    for piece in pieces:
        ((sound, found),) = both.listen([piece])
        tops = [d.text for d in (*both.write(sound), both.write(sound, PROMPT)[1])]
        texts = [found.text, *tops]
        told = base.fits(Sound(sound.encoded[:1]), texts, prompt=PROMPT)
        untold = tiny.fits(Sound(sound.encoded[1:]), texts)
        whole = [a + b for a, b in zip(told, untold, strict=True)]
        agreed = len({t.lower().strip(" .,!?") for t in tops[:2]}) == 1
        assert agreed or whole[0] >= max(whole[1:]) - 2.0  # marks and capitals do not count
        assert found.text not in found.others
        changed += found.text != tops[0]
    assert changed, "the second listener never counted"


def test_fits_are_the_mean_of_what_each_says(decoders: list[Decoder], pieces: list[np.ndarray]) -> None:
    texts = ["It was the best of times.", "It was the beast of tines."]
    both, alone = Listeners(decoders), [Listeners([each]) for each in decoders]
    ((sound, _),) = both.listen(pieces[:1])
    fits = both.fits(sound, texts)
    each = [one.fits(one.listen(pieces[:1])[0][0], texts) for one in alone]
    assert fits == pytest.approx([(a + b) / 2 for a, b in zip(*each, strict=True)], abs=0.2)
    assert fits[0] > fits[1]
    assert both.fits(sound, []) == []


def test_silence_is_judged_by_the_first_and_words_have_times(
    decoders: list[Decoder], pieces: list[np.ndarray]
) -> None:
    both = Listeners(decoders, prompt=PROMPT)
    ((sound, found),) = both.listen(pieces[:1])
    assert found.silence == pytest.approx(Listeners(decoders[:1]).listen(pieces[:1])[0][1].silence, abs=0.05)
    words = both.words(sound, found.text)
    assert " ".join(w.text for w in words).split() == found.text.split()
    assert both.frames(sound).shape[0] == pytest.approx(300, abs=2)
    assert both.words(sound, "") == []


def test_heard_together_each_stretch_is_heard_as_alone(
    decoders: list[Decoder], pieces: list[np.ndarray]
) -> None:
    both = Listeners(decoders, prompt=PROMPT)
    some = [pieces[0], pieces[1][: 2 * RATE], pieces[2], pieces[1][: 2 * RATE + 400]]
    assert [found for _, found in both.listen(some)] == [both.listen([each])[0][1] for each in some]
    assert both.listen([]) == []
