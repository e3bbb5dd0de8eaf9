"""Words heard in a window go to the breath group whose sound they fit; unlikely ones are not sure."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from dictate.audio.speech import Stretch
from dictate.recognise.around import hear_among
from dictate.recognise.decoder import Timed
from dictate.recognise.listeners import Long

RATE = 16000
SAMPLES = np.zeros(60 * RATE, np.float32)
GROUPS = (Stretch(1.0, 2.0), Stretch(4.0, 4.3), Stretch(9.0, 10.0))
STARTS = (0.0, 2.0, 3.2)  # where each lies in the window, about


class Listening:
    """In place of the models: what was written in the window, and how well each group's sound fits a text
    (nats; what is not named fits badly)."""

    def __init__(
        self, timed: Sequence[Timed], fits: dict[tuple[int, str], float], *, looped: bool = False
    ) -> None:
        self._timed, self._fits, self._looped = tuple(timed), fits, looped

    def listen_long(self, samples: np.ndarray) -> Long:
        return Long(None, (self._timed, ()), self._looped)  # type: ignore[arg-type]

    def part(self, sound: None, start_s: float, *, end_s: float) -> int:
        return int(np.argmin([abs(start_s - each) for each in STARTS]))

    def first_fits(self, part: int, texts: Sequence[str]) -> list[float]:
        return [self._fits.get((part, text), -9.0 * len(text.split())) for text in texts]

    def score(self, part: int, text: str) -> float:
        return self.first_fits(part, [text])[0] / max(1, len(text.split()))


def said(*words: tuple[str, float]) -> list[Timed]:
    return [Timed(text, at, at + 0.2, 0.9) for text, at in words]


def texts(listening: Listening, groups: Sequence[Stretch] = GROUPS) -> list[str | None]:
    among = hear_among(listening, SAMPLES, run=groups)  # type: ignore[arg-type]
    return [None if each is None else each.text for each in among]


def test_words_stay_where_they_are_timed_if_they_fit_there() -> None:
    heard = said(("Pale", 0.5), ("ruby.", 0.9), ("Silky.", 2.4), ("All", 3.6), ("gone.", 3.9))
    fits = {(0, "Pale ruby."): -1.0, (1, "Silky."): -0.5, (2, "All gone."): -0.4}
    assert texts(Listening(heard, fits)) == ["Pale ruby.", "Silky.", "All gone."]


def test_a_word_timed_in_the_group_in_front_goes_where_its_sound_is() -> None:
    heard = said(("Pale", 0.5), ("ruby.", 0.9), ("Silky.", 1.2), ("All", 3.6), ("gone.", 3.9))
    fits = {(0, "Pale ruby."): -1.0, (1, "Silky."): -0.5, (2, "All gone."): -0.4}
    assert texts(Listening(heard, fits)) == ["Pale ruby.", "Silky.", "All gone."]


def test_a_noise_keeps_no_cue_that_was_said_behind_it() -> None:
    heard = said(("Pale", 0.5), ("ruby.", 0.9), ("All", 2.3), ("gone.", 2.5))
    fits = {(0, "Pale ruby."): -1.0, (1, "All gone."): -14.0, (2, "All gone."): -0.4}
    assert texts(Listening(heard, fits)) == ["Pale ruby.", "", "All gone."]


def test_nothing_moves_for_a_little() -> None:
    heard = said(("Pale", 0.5), ("ruby.", 0.9), ("All", 2.3), ("gone.", 2.5))
    fits = {(0, "Pale ruby."): -1.0, (1, "All gone."): -3.0, (2, "All gone."): -2.0}
    assert texts(Listening(heard, fits)) == ["Pale ruby.", "All gone.", ""]


@pytest.mark.parametrize(("fit", "sure"), [(-1.0, True), (-4.0, False)])
def test_what_is_unlikely_is_not_sure(fit: float, sure: bool) -> None:
    heard = said(("Pale", 0.5), ("ruby.", 0.9))
    first, *others = hear_among(
        Listening(heard, {(0, "Pale ruby."): fit}),  # type: ignore[arg-type]
        SAMPLES,
        run=GROUPS,
    )
    assert first is not None
    assert first.sure is sure
    assert [each is not None and each.sure for each in others] == [False, False]  # nothing was written there


def test_a_loop_and_what_fills_more_than_a_window_are_left_to_be_heard_otherwise() -> None:
    heard = said(("Pale", 0.5))
    assert texts(Listening(heard, {}, looped=True)) == [None, None, None]
    assert texts(Listening(heard, {}), [Stretch(1.0, 40.0)]) == [None]
