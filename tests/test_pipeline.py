"""All rooms together, from words to notes: cues, corrections, several wines, privacy, and any text."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictate import pipeline
from dictate.cues import find_cues
from dictate.lexicon import load_lexicon
from dictate.note import Note, as_document, read_note
from dictate.recognise.weights import ModelError
from dictate.repair import repair_words
from dictate.settings import Settings
from dictate.values import Heard, Word
from tests import build


def notes_of(words: tuple[Word, ...]) -> tuple[Note, ...]:
    heard = Heard(words, words[-1].end_s if words else 0.0, "by hand")
    return pipeline.notes_from_words(heard, settings=Settings(), recording=build.RECORDING)


def notes(*lines: str, gap_s: float = build.GAP_S) -> tuple[Note, ...]:
    return notes_of(build.breaths(lines, gap_s=gap_s))


def one(*lines: str) -> Note:
    (note,) = notes(*lines)
    return note


def terms(items: Any) -> list[str]:
    return [item.term for item in items]


def told(note: Note) -> list[tuple[str, Any, Any]]:
    return [(c.field, c.before, c.after) for c in note.history]


def test_no_speech_no_notes() -> None:
    assert notes() == ()


WINE = (
    "next wine, number four, a Barolo, twenty eighteen",
    "clear, pale ruby",
    "on the nose cherry and violets",
    "dry, high acidity, high tannin, full bodied",
    "spitting now",
    "still there, a bit saline",
    "all gone",
    "very good, ninety one points",
)


def test_a_wine_from_its_name_to_its_points() -> None:
    note = one(*WINE)
    assert note.wine.position == 4
    assert note.wine.origin is not None
    assert note.wine.origin.text == "barolo"
    assert note.wine.vintage is not None
    assert note.wine.vintage.year == 2018
    assert note.wine.colour is not None
    assert (note.wine.colour.term, note.wine.colour.source) == ("red", "inferred")
    assert note.appearance.clarity is not None
    assert note.appearance.hue is not None
    assert (note.appearance.clarity.term, note.appearance.hue.term) == ("clear", "ruby")
    assert terms(note.nose.aromas) == ["cherry", "violet"]
    assert note.palate.acidity is not None
    assert note.palate.tannin is not None
    assert note.palate.body is not None
    assert min(note.palate.acidity.level, note.palate.tannin.level, note.palate.body.level) > 6.5
    assert (note.finish.how, terms(note.finish.flavours)) == ("timed", ["saline"])
    assert note.finish.from_s is not None
    assert note.finish.to_s is not None
    assert note.finish.seconds == pytest.approx(note.finish.to_s - note.finish.from_s)
    assert note.verdict.score is not None
    assert (note.verdict.score.points, note.verdict.score.out_of) == (91, 100)
    assert (note.remarks, note.asides, note.history) == ([], [], [])


TERSE = [
    (
        "next wine|Lemon.|Pale.|on the nose|Nothing.|Bit closed.|Young.|Acids very high.|Body light."
        "|Long.|Good.",
        {"appearance.hue": "lemon", "appearance.depth": 2.2, "nose.intensity": 2.2, "nose.age": "young",
         "palate.acidity": 9.2, "palate.body": 2.2, "finish.length": 7.5, "verdict.quality": 6.8},
        ([], []),
    ),
    (
        "next wine, number six|Mid-gold core, watery rim.|Peach.|Nose is shut.|Alcohol a touch warm."
        "|Body fuller than medium.|Quick.|Nowhere near ready.",
        {"appearance.hue": "gold", "appearance.depth": 5.0, "nose.intensity": 2.2, "palate.alcohol": 6.0,
         "palate.body": 6.5, "finish.length": 2.2, "verdict.readiness": "keep"},
        (["peach"], []),
    ),
    (
        "next wine, a Syrah|Black ruby.|the last nose was closed|Lemon would be too strong a word"
        "|on the palate|not that high|acids were higher last year|Warm room.|Long day.|Good question.",
        {"appearance.hue": "ruby"},
        ([], []),
    ),
]  # fmt: skip


@pytest.mark.parametrize(("lines", "values", "things"), TERSE)
def test_a_taster_of_few_words(
    lines: str, values: dict[str, Any], things: tuple[list[str], list[str]]
) -> None:
    note = one(*lines.split("|"))
    got = {
        f"{name}.{key}": value.get("term", value.get("level"))
        for name in ("appearance", "nose", "palate", "finish", "verdict")
        for key, value in as_document(note).get(name, {}).items()
        if isinstance(value, dict)
    }
    assert got == values
    assert (terms(note.nose.aromas), terms(note.palate.flavours)) == things


def test_several_wines_in_one_recording_share_nothing() -> None:
    other = ("next wine, number five, a Riesling", "pale lemon", "low acidity")
    first, second, third = notes(*WINE, *other, *WINE[:2], "end of tasting")
    assert [n.wine.position for n in (first, second, third)] == [4, 5, 4]
    assert terms(second.wine.grapes) == ["riesling"]
    assert (second.wine.origin, second.wine.vintage, second.finish.seconds) == (None, None, None)
    assert len({n.id for n in (first, second, third)}) == 3
    spans = [(n.recording.start_s, n.recording.end_s) for n in (first, second, third) if n.recording]
    assert spans == sorted(spans)
    assert all(a[1] <= b[0] for a, b in zip(spans, spans[1:], strict=False))


def test_talk_at_the_bench_before_the_first_wine_is_no_note_of_its_own() -> None:
    note = one("did anyone see my pen", "can someone shut the door", *WINE)
    assert [a.text for a in note.asides] == ["did anyone see my pen", "can someone shut the door"]
    assert note.wine.position == 4


def test_a_wine_before_the_first_next_wine_is_a_note() -> None:
    assert [n.wine.position for n in notes(*WINE[1:], *WINE)] == [None, 4]
    assert len(notes("spitting now", "all gone", "next wine, number two")) == 2


CLOCKS: list[tuple[str, tuple[str, ...], float | None, list[tuple[Any, Any]]]] = [
    ("timed", ("spitting now", "all gone"), 1.8, []),
    ("holding stops nothing", ("spitting now", "still there", "all gone"), 3.6, []),
    ("words stop nothing", ("spitting now", "lemon and salt", "all gone"), 3.9, []),
    (
        "away twice",
        ("spitting now", "swallowing now", "all gone"),
        1.8,
        [("clock running", "clock started again")],
    ),
    ("gone without away", ("high acidity", "all gone"), None, []),
    ("away without gone", ("spitting now", "lemon and salt"), None, [("clock running", "never stopped")]),
    (
        "away without gone, still there",
        ("spitting now", "still there"),
        None,
        [("clock running", "never stopped: at least 1.80 s")],
    ),
    (
        "strike that behind gone",
        ("spitting now", "all gone", "strike that", "all gone"),
        5.4,
        [(1.8, "clock running")],
    ),
    (
        "strike that behind gone, never gone again",
        ("spitting now", "all gone", "strike that"),
        None,
        [(1.8, "clock running"), ("clock running", "never stopped")],
    ),
    ("strike that behind away", ("spitting now", "strike that"), None, [("clock started", "taken back")]),
    ("the fruit's gone", ("spitting now", "the fruit's gone"), None, [("clock running", "never stopped")]),
]


@pytest.mark.parametrize(("lines", "seconds", "history"), [c[1:] for c in CLOCKS], ids=[c[0] for c in CLOCKS])
def test_clock(lines: tuple[str, ...], seconds: float | None, history: list[tuple[Any, Any]]) -> None:
    note = one("next wine, number one", *lines)
    assert note.finish.seconds == (None if seconds is None else pytest.approx(seconds))
    assert [(b, a) for f, b, a in told(note) if f == "finish.seconds"] == history


def test_a_stated_length_beside_a_timed_one() -> None:
    note = one("spitting now", "all gone", "the finish is about twelve seconds")
    assert (note.finish.how, note.finish.seconds) == ("timed", 1.8)
    assert told(note) == [("finish.seconds", 12.0, "1.80 s timed; the length stated differs by 567%")]


def test_make_the_acidity_high() -> None:
    note = one("medium acidity", "no, make the acidity high")
    assert note.palate.acidity is not None
    assert (note.palate.acidity.level, note.palate.acidity.source) == (8.0, "stated later")
    assert told(note) == [("palate.acidity", 5.0, 8.0)]
    assert note.remarks == []


def test_i_said_light_i_meant_medium() -> None:
    note = one("on the palate, light bodied", "I said light, I meant medium bodied")
    assert note.palate.body is not None
    assert (note.palate.body.level, note.palate.body.source) == (5.0, "stated later")
    assert [field for field, _, _ in told(note)] == ["palate.body"]


def test_scrap_the_violets() -> None:
    note = one("on the nose cherry and violets", "scrap the violets", "and plum on the nose")
    assert terms(note.nose.aromas) == ["cherry", "plum"]
    assert told(note) == [("nose.aromas", "violet", None)]


def test_scrap_what_was_never_said() -> None:
    note = one("on the nose cherry", "scrap the violets")
    assert terms(note.nose.aromas) == ["cherry"]
    assert told(note) == []
    assert "scrap the violets" in [t.text for t in (*note.remarks, *note.asides)]


def test_strike_that() -> None:
    note = one("on the nose cherry", "and a lot of violets on the nose", "strike that", "high acidity")
    assert terms(note.nose.aromas) == ["cherry"]
    assert told(note) == [("transcript", "and a lot of violets on the nose", None)]
    assert "and a lot of violets on the nose" in [t.text for t in note.transcript]


@pytest.mark.parametrize(
    "lines",
    [("high acidity",), ("medium acidity", "medium tannin"), ("on the nose cherry", "on the nose plum")],
)
def test_no_correction_no_history(lines: tuple[str, ...]) -> None:
    assert told(one(*lines)) == []


def test_still_there_behind_strike_that_is_a_cue() -> None:
    note = one("spitting now", "all gone", "strike that", "still there", "all gone")
    assert [t.stage for t in note.transcript] == ["cue"] * 5


def test_still_there_is_no_style() -> None:
    assert one("still there").wine.style is None


def test_an_orange_wine_is_not_from_orange() -> None:
    note = one("next wine, number two, an orange Pinot Gris")
    assert note.wine.colour is not None
    assert (note.wine.colour.term, note.wine.origin) == ("orange", None)


@pytest.mark.parametrize(
    ("lines", "colour", "source"),
    [
        (("next wine, a Barolo",), "red", "inferred"),
        (("next wine, number one, a Riesling",), "white", "inferred"),
        (("next wine, number one, a sparkling rosé from Champagne", "the colour is ruby"), "rosé", "spoken"),
        (("next wine, number one, a white Syrah",), "white", "spoken"),
    ],
)
def test_colour_is_inferred_but_never_over_what_was_said(
    lines: tuple[str, ...], colour: str, source: str
) -> None:
    note = one(*lines)
    assert note.wine.colour is not None
    assert (note.wine.colour.term, note.wine.colour.source) == (colour, source)


def dumped(made: tuple[Note, ...]) -> str:
    return json.dumps([as_document(n) for n in made], ensure_ascii=False)


SECRET = "zanzibar"
PRIVATE = st.lists(
    st.sampled_from(
        [
            "he asked",
            "next wine, number nine",
            "spitting now",
            "all gone",
            "strike that",
            "ninety points",
            "end of tasting",
        ]
    ).map(lambda line: f"{line}, {SECRET}"),
    max_size=5,
)


@settings(max_examples=40, deadline=None)
@given(PRIVATE, st.booleans())
def test_private_words_are_nowhere_in_the_notes(between: list[str], back: bool) -> None:
    lines = ["next wine, number four", "high acidity", f"off the record, {SECRET} is broke", *between]
    lines += ["back on the record", "low tannin"] if back else []
    made = notes(*lines)
    assert SECRET not in dumped(made)
    (note,) = made
    assert note.wine.position == 4
    assert (note.palate.tannin is not None) == back


def test_the_same_words_in_public_are_in_the_notes() -> None:
    assert SECRET in dumped(notes("next wine, number four", f"on the record, {SECRET} is broke"))


@settings(max_examples=200, deadline=None)
@given(build.any_words())
def test_any_text_gives_notes_that_validate_round_trip_and_lose_no_word(words: tuple[Word, ...]) -> None:
    made = notes_of(words)
    for note in made:
        assert read_note(json.loads(json.dumps(as_document(note)))) == note
        assert note.finish.seconds is None or note.finish.seconds >= 0
    lexicon = load_lexicon()
    sounds = pipeline.sounds_of(lexicon)
    repaired = repair_words(words, lexicon, table=pipeline._repairs(), sounds=sounds).words
    found = find_cues(repaired, pipeline._cues(()))
    public = sorted([*found.kept, *(w for c in found.cues for w in c.words)], key=lambda w: w.start_s)
    ends = [w for c in found.cues if c.kind == "end" for w in c.words]
    said = [w.text for n in made for p in n.transcript for w in p.words]
    # only the end cue is no wine's where it stands alone
    assert said == [w.text for w in public] or (len(public) - len(said) <= len(ends) and bool(ends))


LINES = ["spitting now", "still there", "all gone", "strike that", "next wine, number two", "end of tasting"]
FED: dict[str, Callable[[Note], bool]] = {
    "still there": lambda n: n.wine.style is not None,  # wrongly: the known failure above
    "number two": lambda n: n.wine.position == 2,
    "high acidity": lambda n: n.palate.acidity is not None,
    "oyster shell": lambda n: bool(n.nose.aromas or n.palate.flavours or n.finish.flavours),
}


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from([*LINES, "swallowing now", "oyster shell", "high acidity"]), max_size=14))
def test_any_order_of_cues_obeys_the_clock_s_rules(lines: list[str]) -> None:
    made = notes(*lines)
    clocks = [(n.finish.from_s, n.finish.to_s) for n in made if n.finish.how == "timed"]
    ends = [s for clock in clocks for s in clock if s is not None]
    assert len(ends) == 2 * len(clocks)
    assert all(before < after for before, after in zip(ends, ends[1:], strict=False))
    for note in made:
        kept = [t.text for t in (*note.remarks, *note.asides)] + [c.before for c in note.history]
        words = [p.text for p in note.transcript if p.stage != "cue"]
        assert [w for w in words if w not in kept and not (w in FED and FED[w](note))] == []


def test_finish_is_in_step_with_the_words_times() -> None:
    words = (*build.words("spitting now", at=2.0), *build.words("all gone", at=15.42, utterance=1))
    (note,) = notes_of(words)
    assert (note.finish.seconds, note.finish.from_s, note.finish.to_s) == (13.42, 2.0, 15.42)


def test_a_transcript_on_disk_gives_the_same_notes_and_says_where_from(tmp_path: Path) -> None:
    path = tmp_path / "flight.vtt"
    path.write_text(
        "WEBVTT\n\n00:00.000 --> 00:01.000\nnext wine, number four\n\n"
        "00:02.000 --> 00:03.000\nspitting now\n\n00:15.000 --> 00:16.000\nall gone\n",
        encoding="utf-8",
    )
    (note,) = pipeline.notes_from_source(path, recogniser=None, settings=Settings())
    assert (note.wine.position, note.finish.seconds) == (4, 13.0)
    assert note.recording is not None
    assert note.recording.path == str(path)
    assert len(note.recording.sha256) == 64
    assert note.made_with is not None
    assert note.made_with.model == "transcript"


def test_a_recording_needs_a_recogniser(tmp_path: Path) -> None:
    with pytest.raises(ModelError):
        pipeline.notes_from_source(tmp_path / "a.wav", recogniser=None, settings=Settings())
