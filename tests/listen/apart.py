"""A recording's words as a session hears them: each breath group by itself."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from dictate.audio import Recording, find_speech
from dictate.pipeline import second_hearing
from dictate.recognise import find_listeners
from dictate.recognise.recogniser import joined
from dictate.recognise.whisper import Hearing, WhisperRecogniser
from dictate.settings import Settings
from dictate.values import Heard


class Apart:
    """A recogniser of recordings that hears no breath group among its neighbours."""

    def __init__(self, recogniser: WhisperRecogniser) -> None:
        self._recogniser, self.name = recogniser, recogniser.name

    def recognise(self, recording: Recording, *, progress: Callable[[float], None] | None = None) -> Heard:
        """See `Recogniser`."""
        hearing = Hearing(self._recogniser)
        heard = [hearing.hear(recording.samples, stretch) for stretch in find_speech(recording.samples)]
        return joined(heard, recording.duration_s, recogniser=self.name)


@lru_cache(maxsize=1)
def apart() -> Apart:
    """One for all tests: the weights take a while to load."""
    return Apart(WhisperRecogniser(find_listeners(None), again=second_hearing(Settings())))
