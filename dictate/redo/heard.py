"""What notes still know of what was heard: their words, what was off the record, where the clock ran.
Pure."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from dictate.note import UNCLEAR_BELOW, Note
from dictate.values import PAUSE_S, Cue, Heard, Step, Word

SAME_CUE_S: Final = 1.0  # an onset in the sound lies at most so far from its word's time (`cues/onset.py`)


def words_of(notes: Iterable[Note]) -> tuple[Word, ...]:
    """The words that the notes of one recording hold, each once, in order of time, as they were put right.
    Nothing in it was off the record. A note does not tell where breath groups end; where a phrase does and
    silence follows one may, and where none ends none does."""
    phrases = {(phrase.at, phrase.text): phrase for note in notes for phrase in note.transcript}
    words = {
        (word.at, word.text): Word(word.text, *word.at, word.confidence, number, word.heard)
        for number, phrase in enumerate(phrases.values())
        for word in phrase.words
    }
    ordered = sorted(words.values(), key=lambda word: (word.start_s, word.end_s))
    breath, made = 0, [replace(word, utterance=0) for word in ordered[:1]]
    for before, word in pairwise(ordered):
        breath += word.utterance != before.utterance and word.start_s - before.end_s >= PAUSE_S
        made.append(replace(word, utterance=breath))
    return tuple(made)


@dataclass(frozen=True, slots=True)
class Shut:
    """Something that was off the record: the cue that began it, and that which ended it, if any did."""

    on: Cue
    off: Cue | None

    def hides(self, word: Word) -> bool:
        """Whether a word is in it, in part, or in one of its cues, in the middle."""
        first, last = self.on.words[-1].end_s, self.off.words[0].start_s if self.off else math.inf
        whole = self.on.words[0].start_s, self.off.words[-1].end_s if self.off else math.inf
        middle = (word.start_s + word.end_s) / 2
        return (word.start_s < last and first < word.end_s) or whole[0] <= middle <= whole[1]

    @property
    def cues(self) -> tuple[Word, ...]:
        """The words of its cues."""
        return (*self.on.words, *(self.off.words if self.off else ()))


def off_the_record(cues: Sequence[Cue]) -> tuple[Shut, ...]:
    """What was off the record, by the cues of a recording in order; up to its end where nothing ends it."""
    found: list[Shut] = []
    on: Cue | None = None
    for cue in cues:
        if cue.kind == "private_on" and on is None:
            on = cue
        elif cue.kind == "private_off" and on is not None:
            found.append(Shut(on, cue))
            on = None
    return (*found, Shut(on, None)) if on is not None else tuple(found)


def without(heard: Heard, shut: Sequence[Shut]) -> Heard:
    """What is heard now, without what was off the record then: of that only its cues stay, in the words of
    then. So no mishearing of a cue lets out what it had shut in."""
    if not shut:
        return heard
    kept = [n for n, word in enumerate(heard.words) if not any(s.hides(word) for s in shut)]
    breath = max((word.utterance for word in heard.words), default=0)
    cues = [
        (-1, replace(word, utterance=breath + 1 + place))
        for place, each in enumerate(cue for s in shut for cue in (s.on, s.off) if cue is not None)
        for word in each.words
    ]
    ordered = sorted([*((n, heard.words[n]) for n in kept), *cues], key=lambda pair: pair[1].start_s)
    place = {old: new for new, (old, _) in enumerate(ordered) if old >= 0}
    hidden = {(w.start_s, w.end_s) for n, w in enumerate(heard.words) if n not in place}
    return replace(
        heard,
        words=tuple(word for _, word in ordered),
        again=_moved(heard.again, place),
        refused=_moved(heard.refused, place),
        perhaps=tuple(
            doubt
            for doubt in heard.perhaps
            if not any(
                (w.start_s, w.end_s) in hidden or any(s.hides(w) for s in shut)
                for w in (*doubt.cue, *doubt.written)
            )
        ),
    )


def _moved(steps: Sequence[Step], place: dict[int, int]) -> tuple[Step, ...]:
    """The steps whose words are all there still, side by side."""
    moved = []
    for step in steps:
        places = [place.get(n, -1) for n in range(step.first, step.last)]
        if places and -1 not in places and places[-1] - places[0] == len(places) - 1:
            moved.append(replace(step, first=places[0], last=places[-1] + 1))
    return tuple(moved)


def same_clock(new: Note, old: Note) -> bool:
    """Whether two notes of the same words time the finish between the same two cues."""
    if not new.finish.how == old.finish.how == "timed":
        return False
    pairs = ((new.finish.from_s, old.finish.from_s), (new.finish.to_s, old.finish.to_s))
    return all(a is not None and b is not None and abs(a - b) <= SAME_CUE_S for a, b in pairs)


def with_clock(new: Note, old: Note) -> Note:
    """A note made from words alone, with the clock as it was read in the sound; where its cues are others
    now, their words' times are no onsets, and the note says "about"."""
    if new.finish.how != "timed":
        return new
    then = old.finish
    clock = (
        {n: getattr(then, n) for n in ("seconds", "from_s", "to_s", "confidence")}
        if same_clock(new, old)
        else {"confidence": min(new.finish.confidence or 0.0, UNCLEAR_BELOW - 0.1)}
    )
    return new.model_copy(update={"finish": new.finish.model_copy(update=clock)})
