"""Of spans of words that overlap, which stay. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol, TypeVar


class Span(Protocol):
    """Words [first, last)."""

    @property
    def first(self) -> int:
        """Its first word."""
        ...

    @property
    def last(self) -> int:
        """The word behind its last."""
        ...


S = TypeVar("S", bound=Span)


def apart(spans: Iterable[S]) -> list[S]:
    """Those of `spans`, best first, that overlap none before them; in order of words."""
    taken: set[int] = set()
    chosen: list[S] = []
    for one in spans:
        covered = range(one.first, one.last)
        if taken.isdisjoint(covered):
            taken.update(covered)
            chosen.append(one)
    return sorted(chosen, key=lambda span: span.first)
