"""`dictate words heard` and `dictate words learn`: what corrections tell of the hearing, and what they could
teach. EDGE."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from typing import Any

from dictate.commands import DONE
from dictate.commands.keep import open_library
from dictate.language.counted import counted
from dictate.learn import KindHeard, Proposal, accept, decline, hearing_of, proposals_of, reviewed
from dictate.note import Note
from dictate.personal import WordsError
from dictate.personal.store import change_own, load_own
from dictate.pipeline import known_with
from dictate.show import columns_across, show_lines, show_table, tell

_ANSWERS = "y yes, n no (not asked again until it is seen again), Enter later, q stop"
_WIDE = 100  # columns from which mishearings stand in the table


def _all_notes(options: argparse.Namespace) -> tuple[Note, ...]:
    with open_library(options) as library:
        return library.notes(library.find().numbers)


def run_heard(options: argparse.Namespace) -> int:
    """Shows how each kind is heard; the exit code. Raises LibraryError, WordsError, OSError."""
    notes = _all_notes(options)
    looked_at = reviewed(notes)
    if not looked_at:
        show_lines(["No note was put right yet, so nothing is known of the hearing; see: dictate review"])
        return DONE
    kinds = hearing_of(notes, known_with(load_own()))
    wide = columns_across() >= _WIDE
    show_table(
        f"How each kind was heard, in {counted(len(looked_at), 'note')} that you looked at",
        heads=("", "values", "right", "changed", "missing", "taken out", *(["heard for"] if wide else [])),
        rows=[(*_numbers(kind), *([_misheard(kind, 3)] if wide else [])) for kind in kinds],
        foot=(),
    )
    if not wide:
        show_lines(f"{kind.kind}: {_misheard(kind, 3)}" for kind in kinds if kind.misheard)
    return DONE


def _numbers(kind: KindHeard) -> tuple[str, ...]:
    counts = kind.values, kind.changed, kind.missing, kind.taken_out
    return kind.kind, str(counts[0]), f"{kind.right:.0%}", *map(str, counts[1:])


def _misheard(kind: KindHeard, most: int) -> str:
    return "; ".join(
        f"“{heard}” for {meant}" + (f" ({times} times)" if times > 1 else "")
        for heard, meant, times in kind.misheard[:most]
    )


def run_learn(options: argparse.Namespace) -> int:
    """Shows each proposal and asks; the exit code. Raises LibraryError, WordsError, OSError."""
    notes = _all_notes(options)
    proposals = proposals_of(notes, known_with(load_own()))
    if not proposals:
        show_lines(["Nothing new to learn from what you put right."])
        return DONE
    if options.yes:
        for proposal in proposals:
            _take(proposal, accept, told="learnt")
    elif sys.stdin is None or not sys.stdin.isatty():
        show_lines(f"{n}. {proposal.text}" for n, proposal in enumerate(proposals, 1))
        tell("nobody is there to ask, so nothing was learnt; --yes accepts all of it")
    else:
        _ask(proposals)
    return DONE


def _ask(proposals: Sequence[Proposal]) -> None:
    """Each in turn; what was answered is kept at once."""
    show_lines([f"{counted(len(proposals), 'thing')} could be learnt. {_ANSWERS}"])
    for number, proposal in enumerate(proposals, 1):
        show_lines([f"{number}. {proposal.text}"])
        while True:
            print("   [y/n/Enter/q] ", end="", file=sys.stderr, flush=True)  # noqa: T201
            line = sys.stdin.readline()
            answer = line.strip().lower()
            if not line or answer in ("q", "quit"):
                return
            if answer in ("y", "yes"):
                _take(proposal, accept, told="learnt")
            elif answer in ("n", "no"):
                _take(proposal, decline, told="not learnt")
            elif answer:
                show_lines([_ANSWERS])
                continue
            break


def _take(proposal: Proposal, how: Callable[..., Any], *, told: str) -> None:
    """One that can't be kept (too many forms, say) doesn't stop the others."""
    try:
        change_own(lambda own: how(proposal, own))
    except WordsError as error:
        tell(f"{proposal.text}: {error}")
        return
    show_lines([f"{told}: {proposal.text}"])
