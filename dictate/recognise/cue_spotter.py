"""Hears spoken cues in short stretches that stand alone, where free decoding often fails.

A prompt that names the cues brings them up (and finds them in noise); all cue phrases and what was written
are then compared by how well the sound fits them, with no prompt. `cues/spotting.py` weighs it all. Never
used on sound that the speech gate has not let through.
"""

from __future__ import annotations

from collections.abc import Sequence

from dictate.cues import Evidence, candidates, likeliest, plain, without_fillers
from dictate.recognise.decoder import Decoded, Decoder, Encoded

LONGEST_S = 2.0  # a stretch that holds a cue and nothing else
_OTHERS = 3  # texts beside the likeliest that a cue must compare with


class CueSpotter:
    """Looks for one of a few phrases in a stretch; made once, used for each short stretch."""

    def __init__(self, decoder: Decoder, phrases: Sequence[str]) -> None:
        """`phrases`: the taster's cues."""
        self._decoder = decoder
        self._phrases = tuple(dict.fromkeys(plain(p) for p in phrases))
        # A word alone is a weak cue: left out of the prompt, still accepted when the sound fits.
        listed = [p for p in self._phrases if " " in p]
        self._prompt = (
            decoder.text_tokens(" ".join(f"{p[0].upper()}{p[1:]}." for p in listed)) if listed else ()
        )

    def knows(self, text: str) -> bool:
        """Whether a text is one of the taster's cue phrases, however it is written."""
        return plain(text) in self._phrases

    def spot(self, encoded: Encoded, free: Decoded, *, running: bool, seconds: float) -> str | None:
        """The cue, as it is written, that this stretch of so many seconds holds though `free` says
        otherwise, or None. `running`: whether the finish clock runs."""
        if not free.text or not self._prompt or without_fillers(plain(free.text)) in self._phrases:
            return None
        found = likeliest(self.weigh(encoded, free, running=running, seconds=seconds))
        return found.text if found else None

    def weigh(
        self, encoded: Encoded, free: Decoded, *, running: bool, seconds: float
    ) -> tuple[Evidence, ...]:
        """What speaks for each cue that may have been said."""
        prompted = self._decoder.decode(encoded, prompt=self._prompt)
        brought_up = plain(prompted.text)
        wrote = (free.text, *free.others[:_OTHERS])
        tried = candidates((*wrote, prompted.text, *prompted.others), self._phrases, running=running)
        if not tried:
            return ()
        fits = self._decoder.log_probabilities(encoded, [*wrote, *(c.text for c in tried)])
        best = max(fits[: len(wrote)])
        return tuple(
            Evidence(
                candidate,
                fit,
                gain=fit - best,
                first=plain(candidate.text) == brought_up,
                seconds=seconds,
                silence=free.silence,
            )
            for candidate, fit in zip(tried, fits[len(wrote) :], strict=True)
        )
