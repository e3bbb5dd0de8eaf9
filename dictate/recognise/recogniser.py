"""What the house asks of a recogniser."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol

from dictate.values import Heard, Perhaps, Step, Word

if TYPE_CHECKING:
    from dictate.audio.recording import Recording  # PyAV takes its time to import

# Seconds of sound around a stretch, so that its edges are heard: with 0.1 s the word error on a real reading
# is .126, with 0.3 s .050. A neighbour is at least PAUSE_S away.
AROUND_S = 0.3


@dataclass(frozen=True, slots=True)
class HeardStretch:
    """The words of one breath group; the steps count from the first of them (see `Heard`)."""

    words: tuple[Word, ...]
    again: tuple[Step, ...] = ()
    refused: tuple[Step, ...] = ()
    perhaps: Perhaps | None = None

    def with_words(self, change: Callable[[Word], Word]) -> HeardStretch:
        """With another time, say, or utterance of each word, in whatever reading."""
        doubt = self.perhaps
        if doubt is not None:
            cue, written = (tuple(map(change, words)) for words in (doubt.cue, doubt.written))
            doubt = replace(doubt, cue=cue, written=written)
        return replace(self, words=tuple(map(change, self.words)), perhaps=doubt)


def joined(stretches: Sequence[HeardStretch], duration_s: float, *, recogniser: str) -> Heard:
    """What was heard in breath groups as that of the recording they are of, in order of time."""
    words: list[Word] = []
    again: list[Step] = []
    refused: list[Step] = []
    for stretch in stretches:
        again.extend(_later(stretch.again, len(words)))
        refused.extend(_later(stretch.refused, len(words)))
        words.extend(stretch.words)
    perhaps = tuple(s.perhaps for s in stretches if s.perhaps is not None)
    return Heard(
        tuple(words), duration_s, recogniser, again=tuple(again), refused=tuple(refused), perhaps=perhaps
    )


def _later(steps: Sequence[Step], by: int) -> Iterator[Step]:
    return (replace(s, first=s.first + by, last=s.last + by) for s in steps)


class Recogniser(Protocol):
    """Anything that turns a recording into words in order of time."""

    @property
    def name(self) -> str:
        """Model and arithmetic, as written into a note: "whisper-base int8"."""
        ...

    def recognise(self, recording: Recording, *, progress: Callable[[float], None] | None = None) -> Heard:
        """The words of a recording; `progress` is called with the share done, 0 to 1, ascending.

        Words lie inside breath groups; all words of one breath group share their `utterance`.
        """
        ...
