"""Notes for tests of learning: breaths of words, read by the program, put right by a hand."""

from __future__ import annotations

from typing import Any

from dictate.form import by_hand
from dictate.form.layout import with_values
from dictate.note import Change, Descriptor, Level, Note, Recording, Text
from dictate.pipeline import notes_from_words
from dictate.settings import Settings
from dictate.values import Heard, Word
from tests import build

WHEN = "2026-11-28T09:00:00+00:00"


def heard(number: int, *breaths: str, settings: Settings | None = None, confidence: float = 1.0) -> Note:
    """The note that comes of these breaths; each number gives another recording."""
    words = [
        Word(w.text, w.start_s, w.end_s, confidence, w.utterance) for w in build.breaths(breaths, at=0.5)
    ]
    place = Recording(path=f"{number}.wav", sha256=f"{number:064x}", start_s=0, end_s=600)
    (note,) = notes_from_words(
        Heard(tuple(words), 600, "by hand"), settings=settings or Settings(), recording=place
    )
    return note.model_copy(update={"id": f"note-{number}"})


def with_hand(note: Note, when: str = WHEN, **values: Any) -> Note:
    """The note with other values ("palate__flavours"), told in its history."""
    named = {name.replace("__", "."): value for name, value in values.items()}
    return by_hand(note, with_values(note, named), when=when)


def flavours(note: Note, *terms: str) -> Note:
    """The note with these flavours and no others."""
    have = {d.term: d for d in note.palate.flavours}
    return with_hand(
        note, palate__flavours=[have.get(t) or Descriptor(term=t, source="corrected") for t in terms]
    )


def acidity(note: Note, level: float) -> Note:
    """The note with another acidity, said where it was."""
    before = note.palate.acidity
    assert before is not None
    after = Level(level=level, said=before.said, at=before.at, source="corrected")
    return with_hand(note, palate__acidity=after)


def producer(note: Note, name: str) -> Note:
    """The note with another producer."""
    before = note.wine.producer
    said = {"said": before.said, "at": before.at} if before is not None else {}
    return with_hand(note, wine__producer=Text(text=name, source="corrected", **said))


def dragged(note: Note, to_s: float) -> Note:
    """The note with the end of its finish put where a hand dragged it."""
    start = next(p.at[0] for p in note.transcript if p.stage == "cue" and "spitting" in p.text)
    finish = note.finish.model_copy(
        update={"seconds": round(to_s - start, 2), "how": "timed", "from_s": start, "to_s": to_s}
    )
    change = Change(when=WHEN, field="finish.to_s", before=note.finish.to_s, after=to_s, by="hand")
    return note.model_copy(update={"finish": finish, "history": [*note.history, change]})
