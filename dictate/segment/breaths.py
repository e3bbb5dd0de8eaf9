"""Words to breaths: what is said in one go. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from dictate.language.patterns import Line, compile_any
from dictate.language.tokens import tokenise
from dictate.values import Word

BREATH_S = 0.9  # a gap as long as this parts words even where the recogniser saw one utterance
MEANT_S = 4.0  # a pause as long as this parts even a correction from what it corrects
_SAID = compile_any(["i said|put|called * $", "i said|put|called * * $", "i said|put|called * * * $"])
_MEANT = compile_any(["^ no|sorry|and|but|well? ,? i meant"])


def breaths(words: Sequence[Word]) -> Iterator[tuple[Word, ...]]:
    """Words of one breath each; who breathes between "I said light" and "I meant medium" says one thing."""
    held: tuple[Word, ...] = ()
    for group in _groups(words):
        soon = bool(held) and group[0].start_s - held[-1].end_s < MEANT_S
        if soon and _MEANT.search(Line(tokenise(group)).text) and _SAID.search(Line(tokenise(held)).text):
            held += group
            continue
        if held:
            yield held
        held = group
    if held:
        yield held


def _groups(words: Sequence[Word]) -> Iterator[tuple[Word, ...]]:
    """Words of one breath group each: same utterance, no long gap."""
    group: list[Word] = []
    for word in words:
        if group and (word.utterance != group[-1].utterance or word.start_s - group[-1].end_s >= BREATH_S):
            yield tuple(group)
            group = []
        group.append(word)
    if group:
        yield tuple(group)
