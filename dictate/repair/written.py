"""How a repaired term is written in the place of what was heard. Pure."""

from __future__ import annotations

from collections.abc import Sequence


def as_written(said: Sequence[str], before: Sequence[str], *, name: bool) -> tuple[str, ...]:
    """The words of a term with the capitals and the punctuation of the words they replace; all words of a
    name take a capital where the first word heard had one, of another term its first."""
    after = list(said)
    own_case = any(c.isupper() for word in said for c in word)  # "Heron and Rake" as it stands
    head = before[0].lstrip("\"'([")
    if head[:1].isupper() and not own_case:
        count = len(after) if name else 1
        after[:count] = [word[:1].upper() + word[1:] for word in after[:count]]
    tail = before[-1]
    letters = max((place + 1 for place, c in enumerate(tail) if c.isalnum()), default=0)
    after[-1] += tail[letters:]
    after[0] = before[0][: len(before[0]) - len(head)] + after[0]
    return tuple(after)
