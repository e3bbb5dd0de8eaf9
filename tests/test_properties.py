"""Laws of the whole way from words to notes, on any text and on texts made of what trips the readers:
nothing crashes, nothing said is lost, nothing is read that was not said.

What passes between the rooms is looked at on its way through the real pipeline.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import Any
from unittest.mock import patch

import jsonschema
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from dictate import pipeline
from dictate.assemble import assemble_notes
from dictate.language.tokens import fold, spoken_text, tokenise
from dictate.lexicon import load_lexicon
from dictate.lexicon.entries import match_key, spelled
from dictate.note import ABSENT_IN, Note, as_document, json_schema, read_note
from dictate.settings import Settings
from dictate.values import Heard, Phrase, Reading, Word
from tests import build

DEV = Path(__file__).parent / "corpus" / "dev"
TALK = sorted(
    {
        line["say"]
        for path in DEV.glob("*.yaml")
        for line in yaml.safe_load(path.read_text(encoding="utf-8"))["lines"]
        if "say" in line
    }
)
THINGS = (
    "cherry|wet wool|oak|cork taint|riesling|chinon|ruby|silky|chalky tannin|acidity|quince|dry|full bodied"
    "|sparkling|barolo|medium|long|twelve seconds|ninety points|twenty thirty|amber|number four|burnt rubber"
    "|body|tannin|high|low|a bit higher|light|garnet|rubber|my aunt's sofa|0|two thousand and ten|rosé"
).split("|")
FRAMES = (
    "{0}",
    "no {0}, {1} or {2}",
    "not without some {0}",
    "you'd expect {0} and there isn't any",
    "it would have had {0} in its youth, now {1}",
    "the last one had heaps of {0}, this has {1}",
    "notes of {0}, {1} and a bit of {2}",
    "a sort of {0} thing behind the {1}",
    "like walking into {0}",
    "scrap the {0}",
    "strike the {0}, say {1}",
    "{0}, no, scrap that, {1}",
    "I said {0}, I meant {1}",
    "no, make the {0} {1}",
    "{0}, no, {1}",
    "is that {0}? No, {1}",
    "{0}, {1}, none of that",
    "medium, no, a bit higher than that, {0}",
    "{0}, if that, though I wouldn't swear to it",
    "isn't it, {0}",
    "next wine, number seven, {0} from {1}",
    "from twenty thirty, ninety one points, {0}",
    "code {0}, glass B seven",
    "the finish is {0}",
    "the {0} is {1}, the {2} not so much",
    "on the palate {0}",
    "on the nose {0}, {1}",
    "{0} at the rim, {1}",
    "thirty grams of sugar, {0}",
    "spitting now",
    "still there, {0}",
    "all gone",
    "strike that",
    "end of tasting",
    "off the record, {0}",
    "back on the record",
    "the colour of weak tea, {0}",
    "let me smell that again, {0} and {1}",
    "pass the bread would you",
)
CUES = "spitting now|swallowing now|still there|all gone|gone|strike that|next wine|end of tasting".split("|")
SPARE = ("remarks", "asides")
LINES = st.builds(
    lambda frame, things: frame.format(*things),
    st.sampled_from(FRAMES),
    st.tuples(*[st.sampled_from(THINGS)] * 3),
)


@dataclass
class Tasting:
    """Words through the pipeline, what was between off and back on the record, and what went into and came
    out of the last room."""

    words: Sequence[Word]
    private: Sequence[tuple[float, float]] = ()
    phrases: Sequence[Phrase] = ()
    readings: Sequence[Reading] = ()
    notes: Sequence[Note] = field(default_factory=tuple)

    def of(self, note: Note) -> Iterator[tuple[Phrase, list[Reading]]]:
        """The phrases of a note, each with what was read from it."""
        wine = int(note.id.rpartition("-")[2]) - 1
        for index, phrase in enumerate(self.phrases):
            if phrase.wine == wine:
                yield phrase, [r for r in self.readings if r.phrase == index]


def tasted(words: Sequence[Word]) -> Tasting:
    """Words through `notes_from_words`."""
    made, find_cues = Tasting(words), pipeline.find_cues

    def cues(*given: Any) -> Any:
        found = find_cues(*given)
        made.private = found.private
        return found

    def assemble(readings: Sequence[Reading], phrases: Sequence[Phrase], **more: Any) -> tuple[Note, ...]:
        made.readings, made.phrases = readings, phrases
        return assemble_notes(readings, phrases, **more)

    heard = Heard(tuple(words), words[-1].end_s if words else 0.0, "by hand")
    with patch.object(pipeline, "find_cues", cues), patch.object(pipeline, "assemble_notes", assemble):
        made.notes = pipeline.notes_from_words(heard, settings=Settings(), recording=build.RECORDING)
    return made


def quotes(document: Any, path: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every value of a note's document that quotes the taster, with its path."""
    if isinstance(document, dict):
        if "said" in document and path:
            yield path, document
        for name, value in document.items():
            if name not in ("transcript", "history"):
                yield from quotes(value, f"{path}.{name}".lstrip("."))
    elif isinstance(document, list):
        for value in document:
            yield from quotes(value, path)


