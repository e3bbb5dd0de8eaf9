"""Fits the cue spotter's weights (WEIGHTS in dictate/cues/spotting.py), from sound to the line to paste.

    python tests/bench/fit_cues.py --keep /tmp/kept-cues --processes 2
    python tests/bench/fit_cues.py --keep /tmp/kept-cues --check

1. Hears the material of cue_evidence.py (the halves "choose" and "explore" of the bench of clocks, "choose"
   of that of false cues, short remarks, an hour without speech) and keeps the evidence, one JSON line a
   recording, at once: a run that was stopped goes on. After a change of `audio/`, `recognise/` or
   `candidates`: --again. After a change of `Evidence.features` alone nothing is heard anew.
2. Fits a logistic regression: a row is a candidate, its outcome whether it is what was said. Left out: what
   is written as a cue already (the spotter never weighs it), and the cue "begin" (its sentence goes on).
3. Prints the weights, then what the spotter would find by threshold (* the program's): with the weights as
   they stand, as fitted (in sample), and cross-validated, each recording by weights fitted without it. Texts
   and voices come back in other recordings, so even this is kinder than the half "report", which is not
   touched. A stretch counts once, by its likeliest candidate.

--check: exit code 1 unless WEIGHTS are those fitted. Speech is made first and cached in the temp folder (a
quarter of an hour of a core); hearing takes about two hours of a core, the fit a second.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import expit

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.cues import CUE_PHRASES, plain, without_fillers  # noqa: E402
from dictate.cues.spotting import AT_LEAST, WEIGHTS  # noqa: E402
from dictate.recognise.whisper import is_without_speech  # noqa: E402
from tests.bench.cue_evidence import KINDS, Kept, Kind, Weighed, pieces, weigh_all  # noqa: E402
from tests.bench.false_judge import cues_in_text  # noqa: E402

# Of a row. Sentences and remarks are many and chosen to tempt: whole, they would cost cues that were said.
WEIGHT_OF: dict[Kind, float] = {"clock": 1.0, "said": 0.3, "short": 0.3, "silent": 1.0}
STRENGTH = 1.0  # of the penalty
FOLDS = 5
THRESHOLDS = (0.4, 0.5, AT_LEAST, 0.7, 0.8)
NEAR = 0.02  # WEIGHTS are written with two decimals
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Case:
    """A stretch that the spotter weighs. `script`: of its recording."""

    kind: Kind
    script: str
    stretch: Weighed

    @property
    def features(self) -> Floats:
        """Shape (candidates, features)."""
        return np.array([e.features for e in self.stretch.evidence])

    @property
    def meant(self) -> NDArray[np.bool_]:
        """Shape (candidates,): which is what was said."""
        said = plain(self.stretch.said) if self.stretch.cue else None
        return np.array([e.candidate.phrase == said for e in self.stretch.evidence])


def is_written(stretch: Weighed) -> bool:
    """Whether the recogniser wrote a cue of itself."""
    return without_fillers(plain(stretch.free)) in CUE_PHRASES


def cases_of(kind: Kind, script: str, *, stretches: Iterable[Weighed]) -> list[Case]:
    """The stretches of a recording that count."""
    counted = (s for s in stretches if s.evidence and s.cue != "begin" and not is_written(s))
    return [Case(kind, script, s) for s in counted]


def fit(features: Floats, meant: NDArray[np.bool_], *, weights: Floats, strength: float = STRENGTH) -> Floats:
    """Logistic regression. `features`: shape (n, k), the last column 1 (the bias); `meant`, `weights`: (n,).
    Returns weights (k,) of the features as they are. Minimises the weighted log-loss plus strength / 2 times
    the squared weights of the standardised features, the bias free (ridge logistic regression: le Cessie
    and van Houwelingen, 1992). Raises ValueError where all outcomes are the same."""
    if meant.all() or not meant.any():
        raise ValueError("rows of both outcomes are needed: too few recordings")
    mean, spread = features.mean(axis=0), features.std(axis=0)
    mean[-1] = 0
    spread[spread == 0] = 1  # the bias, and a feature that never varies
    scaled = (features - mean) / spread
    free = np.append(np.ones(features.shape[1] - 1), 0) * strength

    def loss(w: Floats) -> tuple[float, Floats]:
        z = scaled @ w
        value = weights @ (np.logaddexp(0, z) - meant * z) + (free * w) @ w / 2
        return float(value), scaled.T @ (weights * (expit(z) - meant)) + free * w

    found = minimize(loss, np.zeros(features.shape[1]), jac=True, method="L-BFGS-B").x / spread
    found[-1] -= found[:-1] @ mean[:-1]
    return np.asarray(found)


def fitted(cases: Sequence[Case]) -> Floats:
    """The weights that these cases give. Raises ValueError: see `fit`."""
    if not cases:
        raise ValueError("nothing to fit: too few recordings")
    return fit(
        np.concatenate([c.features for c in cases]),
        np.concatenate([c.meant for c in cases]),
        weights=np.concatenate([np.full(len(c.stretch.evidence), WEIGHT_OF[c.kind]) for c in cases]),
    )


def chances(cases: Sequence[Case], weights: Floats | Sequence[float]) -> list[Floats]:
    """The probability of each candidate of each case."""
    return [np.asarray(expit(c.features @ np.asarray(weights))) for c in cases]


def folds_of(scripts: Iterable[str], *, count: int = FOLDS) -> dict[str, int]:
    """Which fold each script is left out in: as many in each, drawn, always the same."""
    order = sorted(set(scripts))
    random.Random(1).shuffle(order)
    return {script: place % count for place, script in enumerate(order)}


def cross_validated(cases: Sequence[Case]) -> list[Floats]:
    """The probability of each candidate of each case by weights fitted without that recording. Raises
    ValueError: see `fit`."""
    fold = folds_of(c.script for c in cases)
    by_fold = {n: fitted([c for c in cases if fold[c.script] != n]) for n in sorted(set(fold.values()))}
    return [chances([c], by_fold[fold[c.script]])[0] for c in cases]


@cache
def kind_of(phrase: str) -> str:
    """The kind of cue that a phrase is, by the grammar."""
    (cue,) = cues_in_text(f"{phrase}.", running=True)
    return cue.kind


def outcome(case: Case, chance: Floats, *, at_least: float) -> str:
    """hit, miss, wrong (another kind of cue), false (none was said) or still (none said, none found)."""
    one, best = case.stretch, int(np.argmax(chance))
    unheard = is_without_speech(silence=one.silence, score=one.score)
    found = None if unheard or chance[best] < at_least else kind_of(one.evidence[best].candidate.phrase)
    if one.cue is None:
        return "false" if found else "still"
    return "hit" if found == one.cue else "wrong" if found else "miss"


def print_table(title: str, cases: Sequence[Case], *, chance: Sequence[Floats]) -> None:
    """What would be found, by threshold; false cues by the kind of recording."""
    print(f"\n{title}\nat least  hit miss wrong   false: " + " ".join(f"{k:>6}" for k in KINDS))
    for at_least in THRESHOLDS:
        judged = [(c.kind, outcome(c, p, at_least=at_least)) for c, p in zip(cases, chance, strict=True)]
        count, false = Counter(o for _, o in judged), Counter(k for k, o in judged if o == "false")
        now = "*" if at_least == AT_LEAST else " "
        row = f"{at_least:7.2f}{now} {count['hit']:5}{count['miss']:5}{count['wrong']:6}"
        print(f"{row}   {count['false']:6} " + " ".join(f"{false[k]:6}" for k in KINDS))


def print_material(cases: Sequence[Case], stretches: Sequence[Weighed]) -> None:
    """What there is to fit on, and cues that the spotter never weighs."""
    for kind in KINDS:
        own = [c for c in cases if c.kind == kind]
        cues = sum(c.stretch.cue is not None for c in own)
        rows = sum(len(c.stretch.evidence) for c in own)
        print(f"{kind:>6}: {len(own)} stretches, {cues} with a cue, {rows} rows of weight {WEIGHT_OF[kind]}")
    said = [s for s in stretches if s.cue and s.cue != "begin"]
    written = sum(map(is_written, said))
    beyond = sum(not s.evidence and not is_written(s) for s in said)
    print(f"beside these {written} cues are written as such already, {beyond} have no candidate to weigh")


def differs(weights: Sequence[float] | Floats) -> bool:
    """Whether WEIGHTS are others than these."""
    return len(weights) != len(WEIGHTS) or bool(np.abs(np.subtract(weights, WEIGHTS)).max() > NEAR)


def report(cases: Sequence[Case]) -> Floats:
    """Fit and print. Returns the weights. Raises ValueError: see `fit`."""
    weights = fitted(cases)
    print(f"\nWEIGHTS = ({', '.join(f'{w:.2f}' for w in weights)})")
    print(f"as they stand: ({', '.join(f'{w:.2f}' for w in WEIGHTS)})")
    if len(WEIGHTS) == len(weights):
        print_table("weights as they stand", cases, chance=chances(cases, WEIGHTS))
    print_table("as fitted, in sample", cases, chance=chances(cases, weights))
    try:
        print_table(f"cross-validated, {FOLDS} folds", cases, chance=cross_validated(cases))
    except ValueError as error:
        print(f"\nnot cross-validated: {error}")
    return weights


def arguments() -> argparse.Namespace:
    """The options."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--keep", type=Path, metavar="DIR", required=True)
    parser.add_argument("--limit", type=int, metavar="N", help="the first N recordings of each kind")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--again", action="store_true", help="forget what was kept")
    parser.add_argument("--check", action="store_true", help="exit code 1 unless WEIGHTS are those fitted")
    return parser.parse_args()


def main() -> None:
    """Hear what is not kept, fit, print."""
    args = arguments()
    kept, chosen = Kept(args.keep, again=args.again), pieces(args.limit)
    weigh_all(chosen, kept, processes=args.processes)
    if others := kept.of_other_code(chosen):
        print(f"note: {others} recordings were heard by other code than there is now (--again hears anew)")
    heard = [(piece, kept.get(piece) or ()) for piece in chosen]
    cases = [c for p, stretches in heard for c in cases_of(p.kind, p.script, stretches=stretches)]
    print_material(cases, [s for _, stretches in heard for s in stretches])
    try:
        weights = report(cases)
    except ValueError as error:
        raise SystemExit(str(error)) from None
    if args.check and differs(weights):
        raise SystemExit("WEIGHTS in dictate/cues/spotting.py are others than those fitted")


if __name__ == "__main__":
    main()
