"""Ours beside medspacy's ConText on what is denied: agreement, and each against the gold.

    python tests/bench/bench_denial.py [--recorded | --record] [--verbose]

Two sets: ConText's published rules in tasting speech (`tests/extract/context.py`; only those that ask for
denial), and the sentences of our own scope rules. Our rules were mended on both; medspacy's were made for
clinical reports, and its version 1.3.1 ships without pseudo-negations. So the agreement tells where the two
mean the same by a denial, not which is better.

medspacy (MIT, the ConText implementation most used) needs numpy below 2, this project numpy 2: it lives in an
environment of its own, 280 MB, made by

    python3.11 -m venv .venv/medspacy
    .venv/medspacy/bin/python -m pip install -r tests/bench/medspacy.txt

--recorded takes its answers from tests/cases/extract/context_medspacy.json instead; --record writes them
there. Ten seconds. Measures only.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.extract.context import (  # noqa: E402
    MEDSPACY_PYTHON,
    RECORDED,
    Case,
    bracketed,
    cohens_kappa,
    medspacy_denies,
    recorded_denials,
    scopes_of,
    shared_cases,
)
from tests.extract.said import RULES, load_cases  # noqa: E402

PINNED = ROOT / "tests" / "bench" / "medspacy.txt"


def own_cases() -> list[Case]:
    """Examples and counter-sentences of our scope rules that are denied or simply said."""
    examples = [(rule.example, rule.scope, rule.name) for rule in RULES.scope]
    counters = [(c["text"], c["scope"], c["rule"]) for c in load_cases("scope")]
    cases = [bracketed(text, scope, rule=name) for text, scope, name in [*examples, *counters]]
    return [case for case in cases if case.scopes in (("denied",), ("said",))]


def report(name: str, cases: Sequence[Case], *, theirs: Mapping[str, bool], verbose: bool) -> str:
    """Agreement as counts and kappa, and the rate of each."""
    gold = [case.denied for case in cases]
    ours = ["denied" in scopes_of(case) for case in cases]
    other = [theirs[case.marked] for case in cases]
    pairs = Counter(zip(ours, other, strict=True))
    right = [sum(a == b for a, b in zip(judge, gold, strict=True)) for judge in (ours, other)]
    lines = [
        f"{name}: {len(cases)} sentences, {sum(gold)} of them denials",
        f"  both deny {pairs[True, True]}, neither {pairs[False, False]}, "
        f"ours alone {pairs[True, False]}, medspacy alone {pairs[False, True]}: "
        f"kappa {cohens_kappa(ours, other):.3f}",
        f"  right: ours {right[0]} (kappa with gold {cohens_kappa(ours, gold):.3f}), "
        f"medspacy {right[1]} ({cohens_kappa(other, gold):.3f})",
    ]
    if verbose:
        lines += [
            f"    {'denied' if want else 'not denied':10s} ours {one!s:5s} medspacy {two!s:5s} "
            f"{case.marked!r} ({case.rule})"
            for case, want, one, two in zip(cases, gold, ours, other, strict=True)
            if not one == two == want
        ]
    return "\n".join(lines)


def main(arguments: Sequence[str] | None = None) -> None:
    """Ask both, print, write down if asked to."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--recorded", action="store_true", help="medspacy's answers as written down")
    parser.add_argument("--record", action="store_true", help="write medspacy's answers down")
    parser.add_argument("--verbose", action="store_true", help="the sentences on which they differ")
    options = parser.parse_args(arguments)
    sets = {"published rules, translated": shared_cases(), "our own scope sentences": own_cases()}
    every = [case for cases in sets.values() for case in cases]
    if options.recorded:
        theirs = recorded_denials()
    elif MEDSPACY_PYTHON.exists():
        theirs = dict(zip((c.marked for c in every), medspacy_denies(every), strict=True))
    else:
        sys.exit(f"no {MEDSPACY_PYTHON}: make it (see --help), or use --recorded")
    for name, cases in sets.items():
        asked = [case for case in cases if case.marked in theirs]
        if len(asked) < len(cases):
            print(f"{len(cases) - len(asked)} sentences are newer than the record: run with --record")
        print(report(name, asked, theirs=theirs, verbose=options.verbose))
    if options.record:
        version = next(v for v in PINNED.read_text(encoding="utf-8").split() if v.startswith("medspacy=="))
        record = {"by": version, "denied": dict(sorted(theirs.items()))}
        RECORDED.write_text(json.dumps(record, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
