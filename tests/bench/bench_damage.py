"""Damage: ordinary words that were right and are wrong with everything on, a figure for each 1,000 words.

    python tests/bench/bench_damage.py [--set tune|measure] [--keep /tmp/kept-words] [--processes 2]

1. Sentences without trade meaning, full of words that sound like it (material/ordinary*.json), spoken by
   machine voices in turn, clean and in babble: words that the recogniser alone (raw) has right and the whole
   (on) has wrong, aligned with the true text by jiwer behind the Whisper paper's normaliser. Also counted
   without the prompt's doing: words right before the second hearing and repair, and wrong after.
2. The true texts of those sentences through repair alone.
3. Real people's recordings (see bench_real_speech.py): raw and on compared; against a transcript where
   there is one.

Tune with `--set tune` (100 sentences); `measure` (300) is for the figures. About 1.2 s of a core for an
utterance and mode: 20 minutes of a core for measure, clean and noisy; seconds when all is kept.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Iterable, Sequence
from importlib import metadata
from pathlib import Path

import jiwer
from whisper_normalizer.english import EnglishTextNormalizer

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.audio import load_recording  # noqa: E402
from dictate.repair import Repaired  # noqa: E402
from dictate.values import Word  # noqa: E402
from tests.bench.bench_real_speech import OPENING  # noqa: E402
from tests.bench.heard import MODES, Kept, as_text, hear_all, recogniser, repaired, take  # noqa: E402
from tests.bench.spoken import VOICES, Utterance, ordinary_utterances  # noqa: E402
from tests.bench.terms import as_words  # noqa: E402

NORMAL = EnglishTextNormalizer()
TRANSCRIPTS = {"two_cities.wav": OPENING}


def plain(said: str | Iterable[Word]) -> list[str]:
    """Words as they are compared: normalised, in order."""
    text = said if isinstance(said, str) else " ".join(w.text for w in said)
    return str(NORMAL(text)).split()


def right(true: Sequence[str], heard: Sequence[str]) -> set[int]:
    """Which words of the true text stand in what was heard, by jiwer's alignment."""
    if not true or not heard:
        return set()
    found = jiwer.process_words(" ".join(true), " ".join(heard)).alignments[0]
    return {n for c in found if c.type == "equal" for n in range(c.ref_start_idx, c.ref_end_idx)}


def changes(before: Sequence[str], after: Sequence[str]) -> list[tuple[str, str]]:
    """What differs between two texts: (before, after), "" where there is nothing."""
    if not before or not after:
        return [] if before == after else [(" ".join(before), " ".join(after))]
    found = jiwer.process_words(" ".join(before), " ".join(after)).alignments[0]
    joined: list[tuple[list[str], list[str]]] = []
    last = (-1, -1)
    for c in found:
        if c.type == "equal":
            continue
        if last != (c.ref_start_idx, c.hyp_start_idx):
            joined.append(([], []))
        joined[-1][0].extend(before[c.ref_start_idx : c.ref_end_idx])
        joined[-1][1].extend(after[c.hyp_start_idx : c.hyp_end_idx])
        last = (c.ref_end_idx, c.hyp_end_idx)
    return [(" ".join(a), " ".join(b)) for a, b in joined]


def spoken(name: str, utterances: Sequence[Utterance], kept: Kept) -> None:
    """Part 1, one condition. Lost words are laid to the first step at which they are wrong."""
    sums: Counter[str] = Counter()
    lines: list[str] = []
    for utterance in utterances:
        raw, on = (kept.get(mode, utterance.key) for mode in MODES)
        if raw is None or on is None:
            continue
        mended = on.repaired
        true = plain(utterance.text)
        first = right(true, plain(on.words))
        was, again, now = (right(true, plain(w)) for w in (raw.words, on.twice, mended.words))
        lost = was - now
        sums.update(words=len(true), wrong_raw=len(true) - len(was), wrong_on=len(true) - len(now))
        sums.update(lost=len(lost), regained=len(now - was), prompt=len(lost - first))
        sums.update(again=len((lost & first) - again), repair=len(lost & first & again))
        sums.update(changed=len(first - now), mended=len(now - first))
        if lost or first - now:
            gone = " ".join(true[n] for n in sorted(lost | (first - now)))
            lines.append(f"  lost: {gone}   [{utterance.voice}] {utterance.text}")
            lines.append(f"        on: {' '.join(w.text for w in mended.words)}  {changed(mended)}")
    if not sums["words"]:
        print(f"{name}: nothing was heard")
        return
    words = sums["words"]
    wrong = [f"wrong {mode} {sums[f'wrong_{mode}'] / words:.1%}" for mode in MODES]
    print(
        f"{name}: {words} words, {', '.join(wrong)}\n"
        f"  right raw and wrong on: {_per_mille(sums['lost'], words)} (prompt and cues {sums['prompt']}, "
        f"second hearing {sums['again']}, repair {sums['repair']}); the other way round {sums['regained']}\n"
        f"  right before second hearing and repair, wrong after: {_per_mille(sums['changed'], words)}; "
        f"the other way round {sums['mended']}"
    )
    print("\n".join(lines))


