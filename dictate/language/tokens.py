"""Words to tokens: lower case, accents folded, clitics and hyphens apart, breaks kept."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Protocol

from dictate.values import Word

_APOSTROPHES = str.maketrans({"’": "'", "‘": "'", "ʼ": "'", "`": "'"})
# fractions that NFKD would run into the figure in front ("13½" -> "131⁄2")
_PARTS_OF_ONE = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅓": " 1/3", "⅔": " 2/3"}
# letters that NFKD leaves whole
_LETTERS = {"ß": "ss", "ø": "o", "æ": "ae", "œ": "oe", "ł": "l", "đ": "d", "ı": "i"}
_WHOLE = str.maketrans(_LETTERS | {"Ø": "O", "Æ": "AE", "Œ": "OE", "Ł": "L", "Đ": "D"} | _PARTS_OF_ONE)
_PART = re.compile(r"\$?\d+(?:[.,]\d+)*(?:st|nd|rd|th|s)?|%|[^\W\d_]+(?:'[^\W\d_]+)*|&")
_STOP = re.compile(r"[,.;:?!–—…]+[\"')\]]*$")
MONEY_SIGNS = "$€£¥"
_SIGNED = re.compile(rf"[\d{MONEY_SIGNS}]")
_PLUS = re.compile(r"(?:(?<=[^\W\d_])|^)\+(?=[\s,.;:?!–—…]*$)")  # "medium+", and "+" written apart
_SPLIT_OFF = ("'s", "'re", "'ve", "'ll", "'d", "'m")


@dataclass(frozen=True, slots=True)
class Token:
    """A piece of a word. `text` is folded; `word` is the index of the word it came from."""

    text: str
    word: int
    pause: str = ""  # the punctuation right behind it: "", ",", ".", "?", "!", ":", ";", "–"
    before: str = ""  # where figures or money are written: what the word has in front of it, "$", "'", "/"
    behind: str = ""  # and behind its last piece, "€", "+"
    accented: str = ""  # as it was written, in lower case, where that has accents: "rosé" is no rose


@lru_cache(maxsize=65536)
def fold(text: str) -> str:
    """Lower case without accents: "Grüner" -> "gruner". Spelling is otherwise kept."""
    text = unicodedata.normalize("NFKD", text.translate(_APOSTROPHES).translate(_WHOLE))
    return "".join(c for c in text if not unicodedata.combining(c)).lower()


@lru_cache(maxsize=65536)
def _split(text: str) -> tuple[tuple[str, ...], str, tuple[str, ...], str]:
    """Pieces, the punctuation behind, and (only around figures and money) the signs between pieces."""
    folded = _PLUS.sub(" plus", fold(text))
    pieces: list[str] = []
    signs: list[str] = []
    end = 0
    for match in _PART.finditer(folded):
        piece = match.group().strip("$")
        signs.append(folded[end : match.end() - len(piece)].strip())
        end = match.end()
        tail = next((s for s in _SPLIT_OFF if piece.endswith(s) and len(piece) > len(s)), "")
        pieces.append(piece[: len(piece) - len(tail)] if tail else piece)
        if tail:
            pieces.append(tail)
            signs.append("")
    rest = _STOP.search(folded)
    mark = rest.group()[0] if rest else ""
    pause = {"—": "–", "…": "."}.get(mark, mark)
    if not _SIGNED.search(folded):
        return tuple(pieces), pause, (), ""
    return tuple(pieces), pause, tuple(signs), folded[end : rest.start() if rest else None].strip()


@lru_cache(maxsize=4096)
def accented_pieces(text: str) -> tuple[str, ...]:
    """The pieces of a written word with their accents, in lower case; () where it has none."""
    if text.isascii():
        return ()
    whole = unicodedata.normalize("NFC", text.translate(_APOSTROPHES)).lower()
    pieces = tuple(_PART.findall(whole))
    return pieces if any(fold(piece) != piece for piece in pieces) else ()


def split_word(text: str) -> tuple[tuple[str, ...], str]:
    """The folded pieces of one written word and the punctuation behind it.

    "full-bodied," -> (("full", "bodied"), ","); "acid's" -> (("acid", "'s"), "").
    """
    return _split(text)[:2]


def _money_alone(tokens: list[Token], sign: str, ahead: Word | None) -> bool:
    """ "12 €": a sign written apart belongs to the figures behind it, else to those in front."""
    if ahead is not None and fold(ahead.text)[:1].isdecimal():
        return True
    if tokens and tokens[-1].text[:1].isdecimal() and not tokens[-1].pause:
        tokens[-1] = replace(tokens[-1], behind=sign)
    return False


def tokenise(words: Sequence[Word]) -> tuple[Token, ...]:
    """Tokens of words, in order; a word without letters or figures gives none."""
    tokens: list[Token] = []
    money = ""  # a sign that stands apart in front of its figures
    for index, word in enumerate(words):
        pieces, pause, signs, behind = _split(word.text)
        if not pieces:
            if behind in MONEY_SIGNS and behind:
                ahead = words[index + 1] if index + 1 < len(words) else None
                money = behind if _money_alone(tokens, behind, ahead) else ""
            if pause and tokens and not tokens[-1].pause:
                tokens[-1] = replace(tokens[-1], pause=pause)
            continue
        accents = accented_pieces(word.text)
        for place, piece in enumerate(pieces):
            ends = place == len(pieces) - 1
            before = signs[place] if signs else ""
            written = accents[place] if len(accents) == len(pieces) and accents[place] != piece else ""
            stop, sign = (pause, behind) if ends else ("", "")
            tokens.append(Token(piece, index, stop, before or money, sign, written))
            money = ""
    return tuple(tokens)


def clauses_of(tokens: Sequence[Token]) -> Iterator[tuple[int, int]]:
    """Token spans between pauses, in order."""
    start = 0
    for place, token in enumerate(tokens):
        if token.pause or place == len(tokens) - 1:
            yield start, place + 1
            start = place + 1


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


class _Heard(Protocol):
    @property
    def text(self) -> str: ...
    @property
    def heard(self) -> str | None: ...


def as_heard(words: Iterable[_Heard]) -> str:
    """What the recogniser wrote for words, before any repair."""
    return " ".join(h for h in (w.text if w.heard is None else w.heard for w in words) if h)


def spoken_text(words: Sequence[Word]) -> str:
    """The words as one line of text, without punctuation at its end."""
    return " ".join(w.text for w in words).strip().rstrip(",;:.–— ")
