"""The trade's words as data. `load_lexicon` is the door, and the only I/O here."""

from dictate.lexicon.entries import Entry, Lexicon
from dictate.lexicon.load import LexiconError, load_lexicon, load_table

__all__ = ["Entry", "Lexicon", "LexiconError", "load_lexicon", "load_table"]