def plain(value: Any) -> Any:
    """What a value of a note says."""
    names = ("level", "term", "text", "year", "points")
    return next((getattr(value, name) for name in names if hasattr(value, name)), value)


def alike(kept: Any, read: Any) -> bool:
    """Whether what a note (or its history) keeps is what was read."""
    kept = plain(kept)
    if isinstance(kept, str) or isinstance(read, str):
        return fold(str(kept)) == fold(str(read))
    return kept is not None and float(kept) == pytest.approx(float(read), abs=0.006)


def held(note: Note, path: str) -> list[Any]:
    """What a note holds under a path: nothing, one value, or a list's members."""
    value: Any = note
    for name in path.split("."):
        value = getattr(value, name)
    return value if isinstance(value, list) else [] if value is None else [value]


def span(words: Sequence[Word]) -> tuple[float, float]:
    return round(words[0].start_s, 3), round(max(words[0].start_s, words[-1].end_s), 3)


def landed(note: Note, phrase: Phrase, reading: Reading) -> bool:
    """Whether the note holds what was read, or its history tells what became of it."""
    paths = {reading.field, ABSENT_IN.get(reading.field, reading.field)}
    paths |= {"palate.absent"} if reading.field.startswith("palate.") else set()
    told = [c for c in note.history if c.field in paths or reading.act == "drop"]
    if any(alike(kept, reading.value) for c in told for kept in (c.before, c.after) if kept is not None):
        return True
    if reading.act == "drop":
        return False  # what it drops was never there
    words = phrase.words[reading.first : reading.last]
    values = [value for path in paths for value in held(note, path)]
    return any(
        alike(v, reading.value) or alike(v, spoken_text(words)) or getattr(v, "at", None) == span(words)
        for v in values
    )


def check_each_phrase_lands_once(made: Tasting) -> None:
    """A phrase is in remarks or asides of its note, once, and then in no field; else a field or the history
    has it. A cue, and what was taken back, is in neither."""
    for note in made.notes:
        values = [v for p, v in quotes(as_document(note)) if p not in SPARE and v.get("at")]
        spare = [(t.text, t.at) for t in (*note.remarks, *note.asides)]
        expected = 0
        for phrase, readings in made.of(note):
            text, (start, end) = spoken_text(phrase.words), span(phrase.words)
            times = spare.count((text, (start, end)))
            expected += times
            if phrase.taken_back or phrase.cue:
                told = any(c.field == "transcript" and c.before == text for c in note.history)
                assert times == 0, text
                assert told or phrase.cue, text
            elif times:
                inside = [v["said"] for v in values if start <= v["at"][0] and v["at"][1] <= end]
                assert (times, inside) == (1, []), text
            else:
                assert any(landed(note, phrase, r) for r in readings), f"lost: {text!r}: {readings}"
        assert expected == len(spare)


def check_no_word_is_lost(made: Tasting) -> None:
    """The transcripts are the phrases, and a word said is in them, private ones and an end cue's apart."""
    ends = [p for p in made.phrases if p.cue and p.cue.kind == "end"]
    written = {(p.at, p.text) for note in made.notes for p in note.transcript}
    assert sum(len(note.transcript) for note in made.notes) >= len(made.phrases) - len(ends)
    assert all((span(p.words), build.said(p.words)) in written for p in made.phrases if p not in ends)
    spans = [span(p.words) for p in made.phrases] + list(made.private)
    for word in made.words:
        assert any(a <= word.start_s + 0.001 and word.end_s <= b + 0.001 for a, b in spans), word


