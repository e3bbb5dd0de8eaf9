"""The taster's own words and the prepared wine list. EDGE: `store.py` is its only I/O."""

from dictate.personal.entries import personal_entries
from dictate.personal.winelist import WineList, parse_wine_list
from dictate.personal.words import PersonalWord, WordsError, make_word, merge_words

__all__ = [
    "PersonalWord",
    "WineList",
    "WordsError",
    "make_word",
    "merge_words",
    "parse_wine_list",
    "personal_entries",
]
