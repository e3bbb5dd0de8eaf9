"""Hears spoken cues in short stretches that stand alone, where free decoding often fails.

A prompt that names the cues brings them up (and finds them in noise); all cue phrases and what was written
are then compared by how well the sound fits them, with no prompt. `cues/spotting.py` weighs it all. Never
used on sound that the speech gate has not let through.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dictate.cues import Evidence, candidates, plain, without_fillers
from dictate.recognise.decoder import Decoded
from dictate.recognise.listeners import Listeners, Sound

LONGEST_S = 2.0  # a stretch that holds a cue and nothing else
# nats: in 9 recordings of the clock bench (choose, 15 dB) no cue so far off a sure text had a chance above .3
_FAR = 6.0
_OTHERS = 3  # texts beside the likeliest that a cue must compare with


@dataclass(frozen=True, slots=True)
class Short:
    """A short stretch: its sound, the text written of it, and its length without what stands around it."""

    sound: Sound
    free: Decoded
    seconds: float


class CueSpotter:
    """Looks for one of a few phrases in a stretch; made once, used for each short stretch."""

    def __init__(self, listeners: Listeners, phrases: Sequence[str]) -> None:
        """`phrases`: the taster's cues."""
        self._listeners = listeners
        self._phrases = tuple(dict.fromkeys(plain(p) for p in phrases))
        # A word alone is a weak cue: left out of the prompt, still accepted when the sound fits.
        self._prompt = " ".join(_sentence(p) for p in self._phrases if " " in p)

    def knows(self, text: str) -> bool:
        """Whether a text is one of the taster's cue phrases, however it is written."""
        return plain(text) in self._phrases

    def is_cue(self, text: str) -> bool:
        """Whether a cue was written, alone or at the end ("Lovely and fresh, spitting now.")."""
        said = f" {plain(text)}"
        return without_fillers(plain(text)) in self._phrases or any(
            said.endswith(f" {p}") for p in self._phrases if " " in p
        )

    def is_open(self, text: str) -> bool:
        """Whether a stretch of which this was written may hold a cue that was not written."""
        return bool(text and self._prompt) and not self.is_cue(text)

    def is_far(self, sound: Sound, text: str) -> bool:
        """Whether no cue could have been said where a text was written that the recogniser is sure of: to the
        first listener the sound fits each far worse."""
        as_written, *fits = self._listeners.first_fits(sound, [text, *map(_sentence, self._phrases)])
        return max(fits, default=as_written - _FAR) <= as_written - _FAR

    def weigh(self, short: Short, *, running: Sequence[bool]) -> dict[bool, tuple[Evidence, ...]]:
        """What speaks for each cue that may have been said, by itself, for each answer asked for to whether
        the finish clock runs. What was said earlier in the recording is not in it."""
        free = short.free
        prompted = self._listeners.write(short.sound, self._prompt)
        brought_up = [plain(each.text) for each in prompted]
        wrote = (free.text, *free.others[:_OTHERS])
        texts = (*wrote, *(text for each in prompted for text in (each.text, *each.others)))
        tried = {runs: candidates(texts, self._phrases, running=runs) for runs in running}
        found = dict.fromkeys(candidate for each in tried.values() for candidate in each)
        if not found:
            return dict.fromkeys(running, ())
        fits = self._listeners.fits(short.sound, [*wrote, *(c.text for c in found)])
        best = max(fits[: len(wrote)])
        evidence = {
            candidate: Evidence(
                candidate,
                fit,
                gain=fit - best,
                first=brought_up.count(plain(candidate.text)) / len(brought_up),
                seconds=short.seconds,
                silence=free.silence,
                free=free.text,
                score=free.score,
            )
            for candidate, fit in zip(found, fits[len(wrote) :], strict=True)
        }
        return {runs: tuple(evidence[candidate] for candidate in each) for runs, each in tried.items()}


def _sentence(phrase: str) -> str:
    """A phrase as Whisper writes it where nothing else was said."""
    return f"{phrase[0].upper()}{phrase[1:]}."
