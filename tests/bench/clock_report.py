"""The figures of bench_clock.py as text."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from dictate.values import Word
from tests.bench.clock_heard import Job
from tests.bench.clock_judge import (
    NEAR_S,
    WRONG_S,
    Judged,
    JudgedClock,
    heard_near,
    plain_clock,
)

KINDS = ("away", "gone", "holding", "begin")
SHOWN_S = 0.05  # --verbose lists what is farther off
CONFIDENCES = (0.0, 0.3, 0.5, 0.7, 0.9, 1.0)


@dataclass(frozen=True, slots=True)
class Result:
    """One recording: what was found, the words heard, and the plain recogniser's (None: it did not run)."""

    job: Job
    judged: Judged
    words: Sequence[Word]
    plain: Sequence[Word] | None


def print_condition(results: Sequence[Result]) -> None:
    """All figures of one condition, each with the count it comes from."""
    clocks = [c for r in results for c in r.judged.clocks]
    if not clocks:
        print("nothing was heard")
        return
    timed = [c for c in clocks if c.finish is not None]
    print(f"clocks {len(clocks)} in {len(results)} recordings, timed {share(len(timed), len(clocks))}")
    _print_cues(results)
    imagined = sum(len(r.judged.imagined) for r in results)
    missed = len(clocks) - len(timed)
    print(f"finishes missed {share(missed, len(clocks))}, imagined {imagined}")
    errors = [c.error_s for c in timed if c.error_s is not None]
    print(f"error of seconds: {spread(errors)}")
    print(f"  wrong by more than {WRONG_S} s: {share(sum(e > WRONG_S for e in errors), len(errors))}")
    _print_missed_by(clocks)
    _print_confidence(timed)
    _print_plain(results)


def _print_cues(results: Sequence[Result]) -> None:
    cues = [c for r in results for c in r.judged.cues]
    false = [f for r in results for f in r.judged.false]
    both = [c for c in cues if c.line.cue in ("away", "gone")]
    cells = []
    for name, chosen in (
        ("away and gone", both),
        *((kind, [c for c in cues if c.line.cue == kind]) for kind in KINDS),
    ):
        cells.append(f"{name} {share(sum(c.found is None for c in chosen), len(chosen))}")
    print(f"cues missed (none found within {NEAR_S} s): " + ", ".join(cells))
    kinds = sorted({f.kind for f in false} | {"away", "gone"})
    print("cues false: " + ", ".join(f"{kind} {sum(f.kind == kind for f in false)}" for kind in kinds))


def _print_missed_by(clocks: Sequence[JudgedClock]) -> None:
    """Where cues and finishes are missed: by phrase, voice and what lies between."""

    def no_away(c: JudgedClock) -> bool:
        return c.away is None

    def no_gone(c: JudgedClock) -> bool:
        return c.gone is None

    def no_number(c: JudgedClock) -> bool:
        return c.finish is None

    for name, of, missed in (
        ("away cues missed by phrase", lambda c: c.clock.away, no_away),
        ("gone cues missed by phrase", lambda c: c.clock.gone, no_gone),
        ("away cues missed by voice", lambda c: c.voice, no_away),
        ("gone cues missed by voice", lambda c: c.voice, no_gone),
        ("finishes missed by voice", lambda c: c.voice, no_number),
        ("finishes missed", lambda c: "with talk" if c.clock.talk else "without talk", no_number),
    ):
        print(f"{name}: {_shares(clocks, of, missed)}")


def _shares(
    clocks: Iterable[JudgedClock], of: Callable[[JudgedClock], str], missed: Callable[[JudgedClock], bool]
) -> str:
    groups: dict[str, list[bool]] = defaultdict(list)
    for clock in clocks:
        groups[of(clock)].append(missed(clock))
    return "; ".join(f"{name} {share(sum(found), len(found))}" for name, found in sorted(groups.items()))


