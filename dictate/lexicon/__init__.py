"""The trade's words as data. `load_lexicon` is the door; all I/O is in `load.py` and `tomlfile.py`."""

from dictate.lexicon.entries import Entry, Lexicon
from dictate.lexicon.load import load_lexicon, load_sounds, load_table
from dictate.lexicon.tomlfile import LexiconError

__all__ = ["Entry", "Lexicon", "LexiconError", "load_lexicon", "load_sounds", "load_table"]
