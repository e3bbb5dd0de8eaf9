"""Hears spoken cues in short stretches that stand alone, where free decoding often fails.

The decoder is prompted with the cue phrases and proposes one; the proposal counts only when the
sound without any prompt makes it nearly as likely as the free text. The prompt alone would write
"it's gone" on noise; forced scoring alone takes anything (measured, see models/README.md).
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from dictate.recognise.decoder import Decoded, Decoder, Encoded

LONGEST_S = 1.8  # a stretch that holds a cue and nothing else
MARGIN_NATS = 7.0  # how much less likely than the free text a cue may be
CUE_PHRASES = (
    "spitting now",
    "swallowing now",
    "still there",
    "all gone",
    "it's gone",
    "gone",
    "next wine",
    "strike that",
    "off the record",
    "back on the record",
    "end of tasting",
)
# proposed only while the clock runs: that is the only time they are said, and short words are what
# a prompt finds where they are not
CLOCK_PHRASES = ("still there", "all gone", "it's gone", "gone")
_STARTS = re.compile(r"\b(spitting|swallowing)( it)?( out)? now\b|^(spitting|swallowing)$")
_STOPS = re.compile(r"^((it's|that's|all|and|now) )*gone( now)?$|\bnext wine\b|\bend of tasting\b")


def clock_after(text: str, *, running: bool) -> bool:
    """Whether the finish clock runs after a breath group that said `text`. A hint for the spotter
    alone; the clock itself is read in `cues`."""
    said = plain(text)
    if _STARTS.search(said):
        return True
    return running and not _STOPS.search(said)


def plain(text: str) -> str:
    """Lower case, letters, figures and apostrophes only: how cue phrases are compared."""
    return " ".join(re.findall(r"[^\W_]+(?:'[^\W_]+)*", text.lower().replace("’", "'")))


class CueSpotter:
    """Looks for one of a few phrases in a stretch; made once, used for each short stretch."""

    def __init__(self, decoder: Decoder, phrases: Sequence[str], *, margin: float = MARGIN_NATS) -> None:
        """`phrases`: the taster's cues; `margin`: nats."""
        self._decoder = decoder
        self._margin = margin
        self._phrases = tuple(dict.fromkeys(plain(p) for p in phrases))
        # A word alone is a weak cue: left out of the prompt, still accepted when it is proposed.
        listed = [p for p in self._phrases if " " in p]
        self._prompt = (
            decoder.text_tokens(" ".join(f"{p[0].upper()}{p[1:]}." for p in listed)) if listed else ()
        )

    def knows(self, text: str) -> bool:
        """Whether a text is one of the taster's cue phrases, however it is written."""
        return plain(text) in self._phrases

    def spot(self, encoded: Encoded, free: Decoded, *, running: bool) -> str | None:
        """The cue phrase that this stretch holds though `free` says otherwise, or None. `running`:
        whether the finish clock runs."""
        said = plain(free.text)
        if not said or said in self._phrases or not self._prompt:
            return None
        proposed = plain(self._decoder.decode(encoded, prompt=self._prompt).text)
        if proposed not in self._phrases or (proposed in CLOCK_PHRASES and not running):
            return None
        likely = self._decoder.log_probability(encoded, free.tokens)
        return proposed if self._best(encoded, proposed) >= likely - self._margin else None

    def _best(self, encoded: Encoded, phrase: str) -> float:
        """Log-probability of a phrase in the likelier of its two ways of being written."""
        written = (f"{phrase[0].upper()}{phrase[1:]}.", phrase)
        return max(self._decoder.log_probability(encoded, self._decoder.text_tokens(w)) for w in written)
