"""Words to tokens: lower case, accents folded, clitics and hyphens apart, breaks kept."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from dictate.values import Word

_APOSTROPHES = str.maketrans({"’": "'", "‘": "'", "ʼ": "'", "`": "'"})
# letters that NFKD leaves whole
_LETTERS = {"ß": "ss", "ø": "o", "æ": "ae", "œ": "oe", "ł": "l", "đ": "d", "ı": "i"}
_WHOLE = str.maketrans(_LETTERS | {"Ø": "O", "Æ": "AE", "Œ": "OE", "Ł": "L", "Đ": "D"})
_PART = re.compile(r"\$?\d+(?:[.,]\d+)*(?:st|nd|rd|th|s)?|%|[^\W\d_]+(?:'[^\W\d_]+)*|&")
_SPLIT_OFF = ("'s", "'re", "'ve", "'ll", "'d", "'m")


@dataclass(frozen=True, slots=True)
class Token:
    """A piece of a word. `text` is folded; `word` is the index of the word it came from."""

    text: str
    word: int
    pause: str = ""  # the punctuation right behind it: "", ",", ".", "?", "!", ":", ";", "–"


@lru_cache(maxsize=65536)
def fold(text: str) -> str:
    """Lower case without accents: "Grüner" -> "gruner". Spelling is otherwise kept."""
    text = unicodedata.normalize("NFKD", text.translate(_APOSTROPHES).translate(_WHOLE))
    return "".join(c for c in text if not unicodedata.combining(c)).lower()


@lru_cache(maxsize=65536)
def split_word(text: str) -> tuple[tuple[str, ...], str]:
    """The folded pieces of one written word and the punctuation behind it.

    "full-bodied," -> (("full", "bodied"), ","); "acid's" -> (("acid", "'s"), "").
    """
    folded = fold(text)
    pieces: list[str] = []
    for match in _PART.finditer(folded):
        piece = match.group().strip("$")
        tail = next((s for s in _SPLIT_OFF if piece.endswith(s) and len(piece) > len(s)), "")
        pieces.append(piece[: len(piece) - len(tail)] if tail else piece)
        if tail:
            pieces.append(tail)
    rest = re.search(r"[,.;:?!–—…]+[\"')\]]*$", folded)
    if not rest:
        return tuple(pieces), ""
    mark = rest.group()[0]
    return tuple(pieces), {"—": "–", "…": "."}.get(mark, mark)


def tokenise(words: Sequence[Word]) -> tuple[Token, ...]:
    """Tokens of words, in order; a word without letters or figures gives none."""
    tokens: list[Token] = []
    for index, word in enumerate(words):
        pieces, pause = split_word(word.text)
        if not pieces and pause and tokens and not tokens[-1].pause:
            tokens[-1] = Token(tokens[-1].text, tokens[-1].word, pause)
        for place, piece in enumerate(pieces):
            tokens.append(Token(piece, index, pause if place == len(pieces) - 1 else ""))
    return tuple(tokens)


@lru_cache(maxsize=65536)
def stem(token: str) -> str:
    """A token without its plural ending: "cherries" -> "cherry", "notes" -> "note"."""
    if len(token) > 4 and token.endswith("ies"):
        return token[:-3] + "y"
    if len(token) > 4 and token.endswith(("oes", "shes", "ches", "xes", "sses")):
        return token[:-2]
    if len(token) > 3 and token.endswith("s") and not token.endswith(("ss", "us", "is")):
        return token[:-1]
    return token


def spoken_text(words: Sequence[Word]) -> str:
    """The words as one line of text, without punctuation at its end."""
    return " ".join(w.text for w in words).strip().rstrip(",;:.–— ")
