"""Trade talk told to the recogniser beforehand: untold, told, and whichever is likelier by the sum of both.

    python tests/bench/bench_told.py [--lines 120] [--ordinary 100] [--keep /tmp/told.jsonl]

Each line of tests/corpus/dev in turn, spoken by six voices, and the sentences without trade meaning of the
tuning half are decoded untold and told (`TRADE_PROMPT`), and both texts scored untold and told, as
`WhisperRecogniser` does. Prints word errors by jiwer behind the Whisper paper's normaliser, words that a way
has right and untold has wrong (won) and the other way about (lost). About 4 s of a core for a sentence;
what --keep names is not heard again.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import yaml

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.recognise.decoder import Decoder  # noqa: E402
from dictate.recognise.weights import find_weights  # noqa: E402
from dictate.recognise.whisper import TRADE_PROMPT  # noqa: E402
from tests.bench.bench_damage import plain, right  # noqa: E402
from tests.bench.score_corpus import VOICES as NOTE_VOICES  # noqa: E402
from tests.bench.spoken import VOICES, Utterance, ordinary_utterances, recording_of  # noqa: E402

WAYS = ("untold", "told", "sum")


def notes_lines(limit: int) -> Iterator[Utterance]:
    """Lines of the dev notes, a note's lines by one voice; cues are the cue benches' business."""
    voices, left = NOTE_VOICES.split(","), limit
    for number, path in enumerate(sorted((ROOT / "tests/corpus/dev").glob("*.yaml"))):
        for line in yaml.safe_load(path.read_text(encoding="utf-8"))["lines"]:
            if "say" in line and line.get("stage") != "cue" and left:
                left -= 1
                yield Utterance(line["say"], voices[number % len(voices)])


def hear(decoder: Decoder, utterance: Utterance) -> dict[str, Any]:
    """Both texts, and the log-probabilities of each untold and told."""
    encoded = decoder.encode(recording_of(utterance).samples)
    prompt = decoder.text_tokens(TRADE_PROMPT)
    texts = [decoder.decode(encoded).text, decoder.decode(encoded, prompt=prompt).text]
    fits = [[0.0, 0.0], [0.0, 0.0]]
    if all(texts):
        fits = [decoder.log_probabilities(encoded, texts, prompt=p) for p in ((), prompt)]
    return {"texts": texts, "fits": fits}


def chosen(heard: Mapping[str, Any], way: str) -> str:
    """The text that a way gives."""
    texts, (untold, told) = heard["texts"], heard["fits"]
    if way == "sum":
        return str(texts[untold[1] + told[1] > untold[0] + told[0]] or texts[0] or texts[1])
    return str(texts[WAYS.index(way)])


def table(name: str, rows: Sequence[tuple[str, Mapping[str, Any]]]) -> None:
    """Print one line a way."""
    for way in WAYS:
        sums: Counter[str] = Counter()
        for truth, heard in rows:
            true = plain(truth)
            now, was = (right(true, plain(chosen(heard, w))) for w in (way, "untold"))
            sums.update(words=len(true), wrong=len(true) - len(now), won=len(now - was), lost=len(was - now))
        share = sums["wrong"] / max(1, sums["words"])
        counts = f"{sums['wrong']} of {sums['words']}"
        print(f"{name:9} {way:7} wrong {counts} ({share:.3f}), won {sums['won']}, lost {sums['lost']}")


def main() -> None:
    """Hear what is not kept, then print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--lines", type=int, default=120)
    parser.add_argument("--ordinary", type=int, default=100)
    parser.add_argument("--keep", type=Path)
    args = parser.parse_args()
    kept: dict[str, Any] = {}
    if args.keep and args.keep.exists():
        kept = dict(json.loads(line) for line in args.keep.read_text(encoding="utf-8").splitlines())
    decoder = Decoder(find_weights().folder)
    groups = {
        "notes": list(notes_lines(args.lines)),
        "ordinary": ordinary_utterances("tune", VOICES)[: args.ordinary],
    }
    for name, utterances in groups.items():
        for number, one in enumerate(utterances):
            if one.key in kept:
                continue
            kept[one.key] = hear(decoder, one)
            if args.keep:
                with args.keep.open("a", encoding="utf-8") as file:
                    file.write(json.dumps([one.key, kept[one.key]]) + "\n")
            if number % 20 == 0:
                print(f"{name}: {number} of {len(utterances)}", file=sys.stderr, flush=True)
        table(name, [(one.text, kept[one.key]) for one in utterances])


if __name__ == "__main__":
    main()
