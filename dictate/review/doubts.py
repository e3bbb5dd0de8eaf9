"""Which values of a note the page marks, and which words of it may have been missed."""

from __future__ import annotations

from dictate.doubt import Doubt, Unread
from dictate.note import Note
from dictate.pipeline import doubts_in, routine_chance, unread_in


def doubtful(note: Note) -> tuple[Doubt, ...]:
    """The doubtful values of a note, the likeliest wrong first."""
    least = routine_chance()
    return tuple(each for each in doubts_in(note) if each.right < least)


def missed(note: Note) -> tuple[Unread, ...]:
    """Phrases that fed no field and may hold a value all the same, the likeliest first."""
    return unread_in(note)