def _per_mille(count: int, words: int) -> str:
    return f"{count} = {count / words * 1000:.2f} in 1,000"


def changed(mended: Repaired) -> str:
    """What second hearing and repair did to an utterance."""
    steps = as_text(mended.steps)
    return f"[{steps}]" if steps else ""


def typed(texts: Sequence[str]) -> None:
    """Part 2: the true texts through repair alone."""
    words = changed = 0
    lines = []
    for text in texts:
        mended = repaired(as_words(text))
        words += len(text.split())
        changed += sum(len(s.before) for s in mended.steps)
        if mended.steps:
            lines.append(f"  {text}  [{as_text(mended.steps)}]")
    print(f"true text: {changed} of {words} words changed = {changed / words * 1000:.2f} in 1,000")
    print("\n".join(lines))


def hear_real(kept: Kept, paths: Sequence[Path]) -> None:
    """Hear the real recordings that are not kept, a model at a time."""
    for mode in MODES:
        todo = [p for p in paths if kept.get(mode, _key(p)) is None]
        model = recogniser(mode) if todo else None
        for path in todo:
            assert model
            kept.put(mode, _key(path), taken=take(model, load_recording(path)))


def _key(path: Path) -> str:
    return f"real|{path.name}"


def real(kept: Kept, paths: Sequence[Path]) -> None:
    """Part 3: what differs between raw and on, and how many words that were right are lost."""
    sums: Counter[str] = Counter()
    for path in paths:
        raw, on = (kept.get(mode, _key(path)) for mode in MODES)
        if raw is None or on is None:
            continue
        mended = on.repaired
        before, first, after = plain(raw.words), plain(on.words), plain(mended.words)
        found, own = changes(before, after), changes(first, after)
        sums.update(words=len(before), all=_count(found), own=_count(own))
        line = f"{path.name}: {len(before)} words, {len(found)} changes"
        if path.name in TRANSCRIPTS:
            true = plain(TRANSCRIPTS[path.name])
            was, so_far, now = (right(true, words) for words in (before, first, after))
            line += (
                f"; of {len(true)} true words right raw {len(was)}, on {len(now)}, right raw and wrong on "
            )
            line += f"{len(was - now)}, wrong by second hearing and repair alone {len(so_far - now)}"
        print(line)
        for a, b in found:
            print(f"  raw: {a or '-'}   on: {b or '-'}")
        if steps := changed(mended):
            print(f"  {steps}")
    if words := sums["words"]:
        print(f"real recordings, {words} words: raw and on differ in {_per_mille(sums['all'], words)}")
        print(f"  of them changed by second hearing and repair: {_per_mille(sums['own'], words)}")


def _count(found: Sequence[tuple[str, str]]) -> int:
    return sum(max(1, len(before.split())) for before, _ in found)


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--set", choices=("tune", "measure"), default="tune")
    parser.add_argument(
        "--snr", nargs="+", default=["clean", "15"], metavar="DB", help="clean, or dB of babble"
    )
    parser.add_argument("--limit", type=int, metavar="N", help="the first N sentences")
    parser.add_argument("--keep", type=Path, metavar="FOLDER")
    parser.add_argument("--kept-only", action="store_true", help="only what has been heard: no recogniser")
    parser.add_argument("--again", nargs="+", choices=MODES, default=[], help="forget what was kept of these")
    parser.add_argument("--processes", type=int, default=1)
    return parser.parse_args()


def main() -> None:
    """All three parts."""
    args = arguments()
    kept = Kept(args.keep, again=args.again)
    files = metadata.distribution("moonshine-voice").files or []
    paths = sorted(Path(str(f.locate())) for f in files if f.name.endswith(".wav"))
    groups = [
        ordinary_utterances(args.set, VOICES, snr_db=None if snr == "clean" else float(snr))[: args.limit]
        for snr in args.snr
    ]
    together = [u for group in groups for u in group]
    if not args.kept_only:
        hear_all(together, kept, processes=args.processes, modes=MODES)
        hear_real(kept, paths)
    if others := kept.of_other_code([u.key for u in together] + [_key(p) for p in paths]):
        print(f"note: {others} recordings were heard by other code than there is now (--again on hears anew)")
    for snr, group in zip(args.snr, groups, strict=True):
        spoken(snr if snr == "clean" else f"{snr} dB", group, kept)
    typed([u.text for u in groups[0]])
    real(kept, paths)


if __name__ == "__main__":
    main()
