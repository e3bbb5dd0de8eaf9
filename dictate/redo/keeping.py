"""Notes made again into the library: each to the one it was, with what a hand had put right. EDGE."""

from __future__ import annotations

import os.path
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Final

from dictate.export import wine_title
from dictate.form import (
    Difference,
    corrected_fields,
    difference,
    is_accepted,
    keep_corrections,
    machine_reading,
    texts_of,
)
from dictate.library import MADE, MADE_AGAIN, READ_AGAIN, TAKEN_IN, Library, Revised
from dictate.note import MadeWith, Note
from dictate.pipeline import listed_as_before
from dictate.redo.gather import Source
from dictate.redo.heard import with_clock
from dictate.redo.older import TRANSCRIPT, told_with
from dictate.redo.parts import Part, parts, shared_s
from dictate.redo.values import Hear, Made, Outcome, Redone

_UNKNOWN: Final = MadeWith(program="?", model="?", lexicon="?")


@dataclass(slots=True)
class _Work:
    """What is to be written, and what is told of it."""

    redone: list[Redone] = field(default_factory=list)
    revised: list[Revised] = field(default_factory=list)
    new: list[Note] = field(default_factory=list)
    removed: list[int] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)
    told: list[str] = field(default_factory=list)


def keep(source: Source, library: Library, *, made: Made, hear: Hear) -> Outcome:
    """See `redo_source`. Raises OutdatedError where a note was changed while this was at work;
    LibraryError."""
    source = _as_it_is(source, library)
    numbers = source.numbers
    old = library.notes([*numbers, *source.removed])
    work = _Work()
    for part in parts(old, made.notes):
        mine = [place for place in part.old if place < len(numbers)]
        if part.old and not source.wanted.keys() & {numbers[place] for place in mine}:
            continue  # removed, or not asked for
        pairs = [(mine[0], part.new[0])] if len(mine) == len(part.new) == 1 else []
        if not pairs and not hear.recut:
            work.problems.append(_parted(source, old, made, part=Part(tuple(mine), part.new)))
            continue
        pairs = pairs or _likeliest(old, made.notes, part=Part(tuple(mine), part.new))
        for before, now in pairs:
            _revise(work, library, numbers[before], new=made.notes[now], made=made, hear=hear)
        _rest(work, source, old, part=Part(tuple(mine), part.new), pairs=pairs, made=made)
    library.change_all(work.revised)
    added = library.add_all(work.new)
    if work.removed:
        library.remove([str(number) for number in work.removed])
    more = (Redone(k.number, k.note, None, Difference(), is_new=True) for k in added)
    return Outcome((*work.redone, *more), tuple(work.problems), tuple(work.told))


def _as_it_is(source: Source, library: Library) -> Source:
    """Without notes that a hand took out while this was at work."""
    gone = {removed.number for removed in library.removed()} & set(source.numbers)
    here = tuple(number for number in source.numbers if number not in gone)
    return replace(source, numbers=here, removed=(*source.removed, *sorted(gone)))


def _revise(work: _Work, library: Library, number: int, *, new: Note, made: Made, hear: Hear) -> None:
    """A note and what it is now: its next revision, in front of it that of the program alone where a hand's
    stands beside it, so that the next time too it is known what who read."""
    name = str(number)
    revision = library.revisions(name)[-1][0]
    old = library.revision(name, revision)
    machine = tuple(_by_machine(library.in_effect(name)))
    was = old.made_with
    new = new.model_copy(update={"id": old.id})
    if not made.heard:
        model = (was or _UNKNOWN).model
        with_model = (new.made_with or _UNKNOWN).model_copy(update={"model": model})
        new = new.model_copy(update={"made_with": with_model})
        if not made.timed and model != TRANSCRIPT:
            new = with_clock(new, machine[0][1])
    new = _where_it_was(new, old)
    new = listed_as_before(new, old, settings=hear.settings)
    differs = difference(machine_reading(machine, now=new), old, now=new)
    note = keep_corrections(old, new, when=datetime.now(UTC).isoformat(timespec="seconds"))
    work.redone.append(Redone(number, note, was, differs, same=note == old))
    if note == old:
        return
    means = told_with(note.made_with or _UNKNOWN)
    if texts_of(note) != texts_of(new):
        work.revised.append(Revised(number, new, revision, READ_AGAIN + means))
    work.revised.append(Revised(number, note, revision, MADE_AGAIN + means))


