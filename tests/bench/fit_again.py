"""Fits the weights of the second hearing ([again] in repair.toml), from sound to the lines to paste.

    python tests/bench/fit_again.py --keep /tmp/kept-again [--processes 2] [--lines 140] [--part half]

1. Hears the tuning half's sentences with a term, clean and at 15 dB of babble, its sentences without trade
   meaning, both ways too, and lines of tests/corpus/dev, with everything on; keeps what was proposed and how
   well the sound fits it, one JSON line an utterance, so that a run that was stopped goes on.
2. Fits a logistic regression (see fit_cues.py): a row is a proposal, its outcome whether the breath group has
   fewer word errors with it (jiwer, behind the Whisper paper's normaliser). Rows of all are alike.
3. Prints the weights, then word errors as heard, and with what the second hearing would put in place by
   threshold (* the program's): with the weights as they stand and as fitted, cross-validated by utterance.

About 4 s of a core for an utterance: 30 minutes of two for all.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, fields, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import jiwer
import numpy as np

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.lexicon import load_lexicon  # noqa: E402
from dictate.pipeline import sounds_of  # noqa: E402
from dictate.recognise.weights import find_listeners  # noqa: E402
from dictate.recognise.whisper import WhisperRecogniser  # noqa: E402
from dictate.repair import Decided, Proposal, RepairTable, SecondHearing, replay  # noqa: E402
from dictate.values import Word  # noqa: E402
from tests.bench.bench_damage import plain  # noqa: E402
from tests.bench.bench_listeners import notes_lines  # noqa: E402
from tests.bench.crowd import work_through  # noqa: E402
from tests.bench.fit_cues import fit, folds_of  # noqa: E402
from tests.bench.heard import repairs  # noqa: E402
from tests.bench.kept import KeptRows  # noqa: E402
from tests.bench.spoken import (  # noqa: E402
    PARTS,
    VOICES,
    Utterance,
    ordinary_utterances,
    recording_of,
    term_utterances,
)

GAIN_UNKNOWN = -20.0  # of what was not proposed when it was heard
THRESHOLDS = (0.2, 0.3, 0.35, 0.4, 0.45, 0.5, 0.6)


def hearing_with(weights: RepairTable) -> SecondHearing:
    """A second hearing by these weights."""
    return SecondHearing(load_lexicon(), sounds_of(load_lexicon()), table=weights)


class Watched(SecondHearing):
    """The second hearing, which tells what it was asked."""

    def __init__(self) -> None:
        super().__init__(load_lexicon(), sounds_of(load_lexicon()), table=repairs())
        self.asked: list[dict[str, Any]] = []
        self._others: tuple[str, ...] = ()

    def propose(self, words: Sequence[Word], others: Sequence[str] = ()) -> tuple[Proposal, ...]:
        """As it is, and the other texts are kept."""
        self._others = tuple(others)
        return super().propose(words, others)

    def decide(
        self, words: Sequence[Word], proposals: Sequence[Proposal], *, gains: Sequence[float]
    ) -> Decided:
        """As it is, and the gains are kept."""
        told = [[p.first, p.last, p.target.text, g] for p, g in zip(proposals, gains, strict=True)]
        self.asked.append({"words": [asdict(w) for w in words], "others": self._others, "gains": told})
        return super().decide(words, proposals, gains=gains)


@dataclass(frozen=True, slots=True)
class Case:
    """One breath group that was heard again."""

    key: str
    truth: str
    words: tuple[Word, ...]
    proposals: tuple[Proposal, ...]
    gains: tuple[float, ...]

    def errors(self, words: Sequence[Word]) -> int:
        """Words wrong, missing or too many."""
        return errors(self.truth, " ".join(w.text for w in words))

    def outcomes(self, hearing: SecondHearing) -> list[bool]:
        """For each proposal whether it makes the text better."""
        now = self.errors(self.words)
        return [errors(self.truth, hearing.hypothesis(self.words, p)) < now for p in self.proposals]


def errors(truth: str, heard: str) -> int:
    """Word errors of a text."""
    true, said = plain(truth), plain(heard)
    if not true or not said:
        return max(len(true), len(said))
    found = jiwer.process_words(" ".join(true), " ".join(said))
    return int(found.substitutions + found.deletions + found.insertions)


def utterances(lines: int, part: Any) -> list[Utterance]:
    """All that is heard, in a drawn order: a run that is cut short is fair."""
    ways = (None, 15.0)
    wanted = [
        *(u for snr in ways for u in term_utterances("tune", VOICES, snr_db=snr, part=part)),
        *(u for snr in ways for u in ordinary_utterances("tune", VOICES, snr_db=snr)),
        *notes_lines(lines),
    ]
    random.Random(3).shuffle(wanted)
    return wanted


@lru_cache(maxsize=1)
def _model() -> tuple[WhisperRecogniser, Watched]:
    watched = Watched()
    return WhisperRecogniser(find_listeners(), threads=1, again=watched), watched


def hear(utterance: Utterance) -> dict[str, Any]:
    """What the second hearing was asked of an utterance."""
    model, watched = _model()
    watched.asked = []
    model.recognise(recording_of(utterance))
    return {"key": utterance.key, "truth": utterance.text, "asked": watched.asked}


def cases(rows: Sequence[Mapping[str, Any]], hearing: SecondHearing) -> Iterator[Case]:
    """Utterances of one breath group, with what is proposed now; gains as heard."""
    for row in rows:
        if len(row["asked"]) != 1:
            continue
        (one,) = row["asked"]
        words = tuple(Word(**w) for w in one["words"])
        known = {(first, last, text): gain for first, last, text, gain in one["gains"]}
        found = hearing.propose(words, one["others"])
        gains = tuple(known.get((p.first, p.last, p.target.text), GAIN_UNKNOWN) for p in found)
        yield Case(row["key"], row["truth"], words, found, gains)


def weighed(names: Sequence[str], weights: Sequence[float]) -> RepairTable:
    """The program's table with other weights."""
    now = repairs()
    return replace(now, again=replace(now.again, **dict(zip(names, map(float, weights), strict=True))))


