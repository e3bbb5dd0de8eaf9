"""What a session left behind: which breath groups its log tells, and which are to be heard anew.

Pure but for the voice detector's weights: a log and slices of sound in, stretches out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from dictate.audio.cutter import LiveCutter
from dictate.audio.speech import SAMPLE_RATE, Stretch
from dictate.cues import Samples
from dictate.listen.eventlog import Began, Ended, GapEvent, HeardEvent, Log, WrittenEvent
from dictate.recognise.recogniser import HeardStretch

_LEARN_S = 60.0  # of sound before what is cut anew, so that the cutter knows the room and the taster
_BLOCK_S = 1.0
_SLIVER_S = 0.3  # edges move as levels are learnt anew: what sticks out of a told one by less is no word


@dataclass(frozen=True, slots=True)
class Left:
    """What the log of a session tells. `told`: breath groups and their final words, in order of time;
    `untold`: breath groups whose words are withheld, `private`: those of them in which something was off the
    record, so far as is known; `reached_s`: behind that it tells nothing; `whole`:
    before that it tells all. `files`: of the notes written, by id, names in the session's folder."""

    told: tuple[tuple[Stretch, HeardStretch], ...] = ()
    untold: tuple[Stretch, ...] = ()
    private: tuple[Stretch, ...] = ()
    reached_s: float = 0.0
    whole: bool = True
    gaps: tuple[tuple[float, float], ...] = ()
    begun_s: tuple[float, ...] = ()  # where the session began and went on
    files: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    identity: str = ""
    when: str = ""  # of the first beginning, ISO 8601
    blind: bool = False
    ended: str = ""  # how, "" where it was broken off


def what_was_left(log: Log) -> Left:
    """What a log tells, however it was left."""
    groups: dict[tuple[float, float], HeardEvent] = {}
    files: dict[str, tuple[str, ...]] = {}
    gaps: list[tuple[float, float]] = []
    begun: list[Began] = []
    ended = ""
    for event in log.events:
        match event:
            case HeardEvent():
                groups[event.start_s, event.end_s] = event  # heard anew, the last word holds
            case GapEvent():
                gaps.append((event.at_s, event.at_s + event.seconds))
            case WrittenEvent():
                files[event.note] = event.files
            case Began():
                begun.append(event)
                ended = ""
                if event.from_s:
                    gaps.append((event.from_s, event.from_s))
            case Ended():
                ended = event.how
    heard = [groups[key] for key in sorted(groups)]
    return Left(
        told=tuple((e.stretch, e.heard) for e in heard if not e.withheld),
        untold=tuple(e.stretch for e in heard if e.withheld),
        private=tuple(e.stretch for e in heard if e.withheld and e.private is not False),
        reached_s=max((e.end_s for e in heard), default=0.0),
        whole=not log.damaged,
        gaps=tuple(sorted(set(gaps))),
        begun_s=tuple(sorted({b.from_s for b in begun})),
        files=files,
        identity=next((b.identity for b in begun if b.identity), ""),
        when=next((b.when for b in begun), ""),
        blind=any(b.blind for b in begun),
        ended=ended,
    )


def to_hear(left: Left, sound: Samples, *, end_s: float) -> tuple[Stretch, ...]:
    """The breath groups that are to be heard anew, in order of time; `end_s`: so much is recorded."""
    known = sorted([*(s for s, _ in left.told), *left.untold], key=lambda s: s.start_s)
    bounds = [0.0, *(s for s in left.begun_s if 0 < s < end_s), end_s]
    found = list(left.untold)
    for from_s, until_s in zip(bounds, bounds[1:], strict=False):
        if left.whole and until_s <= left.reached_s:
            continue
        # nothing runs from one session into the next: they are cut apart
        begin_s = max(from_s, left.reached_s - _LEARN_S) if left.whole else from_s
        for stretch in _cut(sound, begin_s, until_s=until_s):
            found.extend(_outside(stretch, known))
    return tuple(sorted(found, key=lambda s: s.start_s))


def _cut(sound: Samples, from_s: float, *, until_s: float) -> Iterator[Stretch]:
    cutter = LiveCutter(from_s=from_s)
    block = round(_BLOCK_S * SAMPLE_RATE)
    last = round(until_s * SAMPLE_RATE)
    for first in range(round(from_s * SAMPLE_RATE), last, block):
        yield from cutter.feed(sound[first : min(first + block, last)]).ended
    yield from cutter.finish()


def _outside(stretch: Stretch, known: Sequence[Stretch]) -> Iterator[Stretch]:
    """What of a stretch is in none of those that are known (in order of time)."""
    parts = [stretch]
    for other in known:
        if other.start_s >= stretch.end_s:
            break
        if other.end_s > stretch.start_s:
            last = parts.pop()
            parts += [
                Stretch(last.start_s, min(last.end_s, other.start_s)),
                Stretch(max(last.start_s, other.end_s), last.end_s),
            ]
    if parts == [stretch]:
        yield stretch
    else:
        yield from (p for p in parts if p.end_s - p.start_s >= _SLIVER_S)
