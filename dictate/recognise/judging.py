"""Which words a breath group holds, once it is known what was said before it. EDGE, but pure: no weights.

To hear a breath group by itself takes nearly all the time and needs to know of no other, so that it may be
done in any order and by many processes (`Weighed`). What depends on the recording so far is whether the
finish clock runs and how the cues in it sounded: that is judged in order of time, in next to no time.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from dictate.cues import (
    AT_LEAST,
    CERTAIN,
    CUE_PHRASES,
    PERHAPS,
    Earlier,
    Evidence,
    Frames,
    chance,
    clock_after,
    likeliest,
    plain,
    without_fillers,
)
from dictate.recognise.recogniser import HeardStretch
from dictate.repair import Decided
from dictate.values import Perhaps, Word

_NEAREST = 0.0  # distance from a cue said earlier, at the least


@dataclass(frozen=True, slots=True)
class CueHeard:
    """A breath group short enough to be a cue and nothing else. `written`: its text; `frames`: its sound;
    `evidence`: what speaks for each cue, by whether the finish clock runs, without what was said earlier;
    `words`: each text that may win by that, as timed words."""

    written: str
    frames: Frames = field(repr=False)
    evidence: Mapping[bool, tuple[Evidence, ...]]
    words: Mapping[str, tuple[Word, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Weighed:
    """A breath group heard by itself: its words as written, what a second hearing makes of them where they
    stand, and the cue that it may be. Seconds as in the samples."""

    words: tuple[Word, ...]
    again: Decided = field(default_factory=Decided)
    cue: CueHeard | None = None


def may_win(evidence: Sequence[Evidence]) -> tuple[str, ...]:
    """Texts that may be taken for what was said, however near they are to what was said earlier."""
    nearest = (replace(each, distance=_NEAREST) for each in evidence)
    return tuple(each.candidate.text for each in nearest if chance(each) >= PERHAPS)


def wins(evidence: Sequence[Evidence], at_least: float) -> bool:
    """Whether a cue counts whatever was said earlier: that can only speak for cues."""
    return likeliest(evidence, at_least) is not None


class Judge:
    """One recording, breath group by breath group, in order: what was said counts for what comes."""

    def __init__(
        self, phrases: Sequence[str] = CUE_PHRASES, *, at_least: float = AT_LEAST, running: bool = False
    ) -> None:
        """`phrases`: the taster's cues; `at_least`: the probability from which one counts that was written
        otherwise; `running`: the finish clock runs."""
        self._phrases = frozenset(map(plain, phrases))
        self._at_least = at_least
        self._earlier = Earlier()
        self._utterance = 0
        self.running = running

    def judge(
        self, weighed: Weighed, *, words_of: Callable[[str], tuple[Word, ...]] | None = None
    ) -> HeardStretch:
        """The words of the next breath group; one without words counts as none. `words_of`: the timed words
        of a text, where `weighed` has them not."""
        heard = self._read(weighed, words_of)
        doubt = heard.perhaps
        sure = doubt.chance if doubt is not None and doubt.cue == heard.words else 1.0
        said = " ".join(w.text for w in heard.words)
        self.running = clock_after(said, running=self.running, chance=sure)
        number, self._utterance = self._utterance, self._utterance + bool(heard.words)
        return heard.with_words(lambda word: replace(word, utterance=number))

    def _read(self, weighed: Weighed, words_of: Callable[[str], tuple[Word, ...]] | None) -> HeardStretch:
        written = HeardStretch(weighed.words, weighed.again.steps, weighed.again.refused)
        if weighed.cue is None:
            return written
        best = max(self.evidence(weighed.cue), key=chance, default=None)
        if best is None or chance(best) < PERHAPS:
            return written
        text = best.candidate.text
        timed = words_of(text) if words_of is not None else weighed.cue.words[text]
        said = tuple(replace(word, confidence=chance(best)) for word in timed)
        perhaps = Perhaps(said, weighed.words, chance(best))
        if perhaps.chance >= self._at_least:
            return HeardStretch(said, perhaps=perhaps)
        return replace(written, perhaps=perhaps)

    def evidence(self, cue: CueHeard) -> tuple[Evidence, ...]:
        """What speaks for each cue that may have been said next, with how its words sounded earlier; the
        sound counts for what comes."""
        self._earlier.hear(cue.frames)
        evidence = tuple(
            replace(each, distance=self._earlier.distance(plain(each.candidate.text), cue.frames))
            for each in cue.evidence[self.running]
        )
        certain = likeliest(evidence, CERTAIN)
        if without_fillers(plain(cue.written)) in self._phrases:
            self._earlier.keep(plain(cue.written), cue.frames)
        elif certain:
            self._earlier.keep(plain(certain.text), cue.frames)
        return evidence
