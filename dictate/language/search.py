"""What of a text counts when it is searched: its words, folded, without plural endings."""

from __future__ import annotations

import re
from functools import lru_cache

from dictate.language.tokens import fold, stem

_RUN = re.compile(r"[^\W_]+")


def search_keys(text: str) -> tuple[str, ...]:
    """The words of a text as they are looked for: "Crème de Cassis" -> ("creme", "de", "cassi").

    Lower case, accents off, plural endings off, marks are gaps. A word of other letters than a-z is its
    bytes in hex behind an "x": a full-text index then takes it for one word, whatever Unicode it knows.
    """
    return tuple(_key(run) for run in _RUN.findall(fold(text)))


def search_opening(text: str) -> str:
    """What the key of a word begins with that begins as `text` does; "" where none can."""
    runs = _RUN.findall(fold(text))
    return _plain(runs[-1]) if runs else ""


@lru_cache(maxsize=65536)
def _key(run: str) -> str:
    return _plain(stem(run))


def _plain(run: str) -> str:
    return run if run.isascii() else "x" + run.encode().hex()
