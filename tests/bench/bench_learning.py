"""Corrections a note needs before and after learning, on spoken notes.

    python tests/bench/bench_learning.py ../shared/corpus --keep DIR [--only-kept] [--verbose]
    python tests/bench/bench_learning.py ../shared/corpus --keep DIR --hear-again 10

Each note is spoken by machine voices, heard (what was heard before is used again: --keep) and put right by
its gold answers, as a hand would through the form. From half of the texts (with all their voices and rooms)
the program proposes what to learn; every proposal is accepted. The other half is read anew with what was
learnt, from the same hearings; then the halves change places. What was learnt acts in the rooms alone then
(repair, levels, cues).

Two figures: on other wines (texts of the other half), and on the same wines in the other room (learnt from
the first of --rooms, tested on the last), where names come back. With --hear-again N, N of the latter, drawn,
are also heard anew by the recogniser, whose second hearing then listens for what was learnt: about as long as
the notes last. Corrections are counted by the hand: a value taken out, put in or changed, a clock put right.
About 2 s a note that was heard before.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.doubt import held_values  # noqa: E402
from dictate.learn import Proposal, accept, proposals_of  # noqa: E402
from dictate.lexicon import load_lexicon  # noqa: E402
from dictate.personal.habits import Own  # noqa: E402
from dictate.pipeline import known_with  # noqa: E402
from dictate.settings import Settings, with_own  # noqa: E402
from tests.bench.fit_doubt import halves  # noqa: E402
from tests.bench.gold_hand import put_right  # noqa: E402
from tests.bench.spoken_notes import Case, Heard, add_options, cases, is_right  # noqa: E402


@dataclass(frozen=True, slots=True)
class Told:
    """What learning did to some notes: corrections before and after, and values that were right and are not
    there any more."""

    notes: int
    before: int
    after: int
    harmed: int

    def __add__(self, other: Told) -> Told:
        return Told(*(getattr(self, n) + getattr(other, n) for n in self.__slots__))

    def line(self, name: str) -> str:
        """One line."""
        notes = max(1, self.notes)
        return (
            f"{name}: {self.before / notes:.2f} corrections a note before, {self.after / notes:.2f} after"
            f" ({self.before} and {self.after} in {self.notes} notes; right values lost: {self.harmed})"
        )


def learnt_from(made: Sequence[Case]) -> tuple[Own, tuple[Proposal, ...]]:
    """What is the taster's own when these notes are put right and all that is proposed is accepted."""
    lexicon = load_lexicon()
    own = Own()
    proposals = proposals_of([put_right(case, lexicon)[0] for case in made], known_with(own))
    for proposal in proposals:
        own = accept(proposal, own)
    return own, proposals


def rights(case: Case) -> Counter[str]:
    """How many values of each field are right."""
    return Counter(h.field for h in held_values(case.note) if is_right(h, case))


def compare(before: Sequence[Case], after: Sequence[Case]) -> Told:
    """The same notes, read without and with what was learnt."""
    lexicon = load_lexicon()
    acts = [sum(put_right(case, lexicon)[1] for case in made) for made in (before, after)]
    lost = sum((rights(a) - rights(b)).total() for a, b in zip(before, after, strict=True))
    return Told(len(before), acts[0], acts[1], lost)


def show(proposals: Sequence[Proposal], verbose: bool) -> None:
    """How many of each kind; with `verbose` each."""
    kinds = Counter(p.kind for p in proposals)
    print(f"  {len(proposals)} proposals accepted: {', '.join(f'{n} {k}' for k, n in kinds.items())}")
    for proposal in proposals if verbose else ():
        print(f"    {proposal.text}")


class Bench:
    """All notes as they were first read, and trials of reading some of them with what others taught."""

    def __init__(self, options: argparse.Namespace, heard: Heard, made: Sequence[Case]) -> None:
        self.options, self.heard, self.made = options, heard, made

    def tried(self, name: str, learn: Callable[[Case], bool], test: Callable[[Case], bool]) -> Told:
        """Learn from some notes, read others from the hearings that are kept."""
        own, proposals = learnt_from([case for case in self.made if learn(case)])
        print(f"learnt from {name}")
        show(proposals, self.options.verbose)
        return self._anew([c for c in self.made if test(c)], own, self.heard)

    def hear_again(self, first: str, last: str) -> None:
        """Some of the last room's notes heard anew, with ears for what the first room's taught."""
        own, _ = learnt_from([case for case in self.made if case.room == first])
        there = [case for case in self.made if case.room == last]
        some = random.Random(8).sample(there, min(self.options.hear_again, len(there)))
        ears = Heard(self.options.keep, with_own(Settings(), own))
        asked = argparse.Namespace(**{**vars(self.options), "only_kept": False})
        kept = self._anew(some, own, self.heard)
        print(kept.line(f"{len(some)} of them, as they were heard"))
        heard_anew = self._anew(some, own, ears, options=asked)
        print(heard_anew.line(f"the same {len(some)}, heard anew with ears for what was learnt"))

    def _anew(
        self,
        before: Sequence[Case],
        own: Own,
        heard: Heard,
        *,
        options: argparse.Namespace | None = None,
    ) -> Told:
        wanted = {(c.spoken.name, c.room) for c in before}
        anew = cases(
            options or self.options,
            heard,
            folders=self.options.folders,
            settings=with_own(Settings(), own),
            only=wanted,
        )
        after = {(c.spoken.name, c.room): c for c in anew}
        return compare(before, [after[c.spoken.name, c.room] for c in before])


def main() -> None:
    """Hear, put right, learn, read anew, count."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    add_options(parser)
    parser.add_argument("--hear-again", type=int, default=0, metavar="N", help="notes to hear anew")
    parser.add_argument("--verbose", action="store_true", help="show each proposal")
    options = parser.parse_args()
    heard = Heard(options.keep)
    made = list(cases(options, heard, folders=options.folders))
    if not made:
        sys.exit("no spoken notes; leave out --only-kept to have them heard")

    one, other = halves([case.name for case in made])
    bench = Bench(options, heard, made)
    there = bench.tried("one half", lambda c: c.name in one, lambda c: c.name in other)
    back = bench.tried("the other half", lambda c: c.name in other, lambda c: c.name in one)
    print((there + back).line("other wines"))
    rooms = [room for room in options.rooms if any(c.room == room for c in made)]
    if len(rooms) > 1:
        first, last = rooms[0], rooms[-1]
        told = bench.tried(f"room {first}", lambda c: c.room == first, lambda c: c.room == last)
        print(told.line(f"the same wines again (room {last})"))
        if options.hear_again:
            bench.hear_again(first, last)


if __name__ == "__main__":
    main()
