"""False cues: in sentences that hold cue words in ordinary use, in an hour of real speech, in one without.

    python tests/bench/bench_false_cues.py [--parts sentences real silent] [--half choose|report|fresh|...]
        [--conditions clean 15] [--keep /tmp/false-cues] [--processes 2] [--verbose]

1. sentences: material/cue_words.json by four voices, each alone (no clock) and inside a running clock:
   "Next wine, number two." - "Spitting now." - 3 s - four sentences 3 s apart - "All gone.". Every found cue
   that is not of the script is false. Those that hold a cue's own words are the figure; those that
   only sound like a cue ("fun") are counted apart. "by the grammar": the cue is found in the true text too;
   "by hearing": only in what was heard. A sentence does not count when its clock was not as wanted
   (a cue missed or imagined before it), unless a false cue was found in it.
2. real: an hour of the real recordings (see bench_real_speech.py: 88 s of them) at -18 to +6 dB, without
   noise, in pink noise (20 dB) and in a room (15 dB); half behind a spoken "spitting now".
3. silent: an hour of silence, noise, hum, music, glasses, furniture, at three levels: no word, no cue, no
   phrase in any note. Three minutes of far babble alone are counted apart.

Bounds are one-sided, 95 %; they take sentences as independent, which one text by four voices is not quite.
With --keep a run can be stopped and goes on; --again hears anew. Choose thresholds with `--half choose` (the
even sentences), give figures of `--half report`. Hours of a core for all: sentences about 1.5 s each
(and 4 s once for speech by kokoro), real about 0.3 of its length, silent some minutes.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.values import Cue  # noqa: E402
from tests.bench.false_heard import Result, Results, hear_all, notes_and_cues  # noqa: E402
from tests.bench.false_jobs import FRESH, Job, Said, Sentence, Unspoken, all_jobs  # noqa: E402
from tests.bench.false_judge import Judged, cues_in_text, judge, upper_bound, upper_rate  # noqa: E402

PARTS = ("sentences", "real", "silent")


@dataclass(frozen=True, slots=True)
class Row:
    """One sentence of one recording, judged, and what was heard of it."""

    sentence: Sentence
    job: Said
    judged: Judged
    heard: str

    @property
    def by_grammar(self) -> bool:
        """Is a cue found in its true text too?"""
        return bool(cues_in_text(self.sentence.say, running=self.job.running))


def _texts(cues: Sequence[Cue]) -> str:
    return ", ".join(f'{c.kind} "{" ".join(w.text for w in c.words)}" at {c.onset_s:.2f} s' for c in cues)


def heard_between(result: Result, start_s: float, end_s: float) -> str:
    """The recognised words that begin between two times."""
    return " ".join(w.text for w in result.heard.words if start_s <= w.start_s < end_s)


def rows_of(job: Said, result: Result) -> list[Row]:
    """The job's sentences, judged."""
    _, cues = notes_and_cues(result.heard)
    judged = judge(result.lines, cues, running=job.running)
    lines = [n for n in result.lines if n.stage == "sentence"]
    return [
        Row(sentence, job, one, heard_between(result, line.start_s - 1, line.end_s + 1))
        for sentence, one, line in zip(job.sentences, judged, lines, strict=True)
    ]


def rate(rows: Sequence[Row]) -> str:
    """n in N with its bound."""
    counted = [r for r in rows if r.judged.counts]
    if not counted:
        return "no sentence counts"
    found = sum(bool(r.judged.false) for r in counted)
    text = f"{found} in {len(counted)} = 1 in {len(counted) / found:.0f}" if found else f"0 in {len(counted)}"
    bound = upper_bound(found, len(counted))
    text += f", at most {bound:.2%} (1 in {1 / bound:.0f})"
    return text + (f"; {len(rows) - len(counted)} do not count" if len(rows) > len(counted) else "")


def show_sentences(rows: Sequence[Row], verbose: bool) -> None:
    """Part 1: figures, then each false cue."""
    for holds, name in ((True, "sentences that hold cue words"), (False, "that only sound like a cue")):
        own = [r for r in rows if r.sentence.holds is holds]
        if not own:
            continue
        print(f"{name}, with a false cue: {rate(own)}")
        hearing = sum(bool(r.judged.false) and not r.by_grammar for r in own)
        grammar = sum(bool(r.judged.false) and r.by_grammar for r in own)
        print(f"  by the grammar {grammar}, by hearing {hearing}")
        for key in sorted({(r.job.condition, r.job.setting) for r in own}, reverse=True):
            print(
                f"  {key[0]}, {key[1]}: {rate([r for r in own if (r.job.condition, r.job.setting) == key])}"
            )
        for voice in sorted({r.job.voice for r in own}):
            print(f"  {voice}: {rate([r for r in own if r.job.voice == voice])}")
        for tempts in dict.fromkeys(r.sentence.tempts for r in own):
            print(f"  tempting to {tempts}: {rate([r for r in own if r.sentence.tempts == tempts])}")
        kinds = Counter(c.kind for r in own for c in r.judged.false)
        print(f"  false cues found: {', '.join(f'{k} {n}' for k, n in kinds.most_common()) or 'none'}")
    for r in rows:
        if r.judged.false or verbose:
            why = ("by the grammar: " if r.by_grammar else "by hearing: ") if r.judged.false else ""
            print(f"  {why}{_texts(r.judged.false)}  [{r.job.voice}, {r.job.condition}, {r.job.setting}]")
            print(
                f"    said:  {r.sentence.say}\n    heard: {r.heard}"
                + " (does not count)" * (not r.judged.counts)
            )


