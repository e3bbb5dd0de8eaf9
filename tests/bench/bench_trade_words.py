"""Trade-word errors: terms drawn at random, in sentences, by machine voices; raw and with everything on.

    python tests/bench/bench_trade_words.py --set tune                        # clean
    python tests/bench/bench_trade_words.py --set measure --snr clean 15 --keep /tmp/kept-words --processes 2

Raw: the recogniser alone, with no prompt, no biasing, no repair. On: what the program does; "biased" is on
before repair. A term is recognised when the words mention its entry (tests/bench/terms.py). "ratio" is errors
on / errors raw; its 95 % interval is by bootstrap over terms. With --keep, what was heard is kept: a run that
was stopped goes on, and repair alone is measured in seconds; --again on hears anew after the recogniser was
changed. --part quarter: each sentence by one voice, in turn; half: by two. Tune with
`tune`; `measure` is for the figures alone, therefore --verbose lists errors of `tune` only. Speech is made
beforehand by tests/bench/make_speech.py. About 1.2 s of a core for an utterance and mode (base weights).
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.lexicon import load_lexicon  # noqa: E402
from dictate.values import Word  # noqa: E402
from tests.bench.heard import MODES, Kept, as_text, hear_all, repaired  # noqa: E402
from tests.bench.spoken import PARTS, VOICES, Utterance, term_utterances  # noqa: E402
from tests.bench.terms import mentioned  # noqa: E402

DRAWS = 2000  # bootstrap


@dataclass(frozen=True, slots=True)
class Result:
    """One utterance: was its term recognised, raw and on?"""

    utterance: Utterance
    raw: bool
    biased: bool  # on, before repair
    on: bool
    heard: str  # raw
    then: str  # on
    steps: str
    spent_s: tuple[float, float, float]  # recognition raw, recognition on, repair


def judge(utterance: Utterance, kept: Kept) -> Result | None:
    """The result of what is kept, or None where it was not heard."""
    raw, on = (kept.get(mode, utterance.key) for mode in MODES)
    if raw is None or on is None:
        return None
    began = time.process_time()
    mended = on.repaired
    spent_s = time.process_time() - began

    def right(words: Sequence[Word]) -> bool:
        return mentioned(words, utterance.term, kind=utterance.kind, lexicon=load_lexicon())

    steps = as_text(mended.steps)
    return Result(
        utterance,
        right(raw.words),
        right(on.twice),
        right(mended.words),
        _text(raw.words),
        _text(mended.words),
        steps,
        (raw.spent_s, on.spent_s, spent_s),
    )


def _text(words: Sequence[Word]) -> str:
    return " ".join(w.text for w in words)


def interval(results: Sequence[Result]) -> tuple[float, float]:
    """95 % interval of errors on / errors raw, by bootstrap over terms (percentiles of 2000 draws)."""
    by_term: dict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0])
    for r in results:
        sums = by_term[r.utterance.kind, r.utterance.term]
        sums[0] += not r.raw
        sums[1] += not r.on
    terms, chance, ratios = list(by_term.values()), random.Random(0), []
    for _ in range(DRAWS):
        drawn = chance.choices(terms, k=len(terms))
        raw = sum(t[0] for t in drawn)
        ratios.append(sum(t[1] for t in drawn) / raw if raw else 0.0)
    ratios.sort()
    return ratios[round(DRAWS * 0.025)], ratios[round(DRAWS * 0.975) - 1]


def row(name: str, groups: Sequence[Sequence[Result]]) -> str:
    """A line of the table: for each condition n, error rate raw, on before repair, on, and the ratio."""
    cells = [f"{name:28}"]
    for results in groups:
        n = len(results)
        raw, biased, on = (sum(not getattr(r, k) for r in results) for k in ("raw", "biased", "on"))
        share = f"{on / raw:5.2f}" if raw else "    -"
        cells.append(f"{n:5} {_rate(raw, n)} {_rate(biased, n)} {_rate(on, n)} {share}")
    return " |".join(cells)


def _rate(errors: int, count: int) -> str:
    return f"{errors / count:6.1%}" if count else "     -"


def table(conditions: Sequence[str], groups: Sequence[Sequence[Result]]) -> None:
    """Errors by kind and by voice, all conditions side by side."""
    print(" |".join([f"{'':28}", *(f"{c:^34}" for c in conditions)]))
    print(
        " |".join(
            [f"{'':28}", *(f"{'n':>5} {'raw':>6} {'biased':>6} {'on':>6} {'ratio':>5} " for _ in groups)]
        )
    )
    for name, of in (("by kind", lambda r: r.utterance.kind), ("by voice", lambda r: r.utterance.voice)):
        _part(name, of, groups)
    print(row("all", groups))
    for condition, results in zip(conditions, groups, strict=True):
        if results:
            low, high = interval(results)
            print(f"{condition}: ratio on / raw 95 % interval over terms {low:.2f} to {high:.2f}")


def _part(name: str, of: Callable[[Result], str], groups: Sequence[Sequence[Result]]) -> None:
    names = dict.fromkeys(of(r) for results in groups for r in results)
    print(f"-- {name}")
    for one in sorted(names):
        print(row(one, [[r for r in results if of(r) == one] for results in groups]))


def times(results: Sequence[Result]) -> None:
    """Processor time of recognition and of repair."""
    raw, on, repair = (sum(r.spent_s[k] for r in results) for k in range(3))
    print(
        f"processor time of {len(results)} utterances: recognition raw {raw:.0f} s, on {on:.0f} s, "
        f"repair {repair:.2f} s = {repair / on:.2%} of recognition"
        if on
        else "no time taken"
    )


def worst(results: Sequence[Result]) -> None:
    """Every term that is missed with everything on, the most often missed first, and what was damaged."""
    missed: Counter[tuple[str, str]] = Counter()
    for r in results:
        missed[r.utterance.kind, r.utterance.term] += not r.on
    by_term = defaultdict(list)
    for r in results:
        by_term[r.utterance.kind, r.utterance.term].append(r)
    for key, count in missed.most_common():
        if count:
            print(f"\n{key[1]} ({key[0]}): {count} of {len(by_term[key])} missed")
            for r in by_term[key]:
                mark = "ok  " if r.on else "MISS"
                print(f"  {mark} {r.utterance.key}\n       raw: {r.heard}\n       on:  {r.then}  [{r.steps}]")
    print("\nright raw, wrong on:")
    for r in results:
        if r.raw and not r.on:
            print(f"  {r.utterance.key}\n       raw: {r.heard}\n       on:  {r.then}  [{r.steps}]")


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--set", choices=("tune", "measure"), default="tune")
    parser.add_argument("--snr", nargs="+", default=["clean"], metavar="DB", help="clean, or dB of babble")
    parser.add_argument("--voices", nargs="+", default=list(VOICES))
    parser.add_argument("--limit", type=int, metavar="N", help="the first N terms (they are in random order)")
    parser.add_argument("--part", choices=PARTS, default="all", help="of the voices for each sentence")
    parser.add_argument("--made-only", action="store_true", help="only what the voices have said already")
    parser.add_argument("--keep", type=Path, metavar="FOLDER")
    parser.add_argument("--kept-only", action="store_true", help="only what has been heard: no recogniser")
    parser.add_argument("--again", nargs="+", choices=MODES, default=[], help="forget what was kept of these")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--verbose", action="store_true", help="list errors (set tune only)")
    return parser.parse_args()


def chosen(args: argparse.Namespace, snr: str) -> list[Utterance]:
    """The utterances of one condition."""
    snr_db = None if snr == "clean" else float(snr)
    found = term_utterances(args.set, VOICES, snr_db=snr_db, part=args.part)
    terms = list(dict.fromkeys((u.kind, u.term) for u in term_utterances(args.set, VOICES)))
    wanted = set(terms[: args.limit] if args.limit else terms)
    return [
        u
        for u in found
        if u.voice in args.voices and (u.kind, u.term) in wanted and (u.made or not args.made_only)
    ]


def main() -> None:
    """Hear, judge, print."""
    args = arguments()
    if args.verbose and args.set == "measure":
        raise SystemExit("the measure set is not looked at: --verbose goes with --set tune")
    kept = Kept(args.keep, again=args.again)
    groups = [chosen(args, snr) for snr in args.snr]
    together = [u for group in groups for u in group]
    if not args.kept_only:
        hear_all(together, kept, processes=args.processes, modes=MODES)
    if others := kept.of_other_code([u.key for u in together]):
        print(f"note: {others} utterances were heard by other code than there is now (--again on hears anew)")
    began = time.process_time()
    repaired([Word("hello", 0.0, 0.5)])
    print(f"repair's index built in {time.process_time() - began:.2f} s of processor time")
    results = [[r for u in group if (r := judge(u, kept))] for group in groups]
    table(args.snr, results)
    times([r for group in results for r in group])
    if args.verbose:
        worst([r for group in results for r in group])


if __name__ == "__main__":
    main()
