"""Reads how letters sound in English (`letters/english.txt`, made by `letters/make.py`). EDGE."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from dictate.phonetics.letters import LetterTable

_FILE = Path(__file__).parent / "letters" / "english.txt"


@lru_cache(maxsize=1)
def load_letters() -> LetterTable:
    """The shipped table; read once a process. Lines are "context phones", phones may be none."""
    contexts: dict[str, str] = {}
    for line in _FILE.read_text(encoding="utf-8").splitlines():
        if not line.startswith("# "):
            context, _, phones = line.partition(" ")
            contexts[context] = phones
    return LetterTable(contexts)
