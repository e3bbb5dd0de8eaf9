"""What the taster's corrections teach, and what is done with it once the taster says so. EDGE."""

from __future__ import annotations

from pathlib import Path

from dictate.learn import KindHeard, Proposal, accept, decline, hearing_of, proposals_of
from dictate.library import Library
from dictate.note import Note
from dictate.personal.store import change_own, load_own
from dictate.pipeline import known_with


def taught(library: Path) -> tuple[tuple[Proposal, ...], tuple[KindHeard, ...]]:
    """What could be learnt from the notes of a library, and how each kind of value was heard. It opens the
    library by itself, to be run in any thread. Raises LibraryError, WordsError, OSError."""
    notes, known = _notes(library), known_with(load_own())
    return proposals_of(notes, known), hearing_of(notes, known)


def decide(library: Path, key: str, *, learn: bool) -> str:
    """Accept or decline the proposal of a key; what was done, in words, "" where it is no longer proposed.
    Raises as `taught`."""
    proposals = proposals_of(_notes(library), known_with(load_own()))
    proposal = next((each for each in proposals if each.key == key), None)
    if proposal is None:
        return ""
    change_own(lambda own: accept(proposal, own) if learn else decline(proposal, own))
    return f"{'Learnt' if learn else 'Not learnt'}: {proposal.text}"


def _notes(library: Path) -> tuple[Note, ...]:
    with Library.open(library) as opened:
        return opened.notes(opened.find().numbers)
