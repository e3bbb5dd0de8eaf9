"""Words to cues: what was said to the program is taken out of what was said of the wine. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from dictate.cues.grammar import CueTable
from dictate.cues.match import Line, Match, State, match_at
from dictate.cues.onset import Samples, find_onset
from dictate.cues.private import private_seconds, private_stretches, public_words
from dictate.cues.spotting import usual_s
from dictate.language.fillers import WORDS, clock_cue_struck
from dictate.values import Cue, Word


@dataclass(frozen=True, slots=True)
class FoundCues:
    """Cues and kept words, each in order; `private` holds spans in seconds, never words; `paused`: spans in
    which the notes were paused, from cue to cue."""

    cues: tuple[Cue, ...]
    kept: tuple[Word, ...]
    private: tuple[tuple[float, float], ...] = ()
    paused: tuple[tuple[float, float], ...] = ()


def _matches(line: Line) -> list[Match]:
    """All cues in order, none overlapping; the clock runs from an away cue to a gone, begin or end cue, and
    one of the two that is taken back counts as not said."""
    found: list[Match] = []
    state = State()
    ran = False
    place = fresh = 0
    while place < len(line.tokens):
        match = match_at(line, place, state=state, fresh=fresh)
        if match is None:
            place += 1
            continue
        kind, before = match.rule.kind, state
        state = before.behind(kind)
        if kind == "take_back" and clock_cue_struck(_before(line, found, match)):
            state = replace(state, clock=ran)
        elif kind in ("away", "gone", "begin", "end"):
            ran = before.clock and kind in ("away", "gone")
        found.append(match)
        place = fresh = match.last
    return found


def _before(line: Line, found: Sequence[Match], match: Match) -> Iterator[str]:
    """What was said in front of a take-back, backwards: kinds of cues, and words beside fillers and private
    speech."""
    reached = match.first
    for before in reversed(found):
        if before.rule.kind != "private_on" and not line.only_fillers(before.last, reached, rule=match.rule):
            yield WORDS
        yield before.rule.kind
        reached = before.first


def find_cues(words: Sequence[Word], table: CueTable) -> FoundCues:
    """The cues in words (any length, in order of time), the words kept, and the private spans (seconds).

    Law: each word is in exactly one of a cue, private, kept. Off-the-record words are nowhere in the
    result. They end with "back on the record" or, when that is never said, with the recording: privacy
    wins over any other cue between. A cue's fillers ("right,") are kept words. A gone cue with no away
    cue before it is found only as an utterance of its own; taking back is left to the segment room.
    In the middle of an utterance ("there's salt, and now it's gone") gone is no cue without a pause:
    what has gone may be the salt, and no number is better than a wrong one. While the notes are paused no
    cue of the clock counts, nor one that changes what was noted; the words are kept.
    """
    line = Line(words, table)
    matches = _matches(line)
    stretches = private_stretches(line, matches)
    taken = {index for stretch in stretches for index in stretch}
    cues: list[Cue] = []
    for match in matches:
        said = public_words(line, match)
        taken.update(said)
        if said:  # empty when one written word holds the cue and private speech
            own = tuple(words[i] for i in said)
            cues.append(Cue(match.rule.kind, own, onset_s=own[0].start_s))
    kept = tuple(word for index, word in enumerate(words) if index not in taken)
    private = tuple(private_seconds(line, s) for s in stretches)
    return FoundCues(tuple(cues), kept, private, tuple(_pauses(cues)))


def _pauses(cues: Sequence[Cue]) -> Iterator[tuple[float, float]]:
    """Where the notes were paused; a pause left on has no end."""
    state, since_s = State(), 0.0
    for cue in cues:
        before, state = state, state.behind(cue.kind)
        if state.paused and not before.paused:
            since_s = cue.words[-1].end_s
        elif before.paused and not state.paused:
            yield since_s, cue.words[0].start_s
    if state.paused:
        yield since_s, float("inf")


def time_cues(cues: Sequence[Cue], samples: Samples | None, *, sample_rate: int = 16000) -> tuple[Cue, ...]:
    """Each cue with its onset found in the samples (mono float, shape (n,)), unrounded seconds.

    Without samples (a transcript) the word's own start stays, with confidence 1.
    """
    if samples is None:
        return tuple(replace(c, onset_s=c.words[0].start_s, confidence=1.0) if c.words else c for c in cues)
    timed: list[Cue] = []
    for cue in cues:
        if not cue.words:
            timed.append(cue)
            continue
        onset = find_onset(
            samples,
            hint_s=cue.words[0].start_s,
            until_s=cue.words[-1].end_s,
            usual_s=usual_s(" ".join(w.text for w in cue.words)),
            sample_rate=sample_rate,
        )
        # a cue that was written otherwise is no surer than that it was said at all
        sure = cue.words[0].confidence if cue.words[0].heard is not None else 1.0
        timed.append(replace(cue, onset_s=onset.onset_s, confidence=min(sure, onset.confidence)))
    return tuple(timed)
