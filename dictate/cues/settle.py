"""Cues of the clock that the sound leaves in doubt, settled by what was said before and after. Pure.

A taster says once that the taste has gone, and nothing of the clock behind it: of several stretches that may
have been it the likeliest is. A clock that runs when the next wine begins was most likely stopped by a word
that was not understood, one that stops was started; then less evidence is enough.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from dictate.cues.cues import find_cues
from dictate.cues.grammar import CueTable
from dictate.cues.spotting import CERTAIN, PERHAPS, STARTING, STOPPING, plain, without_fillers
from dictate.language.fillers import LEAD_IN, WORDS, clock_cue_struck
from dictate.values import Heard, Perhaps, Step, Word


@dataclass(slots=True)
class _Clock:
    """One run of the clock, in breath groups: those it was started and stopped in, and where it had to be
    over (the next begin, end or away cue); None where there is none."""

    since: int  # the breath group with the cue before
    away: int | None
    gone: tuple[int, ...] = ()
    until: int | None = None
    void: tuple[int, ...] = ()  # taken back right behind


def settle_cues(heard: Heard, table: CueTable) -> Heard:
    """The words heard, those breath groups that were perhaps a cue (`heard.perhaps`) in the reading that fits
    what was said around them. Steps of the second hearing go with the words that they are of."""
    if not heard.perhaps:
        return heard
    doubts = {p.cue[0].utterance: p for p in heard.perhaps if p.cue and p.written}
    said: dict[int, list[Word]] = {}
    for word in heard.words:
        said.setdefault(word.utterance, []).append(word)
    taken = {n: tuple(said.get(n, ())) == doubt.cue for n, doubt in doubts.items()}
    found = find_cues(heard.words, table)
    # neither what is private or said in a pause nor what is another cue already ("off record") is open to be
    # one of the clock
    cues = {cue.words[0].utterance for cue in found.cues if cue.words}
    shut = (*found.private, *found.paused)
    public = {n: d for n, d in doubts.items() if not _overlaps(d.cue, shut) and (taken[n] or n not in cues)}
    events: list[tuple[str, int]] = [(c.kind, c.words[0].utterance) for c in found.cues if c.words]
    open_words = {n: w for n, w in said.items() if n not in cues and not _overlaps(w, found.private)}
    events += [(WORDS, n) for n, words in open_words.items() if not _leads_in(words)]
    events.sort(key=lambda event: event[1])
    phrases = {plain(p) for p in table.spoken.get("holding", ())}
    holding = frozenset(
        n for n, words in said.items() if _bare(words) in phrases and not _overlaps(words, found.paused)
    )
    settled = dict(taken)
    for clock in _clocks(events):
        settled.update(_settled(clock, public, taken=taken, holding=holding))
    changed = {n: d for n, d in doubts.items() if settled[n] != taken[n]}
    return _with(heard, {n: d.cue if settled[n] else d.written for n, d in changed.items()})


def _leads_in(words: Sequence[Word]) -> bool:
    return set(plain(" ".join(w.text for w in words)).split()) <= LEAD_IN


def _bare(words: Sequence[Word]) -> str:
    return without_fillers(plain(" ".join(w.text for w in words)))


def _overlaps(words: Sequence[Word], spans: Sequence[tuple[float, float]]) -> bool:
    return any(words[0].start_s < end and start < words[-1].end_s for start, end in spans)


def _clocks(events: Sequence[tuple[str, int]]) -> Iterator[_Clock]:
    """The runs of the clock that cues and `WORDS` in order (kind, breath group) tell of."""
    clock, behind = _Clock(-1, None), list[str]()
    for kind, number in events:
        if kind in ("begin", "end", "away"):
            # words before an away cue that stop no clock belong to none: "gone" there is the fruit
            if clock.away is not None or kind != "away" or clock.gone:
                yield replace(clock, until=number)
            clock = _Clock(number, number if kind == "away" else None)
        elif kind == "gone":
            clock.gone = (*clock.gone, number)
        elif kind == "take_back" and clock.gone and clock_cue_struck(reversed(behind)) == "gone":
            *others, last = clock.gone
            clock.gone, clock.void = tuple(others), (*clock.void, last)
        behind.append(kind)
    yield clock


def _settled(
    clock: _Clock, doubts: Mapping[int, Perhaps], *, taken: Mapping[int, bool], holding: frozenset[int]
) -> dict[int, bool]:
    """Which of the doubtful breath groups of a run of the clock are cues, those that change at least.
    `holding`: those that say that the taste is still there (no cue where the clock has stopped)."""
    last = float("inf") if clock.until is None else clock.until
    here = {n: d for n, d in doubts.items() if clock.since < n < last and n not in clock.void}
    started = _started(clock, here) if clock.away is None else {}
    if clock.away is None and not started:
        return {}
    stops = {n: d.chance for n, d in here.items() if _is(d, STOPPING)}
    if any(n not in stops for n in clock.gone):
        return {**started, **{n: chance >= CERTAIN for n, chance in stops.items() if taken[n]}}
    # said to be still there behind it: it had not gone
    held = max((n for n in holding if clock.since < n < last), default=-1)
    open_to = {n: chance for n, chance in stops.items() if n > held or chance >= CERTAIN}
    # until it must have stopped only what is likely by itself counts
    enough = {n: c for n, c in open_to.items() if taken[n] or (clock.until is not None and c >= PERHAPS)}
    best = max(enough, key=lambda n: enough[n], default=None)
    return {**started, **{n: n == best for n in stops if taken[n] or n == best}}


def _started(clock: _Clock, here: Mapping[int, Perhaps]) -> dict[int, bool]:
    """The taste has gone, so it was spat out before: the likeliest word for that, where one is likely."""
    sure = [n for n in clock.gone if n not in here or here[n].chance >= CERTAIN]
    starts = {n: d.chance for n, d in here.items() if sure and n < sure[0] and _is(d, STARTING)}
    best = max(starts, key=lambda n: starts[n], default=None)
    return {best: True} if best is not None and starts[best] >= PERHAPS else {}


def _is(doubt: Perhaps, phrases: Sequence[str]) -> bool:
    return _bare(doubt.cue) in phrases


def _with(heard: Heard, changed: Mapping[int, tuple[Word, ...]]) -> Heard:
    """The words of some breath groups in another reading; steps that were of those go, later ones move."""
    words: list[Word] = []
    place: list[int | None] = []  # of each word, where it stands now
    done: set[int] = set()
    for word in heard.words:
        if word.utterance in changed:
            place.append(None)
            if word.utterance not in done:
                done.add(word.utterance)
                words.extend(changed[word.utterance])
        else:
            place.append(len(words))
            words.append(word)
    again, refused = (tuple(_moved(steps, place)) for steps in (heard.again, heard.refused))
    return replace(heard, words=tuple(words), again=again, refused=refused)


def _moved(steps: Sequence[Step], place: Sequence[int | None]) -> Iterator[Step]:
    for step in steps:
        first = place[step.first]
        if first is not None:
            yield replace(step, first=first, last=first + step.last - step.first)