def check_only_words_said(made: Tasting) -> None:
    """A value quotes the words heard at its times, all that a reader pointed at, within the recording; a
    term of the lexicon stands in them. What is inferred quotes what it was inferred from."""
    for note in made.notes:
        assert note.recording is not None
        heard = [w for phrase in note.transcript for w in phrase.words]
        read_at = {span(p.words[r.first : r.last]) for p, readings in made.of(note) for r in readings}
        for path, value in quotes(as_document(note)):
            start, end = value.get("at") or (note.recording.start_s, note.recording.end_s)
            assert note.recording.start_s <= start <= end <= note.recording.end_s, path
            assert ("at" in value) == (value["source"] != "inferred"), path
            there = [Word(w.text, *w.at) for w in heard if start <= w.at[0] and w.at[1] <= end]
            if "at" in value:
                assert value["said"] == spoken_text(there), path
                assert path in SPARE or (start, end) in read_at, path
            else:
                assert all(part in spoken_text(there) for part in value["said"].split(", ")), path
            if value.get("known") and value.get("family"):
                assert says(value["said"], value["term"]), f"{path}: {value['term']!r} for {value['said']!r}"


@lru_cache(maxsize=4096)
def says(said: str, term: str) -> bool:
    """Whether words say a term of the lexicon, in any of the ways that it knows."""
    keys = {match_key(t.text) for t in tokenise([Word(w, 0.0, 1.0) for w in said.split()])}
    forms = load_lexicon().beginning(spelled(term)[0])
    entries = [entry for form, found in forms if form == spelled(term) for entry in found]
    return any(set(spelled(form)) <= keys for entry in entries for form in entry.said)


def check_history_leads_to_the_note(note: Note) -> None:
    """The changes of a value are a chain, the last of which ends with what the note holds."""
    lists = {*ABSENT_IN, *ABSENT_IN.values(), "wine.grapes", "transcript", "finish.seconds"}
    for path in {c.field for c in note.history} - lists:
        chain = [c for c in note.history if c.field == path]
        assert all(one.after == two.before for one, two in pairwise(chain)), path
        assert [plain(v) for v in held(note, path)] == [v for v in [chain[-1].after] if v is not None], path
        assert all(one.before != one.after for one in chain), path
    assert not {fold(d.term) for d in note.nose.aromas} & {fold(d.term) for d in note.nose.absent}
    when = [float(c.when.split()[0]) for c in note.history]
    assert when == sorted(when)


@lru_cache(maxsize=1)
def schema() -> jsonschema.Draft202012Validator:
    return jsonschema.Draft202012Validator(json_schema())


def check_valid_and_the_same_when_read_back(note: Note) -> None:
    document = json.loads(json.dumps(as_document(note)))
    assert list(schema().iter_errors(document)) == []
    assert read_note(document) == note


def check_clocks(notes: Sequence[Note]) -> None:
    """Timed finishes are whole, not negative, of their own wine's part, and do not overlap."""
    ends: list[float] = []
    for note in notes:
        finish = note.finish
        assert finish.seconds is None or finish.seconds >= 0
        assert (finish.how == "timed") == (finish.from_s is not None) == (finish.to_s is not None)
        if finish.from_s is not None and finish.to_s is not None:
            assert finish.seconds == pytest.approx(finish.to_s - finish.from_s, abs=0.006)
            assert note.recording is not None
            assert note.recording.start_s <= finish.from_s < finish.to_s <= note.recording.end_s
            ends += [finish.from_s, finish.to_s]
    assert ends == sorted(ends)


def check(words: Sequence[Word]) -> None:
    made = tasted(words)
    check_no_word_is_lost(made)
    check_each_phrase_lands_once(made)
    check_only_words_said(made)
    check_clocks(made.notes)
    for note in made.notes:
        check_history_leads_to_the_note(note)
        check_valid_and_the_same_when_read_back(note)


house = settings(max_examples=80, deadline=None, derandomize=True)


@house
@given(build.any_words())
def test_any_text(words: tuple[Word, ...]) -> None:
    check(words)


@house
@given(st.lists(LINES, min_size=1, max_size=8))
def test_what_trips_readers(lines: list[str]) -> None:
    check(build.breaths(lines))


@house
@given(st.lists(st.sampled_from(TALK) | LINES, min_size=1, max_size=8))
def test_tasters_lines_in_any_order(lines: list[str]) -> None:
    check(build.breaths(lines))


@house
@given(st.lists(st.sampled_from(CUES) | LINES, min_size=1, max_size=10), st.sampled_from([0.1, 1.2, 20.0]))
def test_cues_in_any_order(lines: list[str], gap_s: float) -> None:
    check(build.breaths(lines, gap_s=gap_s))
