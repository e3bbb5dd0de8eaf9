"""Phrase patterns over tokens: how the rule tables (`lexicon/rules/*.toml`) say what they look for.

A pattern is words apart by spaces. `a|b` either; `word?` perhaps; `*` any one word; `…` up to four
words; `#` a number word or figures; `,` a pause; `!word` not this next;
`^` the phrase begins here; `$` it ends here, its last mark aside. Pauses are never skipped unless
asked for. "it's" is two tokens, as tokenised.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from dictate.language.tokens import Token, split_word

_ANY = r"[^\s,.;:?!–]+"
_NUMBER = (
    r"(?:\d[\d.,]*|(?:twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety|hundred|and|half|a|one|two"
    r"|three|four|five|six|seven|eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen|sixteen"
    r"|seventeen|eighteen|nineteen)(?: (?:one|two|three|four|five|six|seven|eight|nine|and|a|half))*)"
)
_PAUSE = r"[,.;:?!–]"


class Line:
    """Tokens as one line of text, so that patterns can be found and mapped back to tokens."""

    def __init__(self, tokens: Sequence[Token]) -> None:
        self.tokens = tuple(tokens)
        parts: list[str] = []
        self._starts: list[int] = []
        offset = 0
        for token in self.tokens:
            self._starts.append(offset)
            part = f"{token.text} {token.pause} " if token.pause else f"{token.text} "
            parts.append(part)
            offset += len(part)
        self.text = "".join(parts)

    def spans(self, pattern: re.Pattern[str]) -> Iterator[tuple[int, int]]:
        """Token spans [first, last) where the compiled pattern stands."""
        for match in pattern.finditer(self.text):
            yield self._token(match.start()), self._token(match.end() - 1) + 1

    def _token(self, offset: int) -> int:
        return max(0, bisect_right(self._starts, offset) - 1)


def _literal(word: str) -> list[str]:
    if word == "#":
        return [_NUMBER]
    if word.startswith("'"):
        return [re.escape(word)]
    return [re.escape(piece) for piece in split_word(word)[0]]


def _element(element: str) -> str:
    if element == "^":
        return r"\A"
    if element == "$":
        return rf"(?:{_PAUSE} )?\Z"
    if element.startswith("!"):
        return f"(?!{_element(element[1:])})"
    if element == "…":
        return rf"(?:{_ANY} ){{0,4}}?"
    optional = element.endswith("?") and len(element) > 1
    element = element[:-1] if optional else element
    if element == ",":
        body = rf"{_PAUSE} "
    elif element == "*":
        body = rf"{_ANY} "
    else:
        choices = []
        for choice in element.split("|"):
            choices.append(" ".join(p for word in choice.split("_") for p in _literal(word)))
        body = f"(?:{'|'.join(choices)}) "
    return f"(?:{body})?" if optional else body


@lru_cache(maxsize=8192)
def compile_pattern(pattern: str) -> re.Pattern[str]:
    """One pattern as a regular expression over `Line.text`.

    `_` joins words of one alternative: "hardly_any|barely". Raises re.error on a malformed pattern.
    """
    return re.compile(r"(?<!\S)" + "".join(_element(e) for e in pattern.split()))


def compile_any(patterns: Iterable[str]) -> re.Pattern[str]:
    """Patterns as one: the first listed that matches at a place wins."""
    return compile_pattern_list(tuple(patterns))


@lru_cache(maxsize=1024)
def compile_pattern_list(patterns: tuple[str, ...]) -> re.Pattern[str]:
    """The cached half of `compile_any`; an empty list matches nothing."""
    if not patterns:
        return re.compile(r"(?!)")
    bodies = ("".join(_element(e) for e in p.split()) for p in patterns)
    return re.compile(r"(?<!\S)(?:" + "|".join(bodies) + ")")
