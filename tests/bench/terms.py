"""Whether words mention a term: what the trade-word bench counts as recognised."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import product

from whisper_normalizer.english import EnglishTextNormalizer

from dictate.language.mentions import find_mentions
from dictate.language.tokens import tokenise
from dictate.lexicon import load_table
from dictate.lexicon.entries import Lexicon, match_key, spelled
from dictate.values import Word

LEVEL = "level"
NORMAL = EnglishTextNormalizer()


def as_words(text: str) -> list[Word]:
    """A text as words of one breath group."""
    return [Word(w, n * 0.4, n * 0.4 + 0.4, 1.0, 0) for n, w in enumerate(text.split())]


def mentioned(said: str | Sequence[Word], term: str, *, kind: str, lexicon: Lexicon) -> bool:
    """Whether the words mention the entry of this term and kind; of kind "level": hold its tokens in a row.

    Another way of saying the same entry counts, another entry that means nearly the same does not.
    """
    tokens = tokenise(as_words(said) if isinstance(said, str) else said)
    if kind == LEVEL:
        keys = tuple(match_key(t.text) for t in tokens)
        return any(keys[n : n + len(want)] == want for want in _spellings(term) for n in range(len(keys)))
    return any(
        entry.term == term and entry.kind == kind
        for mention in find_mentions(tokens, lexicon)
        for entry in mention.entries
    )


@lru_cache(maxsize=512)
def _spellings(term: str) -> frozenset[tuple[str, ...]]:
    """A level word and its other spellings ("colorless", "dry ish") that stand in the rule tables too."""
    alike = {p for p in _phrases() if _squeezed(p) == _squeezed(term)}
    return frozenset(spelled(p) for p in {term, *alike})


@lru_cache(maxsize=1)
def _phrases() -> tuple[str, ...]:
    """All phrases of the level and term tables, "a|b" written out."""
    rows: list[list[str]] = []
    for attribute in load_table("levels")["attribute"].values():
        rows.extend(attribute["words"].values())
    for closed in load_table("terms").values():
        rows.extend(closed["terms"].values())
    return tuple(said for phrases in rows for phrase in phrases for said in _written_out(phrase))


def _written_out(phrase: str) -> Iterator[str]:
    return (" ".join(words) for words in product(*(word.split("|") for word in phrase.split())))


@lru_cache(maxsize=65536)
def _squeezed(text: str) -> str:
    """Letters alone, American spelling."""
    return "".join(c for c in NORMAL(text) if c.isalnum())
