"""Hears spoken cues in short stretches that stand alone, where free decoding often fails.

A prompt that names the cues brings them up (and finds them in noise); all cue phrases and what was written
are then compared by how well the sound fits them, with no prompt. `cues/spotting.py` weighs it all. Never
used on sound that the speech gate has not let through.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dictate.cues import (
    CERTAIN,
    PERHAPS,
    Earlier,
    Evidence,
    Frames,
    candidates,
    chance,
    likeliest,
    plain,
    without_fillers,
)
from dictate.recognise.decoder import Decoded
from dictate.recognise.listeners import Listeners, Sound

LONGEST_S = 2.0  # a stretch that holds a cue and nothing else
_OTHERS = 3  # texts beside the likeliest that a cue must compare with


@dataclass(frozen=True, slots=True)
class Short:
    """A short stretch: its sound, the text written of it, its length without what stands around it, and the
    encoder's frames of it."""

    sound: Sound
    free: Decoded
    seconds: float
    frames: Frames


@dataclass(frozen=True, slots=True)
class Spotted:
    """A cue as it is written, and how likely it was said, 0 to 1."""

    text: str
    chance: float


class CueSpotter:
    """Looks for one of a few phrases in a stretch; made once, used for each short stretch."""

    def __init__(self, listeners: Listeners, phrases: Sequence[str]) -> None:
        """`phrases`: the taster's cues."""
        self._listeners = listeners
        self._phrases = tuple(dict.fromkeys(plain(p) for p in phrases))
        # A word alone is a weak cue: left out of the prompt, still accepted when the sound fits.
        listed = [p for p in self._phrases if " " in p]
        self._prompt = " ".join(f"{p[0].upper()}{p[1:]}." for p in listed)

    def knows(self, text: str) -> bool:
        """Whether a text is one of the taster's cue phrases, however it is written."""
        return plain(text) in self._phrases

    def spot(self, short: Short, *, running: bool, earlier: Earlier) -> Spotted | None:
        """The cue that this stretch may hold though `free` says otherwise; None where that is out of the
        question. `running`: whether the finish clock runs; `earlier`: learns from the stretch."""
        free = short.free
        earlier.hear(short.frames)
        is_open = bool(free.text and self._prompt) and not self._holds_cue(free.text)
        evidence = self.weigh(short, running=running, earlier=earlier) if is_open else ()
        self.learn(short, evidence, earlier=earlier)
        best = max(evidence, key=chance, default=None)
        if best is None or chance(best) < PERHAPS:
            return None
        return Spotted(best.candidate.text, chance(best))

    def learn(self, short: Short, evidence: Sequence[Evidence], *, earlier: Earlier) -> None:
        """Keep how a cue sounded that was said for sure: written as such, or by strong evidence."""
        certain = likeliest(evidence, CERTAIN)
        if self._is_cue(short.free.text):
            earlier.keep(plain(short.free.text), short.frames)
        elif certain:
            earlier.keep(plain(certain.text), short.frames)

    def _is_cue(self, text: str) -> bool:
        return without_fillers(plain(text)) in self._phrases

    def _holds_cue(self, text: str) -> bool:
        """Written as a cue, or with one at its end ("Lovely and fresh, spitting now."): the words stay."""
        said = f" {plain(text)}"
        return self._is_cue(text) or any(said.endswith(f" {p}") for p in self._phrases if " " in p)

    def weigh(self, short: Short, *, running: bool, earlier: Earlier) -> tuple[Evidence, ...]:
        """What speaks for each cue that may have been said."""
        free = short.free
        prompted = self._listeners.write(short.sound, self._prompt)
        brought_up = [plain(each.text) for each in prompted]
        wrote = (free.text, *free.others[:_OTHERS])
        texts = (text for each in prompted for text in (each.text, *each.others))
        tried = candidates((*wrote, *texts), self._phrases, running=running)
        if not tried:
            return ()
        fits = self._listeners.fits(short.sound, [*wrote, *(c.text for c in tried)])
        best = max(fits[: len(wrote)])
        return tuple(
            Evidence(
                candidate,
                fit,
                gain=fit - best,
                first=brought_up.count(plain(candidate.text)) / len(brought_up),
                seconds=short.seconds,
                silence=free.silence,
                free=free.text,
                score=free.score,
                distance=earlier.distance(plain(candidate.text), short.frames),
            )
            for candidate, fit in zip(tried, fits[len(wrote) :], strict=True)
        )
