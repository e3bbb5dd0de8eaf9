"""The terms that a hand may put into a note: those of a lexicon, and the fields that have no others."""

from __future__ import annotations

from typing import Final

from dictate.form import Vocabulary
from dictate.lexicon import Lexicon, load_lexicon, load_table

_CLOSED: Final = {
    "appearance.clarity": "clarity", "nose.age": "age", "palate.balance": "balance",
    "verdict.readiness": "readiness",
}  # fmt: skip


def vocabulary_of(lexicon: Lexicon | None = None) -> Vocabulary:
    """What is known of terms by a lexicon, the shipped one where none is given. Raises LexiconError."""
    lexicon, table = lexicon or load_lexicon(), load_table("terms")
    closed = {path: tuple(table[name]["terms"]) for path, name in _CLOSED.items()}
    for path in ("wine.colour", "wine.style"):
        closed[path] = tuple(entry.term for entry in lexicon.of_kind(path.partition(".")[2]))
    return Vocabulary(lexicon, closed)
