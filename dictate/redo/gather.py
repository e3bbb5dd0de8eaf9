"""Which notes are made again: those named, or those that are older, by the recordings they are of. EDGE."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from dictate.library import Library, LibraryError, Making, taken_back
from dictate.note import MadeWith, Note
from dictate.recognise.typed import is_transcript
from dictate.redo.older import older, told_with


@dataclass(frozen=True, slots=True)
class Source:
    """A recording or transcript, and its notes by number: all of them, in order, those removed, and those to
    be made again with the reasons. `place`: where it is, None where that is not known; `name`: its file's
    then."""

    sha256: str
    place: Path | None
    name: str
    numbers: tuple[int, ...]
    removed: tuple[int, ...]
    wanted: dict[int, tuple[str, ...]]
    seconds: float

    @property
    def is_sound(self) -> bool:
        """Whether it would be heard, which takes time."""
        return self.place is not None and not is_transcript(self.place)


@dataclass(frozen=True, slots=True)
class Choice:
    """What there is to do, and the numbers of notes that stay: of no recording, put back by a hand after they
    were made again with the same means (until they are named), unreadable; `current`: not older."""

    sources: tuple[Source, ...]
    unrecorded: tuple[int, ...] = ()
    refused: tuple[int, ...] = ()
    unreadable: tuple[int, ...] = ()
    current: int = 0

    @property
    def count(self) -> int:
        """How many notes are to be made again."""
        return sum(len(source.wanted) for source in self.sources)


def gathered(
    library: Library, present: MadeWith, *, named: Sequence[int] = (), among: Sequence[int] | None = None,
    hears: bool = True,
) -> Choice:  # fmt: skip
    """The notes `named`, older or not, and the older ones of their recordings; the older ones `among` others;
    without either the older ones of all. `hears`: whether recordings are heard again. Raises LibraryError,
    OSError."""
    by_source: dict[str, list[Making]] = defaultdict(list)
    makings = library.makings()
    for making in makings:
        by_source[making.sha256].append(making)
    chosen = {m.number for m in makings} if among is None and not named else {*named, *(among or ())}
    unrecorded = [m.number for m in by_source.pop("", []) if m.number in chosen and not m.is_removed]
    refused: list[int] = []
    unreadable: list[int] = []
    sources = []
    for sha256, mine in by_source.items():
        here = [m for m in mine if not m.is_removed]
        if not chosen & {m.number for m in here}:
            continue
        wanted = {}
        for making in here:
            why = older(making.made_with, present, hears=hears)
            if making.number in named:
                wanted[making.number] = why or ("asked for",)
            elif why and (named or making.number in chosen):
                if _is_refused(library, making, present=present):
                    refused.append(making.number)
                else:
                    wanted[making.number] = why
        notes = _readable(library, wanted, unreadable)
        if notes:
            sources.append(_source(library, sha256, mine, notes=notes, wanted=wanted))
    count = len([m for m in makings if m.number in chosen and not m.is_removed])
    left = count - len(unrecorded) - len(refused) - len(unreadable)
    done = {number for source in sources for number in source.wanted}
    return Choice(
        tuple(sources), tuple(unrecorded), tuple(refused), tuple(unreadable), left - len(done & chosen)
    )


def _is_refused(library: Library, making: Making, *, present: MadeWith) -> bool:
    """Whether a hand put it back as it was after it had been made again with these very means."""
    back = taken_back({revision: why for revision, _, why in library.revisions(str(making.number))})
    was = making.made_with or present
    return back in (told_with(present), told_with(present.model_copy(update={"model": was.model})))


def _readable(library: Library, wanted: dict[int, tuple[str, ...]], unreadable: list[int]) -> dict[int, Note]:
    notes: dict[int, Note] = {}
    for number in list(wanted):
        try:
            (notes[number],) = library.notes([number])
        except LibraryError:
            unreadable.append(number)
            del wanted[number]
    return notes


def _source(
    library: Library, sha256: str, mine: Sequence[Making], *, notes: dict[int, Note],
    wanted: dict[int, tuple[str, ...]],
) -> Source:  # fmt: skip
    first = next(iter(notes.values()))
    places = [note.recording for note in notes.values() if note.recording is not None]
    return Source(
        sha256,
        library.recording(first),
        Path(places[0].path).name if places else sha256[:16],
        tuple(m.number for m in mine if not m.is_removed),
        tuple(m.number for m in mine if m.is_removed),
        wanted,
        max(m.end_s for m in mine),
    )
