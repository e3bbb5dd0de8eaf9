"""Room: a note as text to edit, read back into a note; a change by a hand; and what a hand changed of it."""

from dictate.form.amend import (
    Accept,
    Add,
    Amend,
    AmendError,
    Amendment,
    Move,
    Onsets,
    Put,
    Remove,
    accepted,
    amended,
    touched,
)
from dictate.form.changes import by_hand, changes_between, keep_corrections
from dictate.form.layout import FormError, Vocabulary
from dictate.form.read import read_text
from dictate.form.write import as_text

__all__ = [
    "Accept",
    "Add",
    "Amend",
    "AmendError",
    "Amendment",
    "FormError",
    "Move",
    "Onsets",
    "Put",
    "Remove",
    "Vocabulary",
    "accepted",
    "amended",
    "as_text",
    "by_hand",
    "changes_between",
    "keep_corrections",
    "read_text",
    "touched",
]
