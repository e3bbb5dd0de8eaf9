"""The finish clock: cues missed, cues imagined, error of `finish.seconds`, in clean and noisy sound.

    python tests/bench/bench_clock.py --half choose --keep /tmp/kept-clocks --processes 2 --verbose
    python tests/bench/bench_clock.py --half report --conditions clean 20 15 10 room --plain --keep DIR

Material: clocks.py (choose: 26 recordings of 4 clocks, explore: 24, report: 52). Each recording goes through
the whole program, with a recogniser made as the program makes it. --keep holds what was heard, one JSON line
a recording, at once: a run that was stopped goes on, and after a change of the rooms alone only they run
again (about 1 s a recording). After a change of the recogniser: --again heard. Look at errors of `choose` and
`explore` alone: --verbose goes with them only. --plain: faster-whisper's own transcribe with word times on
the same recordings, same weights; a cue's words are looked for within 2 s of the truth, so it is told where
to look and can imagine none. Speech is made first and cached in the temp folder (about 6 minutes of a core
for choose, 9 for the others). A recording of 1.5 minutes takes 40 to 60 s of a core (busy), with --plain 15
more.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.bench import clock_report  # noqa: E402
from tests.bench.clock_heard import MODES, Job, Kept, hear_all, make_speech  # noqa: E402
from tests.bench.clock_judge import FoundCue, FoundFinish, judge  # noqa: E402
from tests.bench.clocks import CONDITIONS, SESSIONS, Condition, sessions, take  # noqa: E402


def arguments() -> argparse.Namespace:
    """The options."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--half", choices=tuple(SESSIONS), default="choose")
    parser.add_argument(
        "--conditions", nargs="+", choices=CONDITIONS, default=["clean"], help="clean, dB of noise, or room"
    )
    parser.add_argument("--limit", type=int, metavar="N", help="the first N recordings")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--keep", type=Path, metavar="FOLDER")
    parser.add_argument("--kept-only", action="store_true", help="only what has been heard: no recogniser")
    parser.add_argument("--again", nargs="+", choices=MODES, default=[], help="forget what was kept of these")
    parser.add_argument("--plain", action="store_true", help="the plain recogniser's word times as well")
    parser.add_argument("--verbose", action="store_true", help="list misses (not of half report)")
    return parser.parse_args()


def report(jobs: list[Job], kept: Kept, *, condition: Condition, plain: bool, verbose: bool) -> None:
    """Judge and print one condition."""
    results = []
    for job in jobs:
        row = kept.get("heard", job)
        if job.condition != condition or row is None:
            continue
        made = take(job.session)
        judged = judge(
            made.lines,
            made.clocks,
            voice=job.session.voice,
            cues=[FoundCue(**c) for c in row["cues"]],
            finishes=[FoundFinish(**f) for f in row["finishes"]],
        )
        words = kept.words("plain", job) if plain else None
        results.append(clock_report.Result(job, judged, kept.words("heard", job) or (), words))
    print(f"\n== {condition}")
    clock_report.print_condition(results)
    if verbose:
        clock_report.print_misses(results)


def main() -> None:
    """Make the speech, hear, judge, print."""
    args = arguments()
    if args.verbose and args.half == "report":
        raise SystemExit("the half to report is not looked at: --verbose goes with --half choose or explore")
    chosen = sessions(args.half)[: args.limit]
    jobs = [Job(session, condition) for condition in args.conditions for session in chosen]
    kept = Kept(args.keep, again=args.again)
    make_speech(chosen, noisy=bool({"20", "15", "10"} & set(args.conditions)))
    if not args.kept_only:
        modes = MODES if args.plain else MODES[:1]
        hear_all(jobs, kept, processes=args.processes, modes=modes)
    if others := kept.of_other_code(jobs):
        print(f"note: {others} recordings were heard by other code than there is now (--again heard)")
    print(f"half {args.half}: {len(chosen)} recordings, {', '.join(dict.fromkeys(s.voice for s in chosen))}")
    for condition in args.conditions:
        report(jobs, kept, condition=condition, plain=args.plain, verbose=args.verbose)


if __name__ == "__main__":
    main()
