"""How many terms of the lexicon are recognised, without and with repair; damage on true text; time.

    PYTHONPATH=. python tests/bench/bench_repair.py FOLDER [FOLDER ...] [--keep FOLDER [--kept-only]]

A FOLDER holds NAME.wav and truth/NAME.json ({"lines": [{"say": "..."}]}). With --keep the recognised words
are kept as JSON, and read from there the next time. "missing": terms said and not recognised; "extra": terms
recognised and not said. Damage: changes made to true text, of the folders and of tests/corpus/dev.
"""

from __future__ import annotations

import argparse
import json
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from pathlib import Path

import jiwer
import yaml
from whisper_normalizer.english import EnglishTextNormalizer

from dictate.audio.recording import load_recording
from dictate.language.mentions import find_mentions
from dictate.language.tokens import tokenise
from dictate.lexicon import load_lexicon, load_table
from dictate.pipeline import sounds_of
from dictate.recognise.weights import find_listeners
from dictate.recognise.whisper import WhisperRecogniser
from dictate.repair import repair_table, repair_words
from dictate.values import Word

DEV = Path(__file__).parent.parent / "corpus" / "dev"
KINDS = ("grape", "origin", "descriptor", "texture", "fault", "hue", "process")
LEXICON = load_lexicon()
TABLE = repair_table(load_table("repair"))
SOUNDS = sounds_of(LEXICON)
NORMAL = EnglishTextNormalizer()


def as_words(lines: Sequence[str]) -> list[Word]:
    """True text as words, a breath group each line."""
    return [
        Word(text, float(n), float(n) + 0.5, 1.0, n) for n, line in enumerate(lines) for text in line.split()
    ]


def terms(words: Sequence[Word]) -> Counter[str]:
    found: Counter[str] = Counter()
    for mention in find_mentions(tokenise(words), LEXICON):
        entry = next((e for e in mention.entries if e.kind in KINDS), None)
        if entry:
            found[entry.term] += 1
    return found


def recognised(wav: Path, keep: Path | None, recogniser: WhisperRecogniser | None) -> list[Word]:
    file = keep / wav.parent.name / f"{wav.stem}.json" if keep else None
    if file and file.exists():
        return [Word(**row) for row in json.loads(file.read_text(encoding="utf-8"))]
    if recogniser is None:
        raise SystemExit(f"{wav}: no kept words")
    words = list(recogniser.recognise(load_recording(wav)).words)
    if file:
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(json.dumps([asdict(w) for w in words], ensure_ascii=False), encoding="utf-8")
    return words


def damage(texts: Iterator[list[str]], name: str) -> None:
    count = changed = 0
    for lines in texts:
        words = as_words(lines)
        count += len(words)
        for step in repair_words(words, LEXICON, table=TABLE, sounds=SOUNDS).steps:
            changed += 1
            print(f"  damage: {' '.join(step.before)} -> {' '.join(step.after)}")
    print(f"{name}: {changed} changes in {count} true words")


def measure(
    folder: Path, keep: Path | None, recogniser: WhisperRecogniser | None, *, kept_only: bool
) -> None:
    sums: Counter[str] = Counter()
    said, plain, mended = [], [], []
    spent_s, count = 0.0, 0
    for wav in sorted(folder.glob("*.wav")):
        if kept_only and keep and not (keep / folder.name / f"{wav.stem}.json").exists():
            continue
        truth = json.loads((folder / "truth" / f"{wav.stem}.json").read_text(encoding="utf-8"))
        lines = [line["say"] for line in truth["lines"]]
        words = recognised(wav, keep, recogniser)
        start = time.process_time()
        done = repair_words(words, LEXICON, table=TABLE, sounds=SOUNDS)
        spent_s += time.process_time() - start
        count += len(words)
        want, before, after = terms(as_words(lines)), terms(words), terms(done.words)
        sums.update(said=want.total(), missing=(want - before).total(), still=(want - after).total())
        sums.update(
            extra=(before - want).total(), then=(after - want).total(), steps=len(done.steps), notes=1
        )
        said.append(NORMAL(" ".join(lines)))
        plain.append(NORMAL(" ".join(w.text for w in words)))
        mended.append(NORMAL(" ".join(w.text for w in done.words)))
    if not said:
        print(f"{folder.name}: nothing to measure")
        return
    print(
        f"{folder.name}: {sums['notes']} notes, {sums['said']} terms; "
        f"missing {sums['missing']} -> {sums['still']}, extra {sums['extra']} -> {sums['then']}, "
        f"{sums['steps']} steps; "
        f"word errors {jiwer.wer(said, plain):.1%} -> {jiwer.wer(said, mended):.1%}; "
        f"{spent_s / count * 300 * 1000:.0f} ms for 300 words"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", nargs="*", type=Path)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--kept-only", action="store_true", help="measure kept words alone: no recogniser")
    args = parser.parse_args()
    start = time.process_time()
    repair_words(as_words(["hello there"]), LEXICON, table=TABLE, sounds=SOUNDS)
    print(f"index built in {time.process_time() - start:.2f} s")
    recogniser = None if args.kept_only or not args.folders else WhisperRecogniser(find_listeners())
    for folder in args.folders:
        measure(folder, args.keep, recogniser, kept_only=args.kept_only)
    corpus = (yaml.safe_load(file.read_text(encoding="utf-8")) for file in sorted(DEV.glob("*.yaml")))
    damage(([line["say"] for line in note["lines"] if "say" in line] for note in corpus), "corpus dev")


if __name__ == "__main__":
    main()
