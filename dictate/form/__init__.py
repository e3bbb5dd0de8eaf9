"""Room: a note as text to edit, read back into a note; and what a hand changed of it."""

from dictate.form.changes import by_hand, keep_corrections
from dictate.form.layout import FormError, Vocabulary
from dictate.form.read import read_text
from dictate.form.write import as_text

__all__ = ["FormError", "Vocabulary", "as_text", "by_hand", "keep_corrections", "read_text"]
