"""Which of the notes that a recording gives now are those that it gave before. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dictate.note import Note


@dataclass(frozen=True, slots=True)
class Part:
    """Speech that belongs together: the places of the old notes and of the new ones that share it."""

    old: tuple[int, ...]
    new: tuple[int, ...]


def parts(old: Sequence[Note], new: Sequence[Note]) -> tuple[Part, ...]:
    """The notes of one recording, old and new, by the speech they share, in order of time, each in one part.

    Two share it where more than half of the shorter lies in the longer: a wine that is parted in two, or two
    that are joined, are one part with three notes; an edge that moved is none. The time tells, not the number
    said, which may have been misheard, nor the id, which counts through. Notes without a place stay alone.
    """
    nodes = [*((0, place) for place in range(len(old))), *((1, place) for place in range(len(new)))]
    root = {node: node for node in nodes}

    def top(node: tuple[int, int]) -> tuple[int, int]:
        while root[node] != node:
            node = root[node]
        return node

    for first, before in enumerate(old):
        for second, after in enumerate(new):
            if _share(before, after):
                root[top((1, second))] = top((0, first))
    found: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for node in nodes:
        found.setdefault(top(node), []).append(node)
    groups = [
        Part(tuple(p for side, p in group if side == 0), tuple(p for side, p in group if side == 1))
        for group in found.values()
    ]
    return tuple(sorted(groups, key=lambda part: _start(part, old, new)))


def layers(notes: Sequence[Note]) -> tuple[tuple[Note, ...], ...]:
    """Notes of one recording in layers, none of which has the same speech twice; each is in the first that it
    fits into."""
    found: list[list[Note]] = []
    for note in notes:
        layer = next((each for each in found if not any(_share(other, note) for other in each)), None)
        if layer is None:
            found.append([note])
        else:
            layer.append(note)
    return tuple(map(tuple, found))


def shared_s(one: Note, other: Note) -> float:
    """The seconds that are in both; below 0 they lie apart."""
    if one.recording is None or other.recording is None:
        return -1.0
    return min(one.recording.end_s, other.recording.end_s) - max(
        one.recording.start_s, other.recording.start_s
    )


def _share(one: Note, other: Note) -> bool:
    lengths = [n.recording.end_s - n.recording.start_s for n in (one, other) if n.recording is not None]
    shared, shorter = shared_s(one, other), min(lengths, default=0.0)
    return shared > shorter / 2 or (shorter == 0 and shared == 0)


def _start(part: Part, old: Sequence[Note], new: Sequence[Note]) -> float:
    places = [n.recording for n in (*(old[p] for p in part.old), *(new[p] for p in part.new))]
    return min((place.start_s for place in places if place is not None), default=0.0)
