"""The second hearing's steps weighed once more, now that all that was said is known. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from dictate.lexicon.entries import spelled
from dictate.phonetics.terms import TermSounds
from dictate.repair.line import NAMES, Line
from dictate.repair.windows import Found
from dictate.values import Step

_PUNCTUATION = ",.;:?!"


def believed(again: Sequence[Step], line: Line, *, least: float) -> tuple[list[Step], list[Step]]:
    """The steps that stand, and those that don't: one that would lose a term which was heard ("toffee" for
    "coffee") needs a probability of `least`. `line`: of the words before these steps."""
    stand: list[Step] = []
    fall: list[Step] = []
    for step in again:
        sure = step.score >= least or not _loses(step, line)
        (stand if sure else fall).append(step)
    return stand, fall


def _loses(step: Step, line: Line) -> bool:
    """Does a step take away a term, or a word of it? Names that are misheard for things ("barrel low")
    do so where a wine is being named."""
    if all(line.naming[step.first : step.last]):
        return False
    after = "".join(spelled(" ".join(step.after)))
    return any(not all(key in after for key in keys) for keys in line.heard_terms(step.first, step.last))


def named_after_all(
    line: Line, refused: Sequence[Step], *, origins: Sequence[int], sounds: TermSounds, least: float
) -> Iterator[Found]:
    """Names often spoken of that the second hearing refused, breath group by breath group, not knowing that
    a wine is being named there ("next wine, number six, // Barrelo")."""
    place = {origin: index for index, origin in enumerate(origins)}
    for step in refused:
        said = tuple(word.strip(_PUNCTUATION) for word in step.after)
        target = sounds.by_text.get(" ".join(said).lower())
        if step.score < least or target is None or target.kind not in NAMES or not target.often:
            continue
        first, last = place.get(step.first, -1), place.get(step.last - 1, -2) + 1
        heard = tuple(word.text for word in line.words[first:last]) if 0 <= first < last else ()
        if heard == step.before and all(line.naming[first:last]) and line.open(first, last):
            reason = f"named here: {target.text}"
            yield Found(first, last, tuple(target.text.split()), target.kind, step.score, reason)
