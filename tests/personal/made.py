"""Words for tests, made by hypothesis: of any letters that a word may have."""

from __future__ import annotations

from hypothesis import strategies as st

from dictate.lexicon.entries import KINDS
from dictate.personal import PersonalWord, WordsError, make_word
from dictate.personal.words import CLOSED

MARKS = "'’\"=+-@＝;,.&/\\#{}[]:%"
FORM = st.text(st.sampled_from("abcXYZéüß ") | st.sampled_from(MARKS) | st.characters(), max_size=14).map(
    lambda t: t + "a"
)


def _word(term: str, kind: str, said: list[str], heard_as: list[str]) -> PersonalWord | None:
    try:
        return make_word(term, kind, said=said, heard_as=heard_as)
    except WordsError:
        return None


FORMS = st.lists(FORM, max_size=3)
WORD = st.builds(_word, FORM, st.sampled_from([k for k in KINDS if k not in CLOSED]), FORMS, FORMS)
WORDS: st.SearchStrategy[list[PersonalWord]] = st.lists(WORD, max_size=6).map(
    lambda made: [w for w in made if w is not None]
)