def with_steps(some: Sequence[Case], using: RepairTable, *, at_least: float) -> tuple[int, int]:
    """Word errors with what is put in place, and how many breath groups have become worse."""
    again = replace(using.again, at_least=at_least)
    hearing = hearing_with(replace(using, again=again))
    sums = [0, 0]
    for case in some:
        steps = hearing.decide(case.words, case.proposals, gains=case.gains).steps
        now = case.errors(replay(case.words, steps))
        sums[0] += now
        sums[1] += now > case.errors(case.words)
    return sums[0], sums[1]


def main() -> None:
    """Hear what is not kept, fit, print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--keep", type=Path, required=True, metavar="FOLDER")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--lines", type=int, default=140)
    parser.add_argument("--part", choices=PARTS, default="half")
    parser.add_argument("--kept-only", action="store_true", help="fit on what has been heard so far")
    args = parser.parse_args()
    kept = KeptRows(args.keep / "again.jsonl")
    wanted = utterances(args.lines, args.part)
    todo = [] if args.kept_only else [u for u in wanted if u.key not in kept.rows]
    for row in work_through(hear, todo, processes=args.processes):
        kept.put(row)
    hearing = hearing_with(repairs())
    found = list(cases([kept.rows[u.key] for u in wanted if u.key in kept.rows], hearing))
    names = list(found[0].proposals[0].features(0.0)) if found else []
    assert set(names) <= {f.name for f in fields(repairs().again)}, "a weight without a place"
    rows = {
        c.key: np.array(
            [list(p.features(g).values()) for p, g in zip(c.proposals, c.gains, strict=True)]
        ).reshape(-1, len(names))
        for c in found
    }
    meant = {c.key: np.array(c.outcomes(hearing), dtype=bool) for c in found}

    def fitted(some: Sequence[Case]) -> Any:
        of, true = (np.concatenate([part[c.key] for c in some]) for part in (rows, meant))
        return fit(of, true, weights=np.ones(len(of)))

    count, good = sum(map(len, meant.values())), sum(int(m.sum()) for m in meant.values())
    print(f"{len(found)} breath groups, {count} proposals, {good} of them right")
    for name, weight in zip(names, fitted(found), strict=True):
        print(f"{name} = {weight:.3f}")
    fold = folds_of(c.truth for c in found)
    print(f"word errors as heard: {sum(c.errors(c.words) for c in found)}; then, and groups made worse:")
    for at_least in THRESHOLDS:
        row = [f"{at_least:.2f}{'*' if at_least == repairs().again.at_least else ' '}"]
        row.append("as they stand {}, {}".format(*with_steps(found, repairs(), at_least=at_least)))
        sums = np.zeros(2, dtype=int)
        for n in sorted(set(fold.values())):
            using = weighed(names, fitted([c for c in found if fold[c.truth] != n]))
            sums += with_steps([c for c in found if fold[c.truth] == n], using, at_least=at_least)
        print("; ".join([*row, "fitted {}, {}".format(*sums)]), flush=True)


if __name__ == "__main__":
    main()