def _print_confidence(timed: Sequence[JudgedClock]) -> None:
    print("confidence of the finish against its error:")
    for low, high in zip(CONFIDENCES, CONFIDENCES[1:], strict=False):
        errors = [
            c.error_s
            for c in timed
            if c.finish is not None
            and c.error_s is not None
            and (low <= c.finish.confidence < high or c.finish.confidence == high == 1.0)
        ]
        print(f"  {low:.1f} to {high:.1f}: {spread(errors)}")


def _print_plain(results: Sequence[Result]) -> None:
    """The same clocks by the plain recogniser's word times."""
    found = [
        (clock, times)
        for r in results
        if r.plain is not None
        for clock in (c.clock for c in r.judged.clocks)
        for times in [plain_clock(clock, words=r.plain)]
    ]
    if not found:
        return
    missed = {
        kind: sum(t is None or abs(t - true) > NEAR_S for t, true in times)
        for kind, times in (
            ("away", [(t[0], c.away_s) for c, t in found]),
            ("gone", [(t[1], c.gone_s) for c, t in found]),
        )
    }
    errors = [
        abs(gone - away - clock.seconds)
        for clock, (away, gone) in found
        if away is not None and gone is not None
    ]
    n = len(found)
    both = share(sum(missed.values()), 2 * n)
    each = ", ".join(f"{kind} {share(count, n)}" for kind, count in missed.items())
    wrong = share(sum(e > WRONG_S for e in errors), len(errors))
    print(f"plain recogniser: cues missed (by the same {NEAR_S} s): away and gone {both}, {each}")
    print(f"  both cues written: {share(len(errors), n)}; error of seconds: {spread(errors)}")
    print(f"  wrong by more than {WRONG_S} s: {wrong}")


def print_misses(results: Sequence[Result]) -> None:
    """Every cue missed, false cue, and finish missed, wrong or imagined, with the words heard there."""
    for r in results:
        where = f"{r.job.session.name} {r.job.condition} {r.job.session.voice}"
        for cue in r.judged.cues:
            if cue.found is None:
                line = cue.line
                print(
                    f'MISS {where} {line.start_s:.2f} s {line.cue} "{line.say}": '
                    f"{heard_near(r.words, line.start_s)}"
                )
        for false in r.judged.false:
            print(
                f'FALSE {where} {false.onset_s:.2f} s {false.kind} "{false.text}": '
                f"{heard_near(r.words, false.onset_s)}"
            )
        for c in r.judged.clocks:
            if c.finish is None:
                print(f"NO NUMBER {where} {c.clock.away_s:.2f} s: {_what(c)}")
            elif c.error_s is not None and c.error_s > SHOWN_S:
                early, late = c.finish.from_s - c.clock.away_s, c.finish.to_s - c.clock.gone_s
                print(
                    f"OFF {where} {c.clock.away_s:.2f} s: {c.finish.seconds} for {c.clock.seconds:.3f} s, "
                    f"onsets {early:+.3f} and {late:+.3f}, confidence {c.finish.confidence:.2f}, {_what(c)}"
                )
        for finish in r.judged.imagined:
            print(f"IMAGINED {where} {finish.from_s:.2f} to {finish.to_s:.2f} s")


def _what(c: JudgedClock) -> str:
    return f'"{c.clock.away}" ... "{c.clock.gone}"' + (" with talk" if c.clock.talk else "")


def share(count: int, whole: int) -> str:
    """ "3 of 208 = 1.4 %"."""
    return f"{count} of {whole}" + (f" = {count / whole:.1%}" if whole else "")


def spread(errors_s: Sequence[float]) -> str:
    """Median, 95th percentile and largest of errors (seconds, none negative), in ms, with their count."""
    if not errors_s:
        return "n 0"
    ms = np.array(errors_s) * 1000
    middle, most = np.median(ms), np.percentile(ms, 95)
    return f"n {len(ms)}, median {middle:.0f} ms, 95 % {most:.0f} ms, max {ms.max():.0f} ms"
