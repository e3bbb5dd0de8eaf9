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
from dictate.form.changes import (
    by_hand,
    changes_between,
    corrected_fields,
    held_fields,
    is_accepted,
    keep_corrections,
    texts_of,
)
from dictate.form.difference import Difference, FieldDifference, difference, machine_reading
from dictate.form.layout import FormError, Vocabulary
from dictate.form.read import read_text
from dictate.form.write import as_text

__all__ = [
    "Accept",
    "Add",
    "Amend",
    "AmendError",
    "Amendment",
    "Difference",
    "FieldDifference",
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
    "corrected_fields",
    "difference",
    "held_fields",
    "is_accepted",
    "keep_corrections",
    "machine_reading",
    "read_text",
    "texts_of",
    "touched",
]
