"""A query's text to tokens that know where they stand."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from dictate.find.tree import QueryError
from dictate.language.tokens import fold

MAX_LENGTH, MAX_TOKENS = 2000, 200
_TOKEN = re.compile(
    r"""(?P<quoted>["“”„][^"“”„]*["“”„]) | (?P<mark>>=|<=|[()<>=≥≤])
      | (?P<word>\d+[.,]\d+(?![\w.,]) | [^\s()"“”„<>=≥≤,;]+) | (?P<open>["“”„]) | [\s,;]+""",
    re.VERBOSE,
)
_NUMBER = re.compile(r"-?\d{1,9}(?:[.,]\d{1,9})?")


@dataclass(frozen=True, slots=True)
class Token:
    """`text` as written (of a quoted one, what is within), `folded` to compare with, `at`: its first
    character, from 0."""

    kind: Literal["word", "quoted", "mark", "end"]
    text: str
    folded: str
    at: int

    @property
    def number(self) -> float | None:
        """The number that it is written as, in figures; None where it is none."""
        if self.kind != "word" or not _NUMBER.fullmatch(self.text) or not self.text.isascii():
            return None
        return float(self.text.replace(",", "."))

    @property
    def year(self) -> int | None:
        """The year that it is written as, in four figures from 1700 on."""
        number = self.number
        return int(number) if len(self.text) == 4 and number is not None and 1700 <= number < 2200 else None


def scan(text: str) -> tuple[Token, ...]:
    """The tokens, the last of them of kind "end". Raises QueryError."""
    if len(text) > MAX_LENGTH:
        raise QueryError(f"a query of {len(text)} characters is too long; {MAX_LENGTH} are read")
    tokens: list[Token] = []
    for match in _TOKEN.finditer(text):
        if match.lastgroup == "open":
            raise error_at(text, match.start(), reason="this quotation mark is not closed; close it")
        if match.lastgroup == "quoted":
            tokens.append(Token("quoted", match.group()[1:-1], "", match.start()))
        elif match.lastgroup == "mark":
            tokens.append(Token("mark", match.group(), match.group(), match.start()))
        elif match.lastgroup == "word":
            tokens += _word(match.group(), match.start())
        if len(tokens) > MAX_TOKENS:
            raise error_at(text, tokens[-1].at, reason=f"more than {MAX_TOKENS} words; ask for less at once")
    return (*tokens, Token("end", "", "", len(text)))


def _word(text: str, at: int) -> list[Token]:
    """A word; "20s" is a number and its unit."""
    glued = re.fullmatch(r"(\d+(?:[.,]\d+)?)(s|sec|secs)", text, flags=re.ASCII)
    if glued and not re.fullmatch(r"\d{2,4}0s", text):  # "the 1990s" are years
        number, unit = glued.groups()
        return [Token("word", number, number, at), Token("word", unit, unit, at + len(number))]
    return [Token("word", text, fold(text), at)]


def error_at(text: str, at: int, *, reason: str) -> QueryError:
    """One line that shows the place."""
    word = text[at:].split()[0][:30] if text[at:].split() else ""
    place = f"at “{word}” (character {at + 1})" if word else "at its end"
    shown = " ".join(text.split())
    short = shown if len(shown) <= 60 else shown[:59] + "…"
    return QueryError(f"“{short}”, {place}: {reason}")
