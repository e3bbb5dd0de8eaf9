"""Small words that say nothing of themselves, and what "strike that" reaches back to past them: one place for
all rooms that ask."""

from __future__ import annotations

from collections.abc import Iterable

HESITATIONS = frozenset("oh ah um uh er erm hm hmm hum mm euh heu ehm eh ahem".split())
STARTERS = frozenset("well okay ok right so and".split())
# said in front of "strike that", and not what is struck
LEAD_IN = HESITATIONS | STARTERS | frozenset("no sorry hang on wait actually but".split())
PRIVATE = ("private_on", "private_off")
WORDS = "words"  # words that say something
_TIMED = ("away", "gone")


def clock_cue_struck(before: Iterable[str]) -> str:
    """The cue that starts or stops the finish clock ("away", "gone") which a take-back reaches, "" where it
    reaches another thing. `before`: what was said in front of it, backwards: kinds of cues, `WORDS` for words
    that say something. Going off the record and back does not come between."""
    kind = next((kind for kind in before if kind not in PRIVATE), "")
    return kind if kind in _TIMED else ""
