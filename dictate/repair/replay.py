"""Steps put to words: what changes in a word when what was heard is put right. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from dictate.language.tokens import as_heard
from dictate.values import Step, Word


def replay(words: Sequence[Word], steps: Sequence[Step]) -> tuple[Word, ...]:
    """The words after all steps (in order, none overlapping, indexes into `words`).

    The first word of a repaired window begins where the window began and the last ends where it ended
    (seconds). As many words as before keep their own times; otherwise the window's time is shared by
    letters. The first word's `heard` is all that was heard in the window, the others' is "": joined,
    they say what was heard. Confidence is the mean of the window's. Raises ValueError for steps that
    overlap or were made of other words.
    """
    done: list[Word] = []
    reached = 0
    for step in steps:
        window = words[step.first : step.last]
        fits = tuple(w.text for w in window) == step.before
        if step.first < reached or not window or not step.after or not fits:
            raise ValueError(f"step for words {step.first} to {step.last} does not fit these words")
        done.extend(words[reached : step.first])
        done.extend(_repaired(window, step.after))
        reached = step.last
    done.extend(words[reached:])
    return tuple(done)


def _repaired(window: Sequence[Word], after: tuple[str, ...]) -> list[Word]:
    heard = as_heard(window)
    confidence = sum(w.confidence for w in window) / len(window)
    bounds = _bounds(window, after)
    return [
        Word(text, start_s, end_s, confidence, window[0].utterance, heard if place == 0 else "")
        for place, (text, (start_s, end_s)) in enumerate(zip(after, bounds, strict=True))
    ]


def _bounds(window: Sequence[Word], after: tuple[str, ...]) -> list[tuple[float, float]]:
    """Start and end of each word, seconds: ascending, from the window's start to its end."""
    if len(after) == len(window):
        return [(w.start_s, w.end_s) for w in window]
    start_s, end_s = window[0].start_s, window[-1].end_s
    letters = sum(len(text) for text in after)
    marks = [start_s]
    for text in after:
        marks.append(min(end_s, marks[-1] + (end_s - start_s) * len(text) / letters))
    marks[-1] = end_s
    return list(pairwise(marks))
