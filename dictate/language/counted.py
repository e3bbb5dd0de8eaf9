"""A number and its noun. Pure."""

from __future__ import annotations


def counted(count: int, what: str) -> str:
    """ "1 note", "3 notes": for nouns that take an s."""
    return f"{count} {what}" if count == 1 else f"{count} {what}s"
