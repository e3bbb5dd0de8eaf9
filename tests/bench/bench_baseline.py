"""A plain baseline beside the real thing, as text, in one run, scored by one scorer.

    python tests/bench/bench_baseline.py [FOLDER ...] [--limit 3]

Three ways to read a note:
- words: every word of the lexicon found anywhere in the text becomes a value of its kind's default field; no
  scope, no stages, no levels: descriptors are on the nose, textures on the palate.
- readers: our own readers, but without scope rules and stages (every line is on the nose). What scope and
  stages bring by themselves.
- rooms: the real thing.

FOLDER as for `score_corpus.py` (tests/corpus/dev unless given). Only totals are printed, so that a set-aside
corpus may be scored too. Corrections: values to delete, add or change by hand in a note, a change counted
once; finishes wrongly timed or not timed count too. Stages: lines whose stage is right; the plain ways put
every line on the nose, so theirs is the share of nose lines. About 1.5 s a note. Measures only.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.assemble import assemble_notes  # noqa: E402
from dictate.extract import compile_rules, read_fields  # noqa: E402
from dictate.language.mentions import find_mentions  # noqa: E402
from dictate.language.tokens import tokenise  # noqa: E402
from dictate.lexicon import load_lexicon, load_table  # noqa: E402
from dictate.note import MadeWith, as_document  # noqa: E402
from dictate.note import Recording as NoteRecording  # noqa: E402
from dictate.pipeline import notes_from_source  # noqa: E402
from dictate.recognise.typed import read_transcript  # noqa: E402
from dictate.settings import Settings  # noqa: E402
from dictate.values import Phrase, Word  # noqa: E402
from tests.bench.score_corpus import Spoken, make_sources, score_source, stages_of  # noqa: E402
from tests.scoring import Scores  # noqa: E402

LEXICON = load_lexicon()
RULES = compile_rules(load_table)
UNSCOPED = replace(RULES, scope=())
ONE = {  # kinds of which a note holds one
    "origin": "wine.origin", "hue": "appearance.hue", "style": "wine.style", "colour": "wine.colour",
}  # fmt: skip
Document = Mapping[str, Any]
Reader = Callable[[Spoken], list[Document]]


@dataclass
class Count:
    """What one way of reading got."""

    scores: Scores = field(default_factory=Scores)
    notes: int = 0
    lines: int = 0
    lines_right: int = 0

    @property
    def stages(self) -> float:
        """The share of lines whose stage is right."""
        return self.lines_right / max(1, self.lines)

    @property
    def corrections(self) -> float:
        """Values a note to put right by hand."""
        timed = len(self.scores.timed_missing) + len(self.scores.timed_false)
        return (len(self.scores.total.why) + timed) / max(1, self.notes)


def breaths(spoken: Spoken) -> list[tuple[Word, ...]]:
    """The words of a source by line."""
    lines: dict[int, list[Word]] = {}
    for word in read_transcript(spoken.source).words:
        lines.setdefault(word.utterance, []).append(word)
    return [tuple(words) for words in lines.values()]


def _path(kind: str, family: str) -> str:
    if kind == "texture":
        return "palate.tannin_texture" if family == "tannin" else "palate.texture"
    return {"descriptor": "nose.aromas", "grape": "wine.grapes", "fault": "faults"}.get(kind, "")


def read_words(spoken: Spoken) -> list[Document]:
    """Words of the lexicon, wherever they stand."""
    whole = {"stage": "nose", "at": (0.0, spoken.seconds)}
    note: dict[str, Any] = {"transcript": [whole]}

    def put(path: str, term: str, *, many: bool) -> None:
        *parents, last = path.split(".")
        place = note
        for name in parents:
            place = place.setdefault(name, {})
        if not many:
            place.setdefault(last, {"term": term})
        elif {"term": term} not in place.setdefault(last, []):
            place[last].append({"term": term})

    for words in breaths(spoken):
        for mention in find_mentions(tokenise(words), LEXICON):
            for entry in mention.entries:
                if entry.kind in ONE:
                    put(ONE[entry.kind], entry.term, many=False)
                elif path := _path(entry.kind, entry.family):
                    put(path, entry.term, many=True)
    return [note]


def read_unscoped(spoken: Spoken) -> list[Document]:
    """Our readers on lines that are all on the nose, every mention taken as said."""
    phrases = [Phrase(words, "nose") for words in breaths(spoken)]
    notes = assemble_notes(
        read_fields(phrases, LEXICON, rules=UNSCOPED),
        phrases,
        lexicon=LEXICON,
        recording=NoteRecording(path=str(spoken.source), sha256="", start_s=0, end_s=spoken.seconds),
        made_with=MadeWith(program="0", model="transcript", lexicon=LEXICON.version),
    )
    return [as_document(note) for note in notes]


def read_rooms(spoken: Spoken) -> list[Document]:
    """The real thing."""
    return [as_document(n) for n in notes_from_source(spoken.source, recogniser=None, settings=Settings())]


WAYS: dict[str, Reader] = {"words": read_words, "readers": read_unscoped, "rooms": read_rooms}


def measure(folder: Path, *, limit: int | None) -> dict[str, Count]:
    """Every way of reading on the texts of a folder."""
    counts = {name: Count() for name in WAYS}
    options = argparse.Namespace(speech=False, snr=None, voices="", only="")
    with tempfile.TemporaryDirectory() as out:
        for spoken in list(make_sources(folder, Path(out), options=options))[:limit]:
            for name, read in WAYS.items():
                add_scores(counts[name], spoken, found=read(spoken))
    return counts


def add_scores(count: Count, spoken: Spoken, *, found: list[Document]) -> None:
    """Score the notes found in one source."""
    for true, heard in stages_of(spoken, found):
        count.lines += 1
        count.lines_right += true == heard
    score_source(spoken, found, scores=count.scores)
    count.notes += len(spoken.gold)


def report(folder: Path, counts: Mapping[str, Count]) -> str:
    """A line a way, and how far the rooms are ahead."""
    lines = [f"{folder}: {counts['rooms'].notes} notes"]
    for name, count in counts.items():
        total, scores = count.scores.total, count.scores
        lines.append(
            f"  {name:8s} F1 {total.f1:.3f}  P {total.precision:.3f}  R {total.recall:.3f}  "
            f"never asserted {len(scores.never)} of {scores.never_asked}  stages {count.stages:.3f}  "
            f"corrections a note {count.corrections:.2f}"
        )
    rooms = counts["rooms"]
    for name in ("words", "readers"):
        plain = counts[name]
        lines.append(
            f"  rooms ahead of {name}: F1 {rooms.scores.total.f1 - plain.scores.total.f1:+.3f}, "
            f"never {len(rooms.scores.never) - len(plain.scores.never):+d}, "
            f"stages {rooms.stages - plain.stages:+.3f}, "
            f"corrections a note {rooms.corrections - plain.corrections:+.2f}"
        )
    return "\n".join(lines)


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure each folder, print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("folders", nargs="*", type=Path, default=[ROOT / "tests/corpus/dev"])
    parser.add_argument("--limit", type=int, help="texts of each folder")
    options = parser.parse_args(arguments)
    for folder in options.folders:
        counts = measure(folder, limit=options.limit)
        if not counts["rooms"].notes:
            sys.exit(f"{folder}: no texts (*.yaml) in it")
        print(report(folder, counts))


if __name__ == "__main__":
    main()
