"""Who listens: base, tiny.en, both; untold, or told what talk to expect; and the likeliest of several texts.

    python tests/bench/bench_listeners.py [--lines 110] [--ordinary 60] [--terms 90] [--keep FILE]

Lines of tests/corpus/dev in turn, spoken by six voices; sentences without trade meaning and sentences with a
term, of the tuning halves. Each listener writes them untold and told (`TRADE_PROMPT`); every text is scored
by each listener, untold and told; a way with "likeliest" takes the text whose scores add up to most. Prints
word errors by jiwer behind the Whisper paper's normaliser, words that a way has right and base untold has
wrong (won) and the other way about (lost). About 6 s of a core for a sentence; what --keep names is not heard
again.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import yaml

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.recognise.decoder import Decoder  # noqa: E402
from dictate.recognise.weights import find_listeners  # noqa: E402
from dictate.recognise.whisper import TRADE_PROMPT  # noqa: E402
from tests.bench.bench_damage import plain, right  # noqa: E402
from tests.bench.kept import KeptRows  # noqa: E402
from tests.bench.score_corpus import VOICES as NOTE_VOICES  # noqa: E402
from tests.bench.spoken import VOICES, Utterance, ordinary_utterances, recording_of, term_utterances  # noqa: E402

NAMES = ("base", "tiny.en")
ALL = ("base untold", "base told", "tiny.en untold", "tiny.en told")
LIKELIEST: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {  # who writes, who scores
    "base, likeliest": (ALL[:2], ALL[:2]),
    "both untold, likeliest": (ALL[::2], ALL[::2]),
    "all, by all, likeliest": (ALL, ALL),
    "as Listeners, likeliest": (
        ("base untold", "tiny.en untold", "tiny.en told"),
        ("base told", "tiny.en untold"),
    ),
}
WAYS = (*ALL, *LIKELIEST)


def notes_lines(limit: int) -> Iterator[Utterance]:
    """Lines of the dev notes, a note's lines by one voice; cues are the cue benches' business."""
    voices, left = NOTE_VOICES.split(","), limit
    for number, path in enumerate(sorted((ROOT / "tests/corpus/dev").glob("*.yaml"))):
        for line in yaml.safe_load(path.read_text(encoding="utf-8"))["lines"]:
            if "say" in line and line.get("stage") != "cue" and left:
                left -= 1
                yield Utterance(line["say"], voices[number % len(voices)])


def hear(decoders: Mapping[str, Decoder], utterance: Utterance) -> dict[str, Any]:
    """What each writes untold and told, and how well each text fits: way -> text, way -> text -> nats."""
    samples = recording_of(utterance).samples
    encoded = {name: decoder.encode(samples) for name, decoder in decoders.items()}
    told = {"untold": "", "told": TRADE_PROMPT}
    ways = {f"{name} {how}": (name, prompt) for name in decoders for how, prompt in told.items()}
    prompts = {w: decoders[n].text_tokens(prompt) for w, (n, prompt) in ways.items()}
    texts = {w: decoders[n].decode([encoded[n]], prompt=prompts[w])[0].text for w, (n, _) in ways.items()}
    written = [text for text in dict.fromkeys(texts.values()) if text]
    fits = {
        w: dict(
            zip(written, decoders[n].log_probabilities(encoded[n], written, prompt=prompts[w]), strict=True)
        )
        for w, (n, _) in ways.items()
    }
    return {"texts": texts, "fits": fits}


def chosen(heard: Mapping[str, Any], way: str) -> str:
    """The text that a way gives."""
    texts, fits = heard["texts"], heard["fits"]
    if way not in LIKELIEST:
        return str(texts[way])
    writing, scoring = LIKELIEST[way]
    written = [texts[w] for w in writing if texts[w]]
    return str(max(written, key=lambda text: sum(fits[w][text] for w in scoring), default=""))


def table(name: str, rows: Sequence[tuple[str, Mapping[str, Any]]]) -> None:
    """Print one line a way."""
    for way in WAYS:
        sums: Counter[str] = Counter()
        for truth, heard in rows:
            true = plain(truth)
            now, was = (right(true, plain(chosen(heard, w))) for w in (way, "base untold"))
            sums.update(words=len(true), wrong=len(true) - len(now), won=len(now - was), lost=len(was - now))
        share = sums["wrong"] / max(1, sums["words"])
        counts = f"wrong {sums['wrong']} of {sums['words']} ({share:.3f})"
        print(f"{name:9} {way:24} {counts}, won {sums['won']}, lost {sums['lost']}")


def main() -> None:
    """Hear what is not kept, then print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--lines", type=int, default=110)
    parser.add_argument("--ordinary", type=int, default=60)
    parser.add_argument("--terms", type=int, default=90)
    parser.add_argument("--keep", type=Path)
    args = parser.parse_args()
    kept = KeptRows(args.keep)
    decoders = {each.name: Decoder(each.folder) for each in find_listeners("+".join(NAMES))}
    terms = term_utterances("tune", VOICES)
    random.Random(5).shuffle(terms)
    groups = {
        "notes": list(notes_lines(args.lines)),
        "ordinary": ordinary_utterances("tune", VOICES)[: args.ordinary],
        "terms": terms[: args.terms],
    }
    for name, utterances in groups.items():
        for number, one in enumerate(utterances):
            if one.key in kept.rows:
                continue
            kept.put({"key": one.key, **hear(decoders, one)})
            if number % 20 == 0:
                print(f"{name}: {number} of {len(utterances)}", file=sys.stderr, flush=True)
        table(name, [(one.text, kept.rows[one.key]) for one in utterances])


if __name__ == "__main__":
    main()
