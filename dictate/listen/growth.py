"""Words of a breath group that is still being said: what two hearings in a row agree on. Pure.

Local agreement: of each hearing the longest beginning that it shares with the one before is taken for sure
(Liu, Spanakis and Niehues 2020; for Whisper: Macháček, Dabre and Bojar 2023, arXiv 2307.14743). What was
taken stays until more is agreed on, for the taster is reading it; the hearing of the whole breath group has
the last word.
"""

from __future__ import annotations

from collections.abc import Sequence

from dictate.audio.speech import Stretch
from dictate.values import Word

GROWING_S = 2.5  # a breath group that long is heard before it ends
AGAIN_S = 1.0  # ... and again with so much more
_MORE_S = 0.3
_LONG_S = 8.0  # of more than that only the end is heard again: nothing must keep the quick ear long
_KEEP_S = 4.0  # ... so much at least, more than a cue that stands alone


class Growth:
    """One breath group as it grows."""

    def __init__(self, start_s: float) -> None:
        """`start_s`: where it begins, seconds in the recording."""
        self.start_s = start_s
        self._from_s = start_s  # from there it is heard
        self._heard_s = 0.0  # up to there it was
        self._kept: tuple[Word, ...] = ()  # before `_from_s`
        self._agreed: tuple[Word, ...] = ()  # behind that
        self._last: tuple[Word, ...] = ()  # heard last
        self._last_s = start_s  # ... up to there

    @property
    def words(self) -> tuple[Word, ...]:
        """What is agreed on."""
        return self._kept + self._agreed

    def due(self, end_s: float) -> Stretch | None:
        """What is to be heard, now that it reaches to `end_s`; None where that is too little."""
        if end_s - self.start_s < GROWING_S or end_s - self._heard_s < AGAIN_S:
            return None
        if end_s - self._from_s > _LONG_S:
            self._shorten(end_s - _KEEP_S)
        self._heard_s = end_s
        return Stretch(self._from_s, end_s)

    def asked(self, stretch: Stretch) -> bool:
        """Whether a hearing that was asked for otherwise counts as one of these: from where it begins."""
        if stretch.start_s != self._from_s:
            return False
        self._heard_s = max(self._heard_s, stretch.end_s)
        return True

    def hear(self, words: Sequence[Word], end_s: float) -> bool:
        """What was heard of it up to `end_s`; whether more is agreed on now. The same sound twice is one
        hearing."""
        words = tuple(words)
        if end_s - self._last_s < _MORE_S:
            return False
        self._last_s = end_s
        if self._kept and words and _plain(words[0]) == _plain(self._kept[-1]):
            words = words[1:]  # the sound around the cut let it through once more
        shared = 0
        for one, other in zip(words, self._last, strict=False):
            if _plain(one) != _plain(other):
                break
            shared += 1
        self._last = words
        if shared <= len(self._agreed):
            return False
        self._agreed = words[:shared]
        return True

    def _shorten(self, before_s: float) -> None:
        """Keep the words that end before, and hear from there on."""
        count = sum(word.end_s <= before_s for word in self._agreed)
        if count:
            self._from_s = self._agreed[count - 1].end_s
            self._kept += self._agreed[:count]
            self._agreed, self._last = self._agreed[count:], self._last[count:]


def _plain(word: Word) -> str:
    return "".join(c for c in word.text.casefold() if c.isalnum())
