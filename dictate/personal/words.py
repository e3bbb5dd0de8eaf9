"""A taster's own words: what one may be, and how two lists become one. Pure."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

from dictate.language.tokens import fold
from dictate.lexicon.entries import KINDS, spelled

# the note knows no other colours and styles; a taster may have other ways to say them
CLOSED = {"colour": ("white", "rosé", "orange", "red"), "style": ("still", "sparkling", "fortified")}
SEPARATOR = "|"  # between the forms of one CSV cell, so in no form
MAX_LENGTH, MAX_FORMS, MAX_WORDS = 80, 20, 20_000  # ours: far above any use, far below any harm
_UNSEEN = ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")  # Unicode: controls, bidi and invisible marks ...


class WordsError(ValueError):
    """A word, or a file of words, that cannot be used; the message says why, in one line."""


@dataclass(frozen=True, slots=True)
class PersonalWord:
    """A term of the taster's own. `said` are other ways to say it, `heard_as` what a recogniser
    makes of it. Made by `make_word`, which checks it."""

    term: str
    kind: str
    said: tuple[str, ...] = ()
    heard_as: tuple[str, ...] = ()


def unseen(text: str) -> str:
    """The first character of `text` that shows nothing or turns the direction of writing, as
    "U+202E"; else ""."""
    found = next((c for c in text if unicodedata.category(c) in _UNSEEN), "")
    return f"U+{ord(found):04X}" if found else ""


def tidy(text: str) -> str:
    """Unicode NFC with single spaces, whatever spaces they were."""
    return " ".join(unicodedata.normalize("NFC", text).split())


def _shown(text: str) -> str:
    start = "".join(c if c.isprintable() else "?" for c in text[:30])
    return f"“{start}{'...' if len(text) > 30 else ''}”"


def clean_form(text: str) -> str:
    """A term or a form, tidied. Raises WordsError where it is too long, holds an unseen character or
    the separator, or has no letter that could be said."""
    if len(text) > MAX_LENGTH * 2:
        raise WordsError(f"{_shown(text)} is longer than {MAX_LENGTH} characters")
    if mark := unseen(re.sub(r"[\t\r\n]", " ", text)):
        raise WordsError(f"{_shown(text)} holds a character that cannot be seen ({mark})")
    form = tidy(text)
    if len(form) > MAX_LENGTH:
        raise WordsError(f"{_shown(form)} is longer than {MAX_LENGTH} characters")
    if SEPARATOR in form:
        raise WordsError(f"{_shown(form)} holds a “{SEPARATOR}”, which parts forms")
    if not any(c.isalpha() for c in form) or not spelled(form):
        raise WordsError(f"{_shown(form)} has no letter, so it cannot be said")
    return form


def usual_kind(term: str) -> str:
    """The kind of a term given without one: with a capital in it a producer, else a descriptor."""
    return "producer" if any(c.isupper() for c in term) else "descriptor"


def _closed_term(term: str, kind: str) -> str:
    known = next((t for t in CLOSED[kind] if fold(t) == fold(term)), "")
    if not known:
        raise WordsError(f"the {kind} must be one of {', '.join(CLOSED[kind])}, not {_shown(term)}")
    return known


def _forms(given: Iterable[str], *, but: set[str]) -> tuple[str, ...]:
    """Forms cleaned, each once, and none that is in `but` (folded)."""
    made: dict[str, str] = {}
    for text in given:
        form = clean_form(text)
        if fold(form) not in but:
            made.setdefault(fold(form), form)
    if len(made) > MAX_FORMS:
        raise WordsError(f"more than {MAX_FORMS} forms of one kind for one term")
    return tuple(made.values())


def make_word(
    term: str, kind: str = "", *, said: Iterable[str] = (), heard_as: Iterable[str] = ()
) -> PersonalWord:
    """A checked word; without a kind it gets `usual_kind`. A form that says the same as the term (or,
    of `heard_as`, as another way to say it) is left out.

    Raises WordsError on an unknown kind and on what `clean_form` refuses.
    """
    name = clean_form(term)
    kind = kind or usual_kind(name)
    if kind not in KINDS:
        raise WordsError(f"kind must be one of {', '.join(KINDS)}, not {_shown(kind)}")
    if kind in CLOSED:
        name = _closed_term(name, kind)
    ways = _forms(said, but={fold(name)})
    misheard = _forms(heard_as, but={fold(name), *map(fold, ways)})
    return PersonalWord(name, kind, ways, misheard)


def word_key(word: PersonalWord) -> tuple[str, tuple[str, ...]]:
    """What two spellings of one word have in common: kind, and the term as it is matched."""
    return word.kind, spelled(word.term)


def merge_words(words: Iterable[PersonalWord], more: Iterable[PersonalWord]) -> tuple[PersonalWord, ...]:
    """Both lists as one, in order of term and kind: of a word in both, the later spelling and the
    forms of both.

    Raises WordsError where the result has too many words or forms.
    """
    merged: dict[tuple[str, tuple[str, ...]], PersonalWord] = {}
    for word in (*words, *more):
        before = merged.get(word_key(word))
        if before is not None and before != word:
            said, heard_as = (*before.said, *word.said), (*before.heard_as, *word.heard_as)
            word = make_word(word.term, word.kind, said=said, heard_as=heard_as)
        merged[word_key(word)] = word
    if len(merged) > MAX_WORDS:
        raise WordsError(f"more than {MAX_WORDS} words")
    return tuple(sorted(merged.values(), key=lambda w: (fold(w.term), w.term, w.kind)))
