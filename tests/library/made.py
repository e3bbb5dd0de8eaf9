"""Synthetic notes: real grapes and regions, invented producers, as many as wanted and always the same."""

from __future__ import annotations

import random
from collections.abc import Iterator

from dictate import note as n

_WINES = [
    ("chinon", "cabernet franc", "red"), ("barolo", "nebbiolo", "red"), ("bandol", "mourvèdre", "red"),
    ("margaret river", "chardonnay", "white"), ("clare valley", "riesling", "white"),
    ("krems", "grüner veltliner", "white"), ("rioja", "tempranillo", "red"),
    ("sancerre", "sauvignon blanc", "white"),
]  # fmt: skip
_FIRST = "copper tin iron glass oak slate chalk flint amber heron plover marsh".split()
_LAST = "ladle whistle bridge lantern gate rake barn orchard mill meadow".split()
_SMELLS = {
    "red berries": ["raspberry", "red cherry", "strawberry"], "citrus": ["lime", "lemon", "grapefruit"],
    "dark berries": ["blackcurrant", "black cherry", "bramble"], "petals": ["violets", "rose"],
    "woods and resins": ["cedar", "vanilla", "oak"], "rock and sea": ["wet stone", "flint"],
    "orchard": ["green apple", "pear"],
    "hide and stable": ["leather", "game"], "spice box": ["black pepper", "clove"],
}  # fmt: skip
_FAULTS = ["cork taint", "oxidation", "volatile acidity"]
_WORDS = (
    "it is a wine that I would like to come back to the nose opens slowly with air and there is fruit behind "
    "the oak then a firm line of acidity some grip a little warmth at the end clean bright fresh quiet "
    "lifted stones rain cellar cloth bread peel skin seed stalk"
).split()


def made_notes(count: int, *, seed: int = 1) -> Iterator[n.Note]:
    """So many notes, one after the other."""
    rng = random.Random(seed)
    for number in range(count):
        yield _note(number, rng)


def _descriptors(rng: random.Random, most: int) -> list[n.Descriptor]:
    made = []
    for _ in range(rng.randint(0, most)):
        family = rng.choice(list(_SMELLS))
        made.append(n.Descriptor(term=rng.choice(_SMELLS[family]), family=family, said="so"))
    return made


def _level(rng: random.Random) -> n.Level | None:
    return n.Level(level=round(rng.uniform(0, 10), 1), said="medium plus") if rng.random() < 0.8 else None


def _phrases(rng: random.Random) -> list[n.TranscriptPhrase]:
    made = []
    for place in range(rng.randint(4, 9)):
        words = rng.choices(_WORDS, k=rng.randint(4, 9))
        start = place * 5.0
        timed = [
            n.TranscriptWord(text=word, at=(start + i * 0.4, start + i * 0.4 + 0.3), confidence=0.93)
            for i, word in enumerate(words)
        ]
        at = (start, start + len(words) * 0.4)
        made.append(n.TranscriptPhrase(text=" ".join(words), at=at, stage="palate", words=timed))
    return made


def _note(number: int, rng: random.Random) -> n.Note:
    origin, grape, colour = rng.choice(_WINES)
    seconds = round(rng.uniform(2, 40), 2)
    return n.Note(
        id=f"{number:016x}-1",
        wine=n.Wine(
            position=number % 60 + 1,
            producer=n.Text(text=f"{rng.choice(_FIRST)} {rng.choice(_LAST)}"),
            origin=n.Text(text=origin),
            grapes=[n.Term(term=grape)],
            vintage=n.Vintage(year=rng.randint(1990, 2024)),
            colour=n.Term(term=colour),
        ),
        appearance=n.Appearance(depth=_level(rng)),
        nose=n.Nose(aromas=_descriptors(rng, 6), absent=_descriptors(rng, 1)),
        palate=n.Palate(
            sweetness=_level(rng), acidity=_level(rng), tannin=_level(rng), body=_level(rng),
            flavours=_descriptors(rng, 5),
        ),
        finish=n.Finish(seconds=seconds, how="timed", from_s=40, to_s=40 + seconds),
        faults=[n.Fault(term=rng.choice(_FAULTS))] if rng.random() < 0.03 else [],
        verdict=n.Verdict(quality=_level(rng)),
        transcript=_phrases(rng),
        recording=n.Recording(path=f"t{number // 60}.wav", sha256=f"{number:064x}", start_s=0, end_s=60),
    )  # fmt: skip
