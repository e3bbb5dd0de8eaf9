"""Draws the terms of the trade-word bench and writes them with their sentences as JSON.

    python tests/bench/make_material.py

Writes material/terms-measure.json and material/terms-tune.json, which are kept in git: after a change of the
lexicon a new draw would be another one, so draw anew only on purpose. The two share no term and no sentence.
Drawn at random (fixed seed), so many of a kind; left out are terms that are not written in Latin letters and
those that the lexicon itself marks as everyday words (`risky`, `ambiguous`). Kind "level" holds words of
degree, sweetness and quality of rules/levels.toml and rules/terms.toml, of at most two written words.
"""

from __future__ import annotations

import json
import random
import re
import sys
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.language.tokens import fold  # noqa: E402
from dictate.lexicon import Lexicon, load_lexicon, load_table  # noqa: E402
from dictate.lexicon.entries import spelled  # noqa: E402
from tests.bench.terms import mentioned  # noqa: E402

MATERIAL = Path(__file__).parent / "material"
SEED = 20261125
MEASURE = {
    "grape": 90,
    "origin": 90,
    "descriptor": 110,
    "texture": 30,
    "hue": 30,
    "fault": 29,
    "process": 30,
    "level": 30,
}
# no fault is left for tuning: all are measured
TUNE = {"grape": 38, "origin": 38, "descriptor": 42, "texture": 11, "hue": 11, "process": 10, "level": 10}
_LATIN = re.compile(r"[a-z' -]+")


def level_words() -> Iterator[str]:
    """Plain phrases (no pattern signs) of the level and term tables, at most two written words."""
    for attribute in load_table("levels")["attribute"].values():
        for phrases in attribute["words"].values():
            yield from (p for p in phrases if _LATIN.fullmatch(p) and len(p.split()) <= 2)
    for name in ("clarity", "balance"):
        for phrases in load_table("terms")[name]["terms"].values():
            yield from (p for p in phrases if _LATIN.fullmatch(p) and len(p.split()) <= 2)


def candidates(lexicon: Lexicon, kind: str) -> list[str]:
    """The terms of a kind that may be drawn, sorted."""
    if kind == "level":
        return sorted(set(level_words()))
    return sorted(
        e.term
        for e in lexicon.of_kind(kind)
        if not e.data.get("risky")
        and e.term not in e.data.get("ambiguous", ())
        and _LATIN.fullmatch(fold(e.term))
    )


def sentence(carrier: str, term: str) -> str:
    """A carrier with its term in place."""
    article = "an" if fold(term)[0] in "aeiou" else "a"
    return carrier.replace("{t}", term).replace("{a}", article)


def draw(
    lexicon: Lexicon,
    counts: Mapping[str, int],
    *,
    carriers: Mapping[str, list[str]],
    sentences: int,
    taken: set[tuple[str, ...]],
    chance: random.Random,
) -> list[dict[str, Any]]:
    """Rows {"term", "kind", "say": [...]}, shuffled; `taken` (spellings) grows by what is drawn."""
    rows: list[dict[str, Any]] = []
    for kind, count in counts.items():
        pool = candidates(lexicon, kind)
        chance.shuffle(pool)
        start = len(rows)
        for term in pool:
            if len(rows) - start == count:
                break
            if spelled(term) in taken:
                continue
            texts = [sentence(c, term) for c in chance.sample(carriers[kind], len(carriers[kind]))]
            # a carrier whose words make another term of it ("lemon", "zest") is no use
            good = [t for t in texts if mentioned(t, term, kind=kind, lexicon=lexicon)][:sentences]
            if len(good) == sentences:
                taken.add(spelled(term))
                rows.append({"term": term, "kind": kind, "say": good})
        if len(rows) - start < count:
            raise SystemExit(f"{kind}: only {len(rows) - start} of {count} terms can be drawn")
    chance.shuffle(rows)
    return rows


def main() -> None:
    """Write both files."""
    lexicon = load_lexicon()
    carriers = tomllib.loads((MATERIAL / "carriers.toml").read_text(encoding="utf-8"))
    taken: set[tuple[str, ...]] = set()
    chance = random.Random(SEED)
    for name, counts, sentences in (("measure", MEASURE, 2), ("tune", TUNE, 1)):
        rows = draw(
            lexicon,
            counts,
            carriers={kind: both[name] for kind, both in carriers.items()},
            sentences=sentences,
            taken=taken,
            chance=chance,
        )
        lines = ",\n".join(json.dumps(row, ensure_ascii=False) for row in rows)
        (MATERIAL / f"terms-{name}.json").write_text(f"[\n{lines}\n]\n", encoding="utf-8")
        print(f"terms-{name}.json: {len(rows)} terms")


if __name__ == "__main__":
    main()