def show_real(found: Sequence[tuple[Job, Result]], verbose: bool) -> None:
    """Part 2."""
    counts: Counter[str] = Counter()
    seconds: Counter[str] = Counter()
    lost: Counter[str] = Counter()
    lines: list[str] = []
    for job, result in found:
        _, cues = notes_and_cues(result.heard)
        (one,) = judge(result.lines, cues, running=job.setting == "clock running")
        counts[job.setting] += len(one.false)
        seconds[job.setting] += int(result.lines[-1].end_s - result.lines[-1].start_s)
        lost[job.setting] += not one.as_meant
        if one.false or verbose:
            lines.append(f"  {job.key}: {_texts(one.false)}")
        if verbose:
            lines.append("    " + " ".join(w.text for w in result.heard.words))
    hours, total = sum(seconds.values()) / 3600, sum(counts.values())
    bound = upper_rate(total, hours)
    print(f"real speech: {total} false cues in {hours:.2f} hours, at most {bound:.2f} an hour")
    for setting in seconds:
        print(
            f"  {setting}: {counts[setting]} in {seconds[setting] / 3600:.2f} hours"
            f"; pieces in which the cue in front was not heard so: {lost[setting]}"
        )
    print("\n".join(lines))


def show_silent(name: str, found: Sequence[tuple[Job, Result]]) -> None:
    """Part 3: words, cues and phrases where nobody spoke, by kind of sound."""
    sums: Counter[str] = Counter()
    lines: list[str] = []
    for job, result in found:
        notes, cues = notes_and_cues(result.heard)
        phrases = sum(len(note.transcript) for note in notes)
        sums.update(words=len(result.heard.words), cues=len(cues), notes=len(notes), phrases=phrases)
        if result.heard.words:
            text = " ".join(w.text for w in result.heard.words)
            lines.append(f"  {job.key}: {text}" + (f"  [{_texts(cues)}]" if cues else ""))
    hours = sum(result.heard.duration_s for _, result in found) / 3600
    print(
        f"{name}: in {hours:.2f} hours {sums['cues']} cues "
        f"(at most {upper_rate(sums['cues'], hours):.2f} an hour), "
        f"{sums['words']} words, {sums['phrases']} phrases in {sums['notes']} notes"
    )
    print("\n".join(lines))


def report(jobs: Sequence[Job], results: Results, *, verbose: bool) -> None:
    """All that was heard of these jobs."""
    found = [(job, result) for job in jobs if (result := results.get(job.key)) is not None]
    rows = [row for job, result in found if isinstance(job, Said) for row in rows_of(job, result)]
    if rows:
        show_sentences(rows, verbose)
    if real := [(j, r) for j, r in found if j.part == "real"]:
        show_real(real, verbose)
    for part, name in (("silent", "without speech"), ("babble", "far babble alone")):
        if own := [(j, r) for j, r in found if isinstance(j, Unspoken) and j.part == part]:
            show_silent(name, own)


def arguments() -> argparse.Namespace:
    """Of the command line."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--parts", nargs="+", choices=PARTS, default=list(PARTS))
    parser.add_argument(
        "--half", choices=("choose", "report", *FRESH), help="of the sentences (default: both halves)"
    )
    parser.add_argument("--conditions", nargs="+", default=["clean", "15"], help="clean, or dB of room noise")
    parser.add_argument(
        "--limit", type=int, metavar="N", help="the first N recordings of each part and setting"
    )
    parser.add_argument("--keep", type=Path, metavar="DIR")
    parser.add_argument("--kept-only", action="store_true", help="only what has been heard: no recogniser")
    parser.add_argument("--again", action="store_true", help="forget what was kept")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--verbose", action="store_true", help="all words heard")
    return parser.parse_args()


def main() -> None:
    """Hear what is not kept, then report."""
    args = arguments()
    results = Results(args.keep, again=args.again)
    jobs = list(
        all_jobs(tuple(args.parts), half=args.half, conditions=tuple(args.conditions), limit=args.limit)
    )
    if not args.kept_only:
        hear_all(jobs, results, processes=args.processes)
    if others := results.of_other_code([j.key for j in jobs]):
        print(f"note: {others} recordings were heard by other code than there is now (--again hears anew)")
    report(jobs, results, verbose=args.verbose)


if __name__ == "__main__":
    main()
