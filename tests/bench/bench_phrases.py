"""CPU time of a phrase through the rooms, and how it grows with the length of a note.

    python tests/bench/bench_phrases.py [--sizes 100,1000,10000] [--repeat 3] [--no-repair]

One note of so many breaths is made from sentences of its own, by a fixed seed; each room is run on it alone
and its CPU time (`process_time`, this process only) divided by the phrases that came out; the median run of
each size counts. Ratios of one run say more than milliseconds: a phrase of 10,000 beside a phrase of the
smallest note, "x1.0" is linear. Tables, lexicon and sounds are loaded before; what is found once and kept
fills up during the smaller notes. The goal is 5 ms a phrase. A minute and a half with --no-repair (words are
handed on as heard), half an hour with repair, whose search by sound costs most. Measures only: no test
depends on time.
"""

from __future__ import annotations

import argparse
import random
import statistics
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.assemble import assemble_notes  # noqa: E402
from dictate.cues import cue_table, find_cues, time_cues  # noqa: E402
from dictate.extract import compile_rules, read_fields  # noqa: E402
from dictate.lexicon import load_lexicon, load_table  # noqa: E402
from dictate.note import MadeWith, as_document  # noqa: E402
from dictate.note import Recording as NoteRecording  # noqa: E402
from dictate.pipeline import sounds_of  # noqa: E402
from dictate.repair import repair_table, repair_words  # noqa: E402
from dictate.segment import segment_words  # noqa: E402
from dictate.segment.evidence import stage_table  # noqa: E402
from dictate.values import Word  # noqa: E402

FRUITS = "cherry plum quince lime blackberry apricot cassis grapefruit raspberry fig".split()
THINGS = "cedar tobacco violets leather honey smoke thyme vanilla liquorice chalk".split()
AMOUNTS = "low medium high moderate fairly_high very_low".split()
PARTS = "acidity tannin alcohol body".split()
SENTENCES = (  # the order of a tasting, round and round: as a long recording of one glass would be
    "it's a {amount} ruby, you know, with a garnet rim",
    "clear, and rather {amount} in depth I think",
    "on the nose {fruit}, {fruit} and a bit of {thing}",
    "no {thing} at all, you'd expect {thing} at this age",
    "let me smell that again, a touch of {thing} behind the {fruit}",
    "could someone pass the spittoon please",
    "on the palate it's dry, {part} {amount}, and the {part} is {amount}",
    "not without some {thing}, but the {fruit} is in front",
    "the last one had heaps of {thing}, this one has {fruit}",
    "no, make the {part} {amount}",
    "the finish is long, with {fruit} and {thing}",
    "good, I'd drink it from twenty thirty, {number} points",
)
STAGES = stage_table(load_table("stages"))
CUES = cue_table(load_table("cues"), added={})
REPAIRS = repair_table(load_table("repair"))
RULES = compile_rules(load_table)
READING = ("segment", "extract", "assemble")
Out = TypeVar("Out")


def long_note(count: int, *, seed: int = 1) -> tuple[Word, ...]:
    """`count` breaths, 0.3 s a word, 1.2 s between breaths."""
    chance = random.Random(seed)
    words: list[Word] = []
    at = 0.0
    for number in range(count):
        pieces = SENTENCES[number % len(SENTENCES)].split()
        for piece in pieces:
            filled = piece.format(
                fruit=chance.choice(FRUITS),
                thing=chance.choice(THINGS),
                part=chance.choice(PARTS),
                amount=chance.choice(AMOUNTS),
                number=chance.randint(80, 97),
            )
            for text in filled.split("_"):
                words.append(Word(text, at, at + 0.3, 0.9, number))
                at += 0.3
        at += 1.2
    return tuple(words)


class Clock:
    """CPU seconds by room."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}

    def run(self, room: str, step: Callable[[], Out]) -> Out:
        """What `step` gives; its CPU time is added to the room's."""
        began = time.process_time()
        made = step()
        self.seconds[room] = self.seconds.get(room, 0.0) + time.process_time() - began
        return made


def measure(count: int, *, repair: bool = True) -> tuple[int, dict[str, float]]:
    """Phrases of one note of `count` breaths, and milliseconds of CPU a phrase by room."""
    lexicon, clock, words = load_lexicon(), Clock(), long_note(count)
    if repair:
        sounds = sounds_of(lexicon)
        words = clock.run("repair", lambda: repair_words(words, lexicon, table=REPAIRS, sounds=sounds)).words
    found = clock.run("cues", lambda: find_cues(words, CUES))
    cues = time_cues(found.cues, None)
    phrases = clock.run("segment", lambda: segment_words(found.kept, cues, lexicon=lexicon, table=STAGES))
    readings = clock.run("extract", lambda: read_fields(phrases, lexicon, rules=RULES))
    place = NoteRecording(path="made.vtt", sha256="", start_s=0, end_s=words[-1].end_s)
    made_with = MadeWith(program="0", model="by hand", lexicon=lexicon.version)
    notes = clock.run(
        "assemble",
        lambda: assemble_notes(readings, phrases, lexicon=lexicon, recording=place, made_with=made_with),
    )
    clock.run("note", lambda: [as_document(note) for note in notes])
    return len(phrases), {room: 1000 * s / len(phrases) for room, s in clock.seconds.items()}


def main(arguments: Sequence[str] | None = None) -> None:
    """A line a size; then the growth."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--sizes", default="100,1000,10000")
    parser.add_argument("--repeat", type=int, default=3, help="the median of so many runs counts")
    parser.add_argument("--no-repair", action="store_true", help="words go on as heard")
    options = parser.parse_args(arguments)
    repair = not options.no_repair
    measure(24, repair=repair)  # what is looked up once and kept
    costs: list[tuple[int, dict[str, float]]] = []
    for size in map(int, options.sizes.split(",")):
        runs = [measure(size, repair=repair) for _ in range(options.repeat)]
        phrases = runs[0][0]
        rooms = {room: statistics.median(run[1][room] for run in runs) for room in runs[0][1]}
        costs.append((phrases, rooms))
        parts = "  ".join(f"{room} {ms:.3f}" for room, ms in rooms.items())
        reading = sum(rooms[room] for room in READING)
        print(
            f"{phrases:6d} phrases: {sum(rooms.values()):.3f} ms of CPU a phrase, "
            f"{reading:.3f} of it from words to notes  ({parts})",
            flush=True,
        )
    few, small = costs[0]
    for many, large in costs[1:]:
        grown = "  ".join(f"{room} x{large[room] / max(small[room], 1e-9):.2f}" for room in small)
        whole = sum(large.values()) / sum(small.values())
        print(f"a phrase, {few} to {many} phrases: x{whole:.2f}  ({grown})")


if __name__ == "__main__":
    main()