def _where_it_was(new: Note, old: Note) -> Note:
    """With the recording's path as it was written, where it is the same."""
    now, then = new.recording, old.recording
    if now is None or then is None or os.path.abspath(now.path) != os.path.abspath(then.path):  # noqa: PTH100
        return new
    return new.model_copy(update={"recording": now.model_copy(update={"path": then.path})})


def _by_machine(line: Sequence[tuple[str, Note]]) -> Iterator[tuple[bool, Note]]:
    """Of a note's revisions those that the program made, and whether it did so alone; the first of all where
    it made none."""
    found = False
    for place, (why, note) in enumerate(line):
        before = line[place + 1][0] if place + 1 < len(line) else ""
        is_again = why.startswith(MADE_AGAIN) and not before.startswith(READ_AGAIN)
        if why.startswith(READ_AGAIN) or is_again or why in (MADE, TAKEN_IN):
            found = True
            yield why not in (MADE, TAKEN_IN), note
    if not found:
        yield False, line[-1][1]


def _likeliest(old: Sequence[Note], new: Sequence[Note], *, part: Part) -> list[tuple[int, int]]:
    """Of notes parted otherwise those that go on as one: that share most, each once."""
    shares = sorted(
        ((shared_s(old[a], new[b]), a, b) for a in part.old for b in part.new),
        key=lambda share: (-share[0], share[1:]),
    )
    pairs: list[tuple[int, int]] = []
    for share, before, now in shares:
        if share > 0 and all(before != a and now != b for a, b in pairs):
            pairs.append((before, now))
    return pairs


def _rest(
    work: _Work, source: Source, old: Sequence[Note], *, part: Part, pairs: Sequence[tuple[int, int]],
    made: Made,
) -> None:  # fmt: skip
    """What is left of notes parted otherwise: new ones, and those whose speech is another's now."""
    for place in part.new:
        if all(place != now for _, now in pairs):
            note = made.notes[place]
            start_s = note.recording.start_s if note.recording else 0.0
            # no number that counts through: it would be another note's
            work.new.append(note.model_copy(update={"id": f"{source.sha256[:16]}-at-{start_s:.0f}"}))
            work.told.append(f"{source.name}: {_placed(note)} is a note of its own now")
    for place in part.old:
        if any(place == before for before, _ in pairs):
            continue
        number, title = source.numbers[place], wine_title(old[place])
        if not part.new:
            work.problems.append(f"note {number} ({title}): nothing of it is heard now; it stays as it was")
        elif corrected_fields(old[place]) or is_accepted(old[place]):
            work.problems.append(
                f"note {number} ({title}): its words are in another note now, but a hand has been at it, so "
                f"it stays as it was; take it out with: dictate remove {number}"
            )
        else:
            work.removed.append(number)
            work.told.append(
                f"note {number} ({title}): its words are in another note now, so it is removed; bring it "
                f"back with: dictate library undo {number}"
            )


def _parted(source: Source, old: Sequence[Note], made: Made, *, part: Part) -> str:
    """A line on notes that are parted otherwise now, none of which was touched."""
    now = " and ".join(_placed(made.notes[place]) for place in part.new)
    if not part.old:
        return f"{source.name}: {now} is in no note; add it with --recut"
    names = [f"{source.numbers[place]} ({wine_title(old[place])})" for place in part.old]
    before = f"note{'s' if len(names) > 1 else ''} {' and '.join(names)}"
    if not part.new:
        return f"{before}: nothing of it is heard now; it stays as it was"
    stay = "stay as they were" if len(names) > 1 else "stays as it was"
    return f"{before}: parted otherwise now, as {now}; {stay}; take the new parting with --recut"


def _placed(note: Note) -> str:
    """A wine and where in the recording it is."""
    if note.recording is None:
        return wine_title(note)
    at = (f"{int(s // 60)}:{int(s % 60):02}" for s in (note.recording.start_s, note.recording.end_s))
    return f"“{wine_title(note)}” ({' to '.join(at)})"
