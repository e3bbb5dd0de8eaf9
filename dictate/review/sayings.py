"""Whole breath groups by pattern: "accept the? {value}". Pure."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from dictate.language.tokens import fold

_SLOT = re.compile(r"\{(\w+)\}\??")
_MOST_LETTERS = 300  # of a breath group that may be one of these


@lru_cache(maxsize=1024)
def plain(text: str) -> str:
    """Words alone, as they are compared: lower case, no accents, no marks; "That's" stays one word."""
    return " ".join(re.sub(r"[^\w.']+|\.(?!\d)|(?<!\w)'|'(?!\w)", " ", fold(text)).split())


@dataclass(frozen=True, slots=True)
class Saying:
    """Ways to say one thing, as patterns over plain words."""

    patterns: tuple[re.Pattern[str], ...]

    def found(self, text: str) -> Iterator[dict[str, str]]:
        """What stands in the slots, for each way in which the whole text is this."""
        said = plain(text)
        if len(said) > _MOST_LETTERS:
            return
        for pattern in self.patterns:
            match = pattern.fullmatch(f"{said} ")
            if match is not None:
                yield {name: word.strip() for name, word in match.groupdict().items() if word is not None}


def saying(phrases: Sequence[str], *, edges: tuple[Sequence[str], Sequence[str]] = ((), ())) -> Saying:
    """Compiles phrases. `edges`: words that may stand in front and behind and mean nothing."""
    before, behind = (rf"(?:(?:{'|'.join(map(re.escape, each)) or '(?!)'}) )*" for each in edges)
    return Saying(tuple(re.compile(f"{before}{_pattern(phrase)}{behind}") for phrase in phrases))


def _pattern(phrase: str) -> str:
    """A phrase as a regular expression over words, each with a space behind it."""
    parts: list[str] = []
    for element in phrase.split():
        slot = _SLOT.fullmatch(element)
        words = [re.escape(plain(word.replace("_", " "))) for word in element.removesuffix("?").split("|")]
        part = rf"(?P<{slot[1]}>\S+ (?:\S+ ){{0,5}}?)" if slot else rf"(?:{'|'.join(words)}) "
        parts.append(f"(?:{part})?" if element.endswith("?") else part)
    return "".join(parts)
