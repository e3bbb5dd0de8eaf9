"""The board: what is filled, what is missing of which wine, and that private words are not in it."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictate import note as n
from dictate.board.board import (
    MISSING_AT,
    MODE_WORDS,
    NO_WINE,
    PLACES,
    Board,
    Clock,
    as_json,
    change_line,
    clock_caption,
    clock_figures,
    is_moving,
    mode_words,
    rows_of,
    sound_share,
)
from tests.board.boards import RUNNING, board, level, named, of, red, term, whole
from tests.note.notes import NOTE
from tests.test_house import HOUSE, reaches_out, read

ALWAYS = {"name", "clearness", "colour", "depth", "smells", "acid", "sugar", "tastes", "warmth", "weight"}
ALWAYS |= {"how long", "how good"}


def wine(**fields: Any) -> n.Note:
    return n.Note(id="x", wine=n.Wine(**fields))


def test_the_pure_files_touch_no_file_clock_or_thread() -> None:
    for name in ("board", "figures"):
        assert reaches_out(read(HOUSE / "board" / f"{name}.py")) == []


def test_what_was_said_stands_by_place_in_words_of_the_page() -> None:
    assert of(red()).filled == (
        ("wine", ("red",)),
        ("eye", ("clear", "medium to deep (6)", "ruby")),
        ("nose", ("raspberry, pencil shavings, green pepper, violet",)),
        ("mouth", ("fresh acidity (7.5)", "medium bodied (5)", "red cherry, graphite")),
    )


def test_the_title_leaves_out_the_number_that_the_heading_gives() -> None:
    assert of(red(), number=3).title == "Copper Ladle, Cabernet Franc, Chinon, 2018"
    assert of(red(), number=2).title.startswith("3, Copper Ladle")
    assert of(None, number=0).title == NO_WINE


def test_of_a_red_grip_is_asked_and_bubbles_are_not() -> None:
    assert set(of(wine(colour=term("red"))).missing) == ALWAYS | {"grip"}
    assert set(of(wine(colour=term("orange"))).missing) == ALWAYS | {"grip"}


@pytest.mark.parametrize("colour", ["white", "rosé", None])
def test_of_others_and_of_an_unknown_colour_grip_is_not_asked(colour: str | None) -> None:
    note = wine(colour=term(colour)) if colour else n.Note(id="x")
    assert set(of(note).missing) == ALWAYS


def test_bubbles_are_asked_of_sparkling_wine_alone() -> None:
    assert set(of(wine(style=term("sparkling"))).missing) == ALWAYS | {"bubbles"}
    assert "bubbles" not in of(wine(style=term("still"))).missing
    assert "bubbles" not in of(wine(style=term("fortified"))).missing


def test_what_is_there_is_not_missing() -> None:
    assert of(red()).missing == ("grip", "sugar", "warmth", "how long", "how good")
    assert of(whole("red", "sparkling")).missing == ()
    assert of(None, number=0).missing == ()


@pytest.mark.parametrize(
    ("field", "value", "word"),
    [
        ("wine", n.Wine(code="741"), "name"),
        ("wine", n.Wine(origin=n.Text(text="chinon")), "name"),
        ("nose", n.Nose(intensity=level(0, "nothing at all")), "smells"),
        ("palate", n.Palate(tannin_texture=named("chalky")), "grip"),
        ("finish", n.Finish(length=level(8, "long")), "how long"),
        ("verdict", n.Verdict(score=n.Score(points=92)), "how good"),
    ],
)
def test_other_ways_to_say_it_count(field: str, value: object, word: str) -> None:
    assert word not in of(n.Note(id="x", **{field: value})).missing


@pytest.mark.parametrize(
    ("field", "value", "word"),
    [
        ("wine", n.Wine(position=4, vintage=n.Vintage(year=2018), colour=term("red")), "name"),
        ("nose", n.Nose(absent=named("oak")), "smells"),
        ("finish", n.Finish(flavours=named("salt")), "how long"),
        ("verdict", n.Verdict(readiness=term("keep")), "how good"),
    ],
)
def test_these_do_not_count(field: str, value: object, word: str) -> None:
    assert word in of(n.Note(id="x", **{field: value})).missing


def test_what_the_clock_measures_is_not_asked() -> None:
    assert "how long" not in of(red(), clock=RUNNING).missing
    assert "how long" not in of(red(), clock=Clock("stopped", seconds=3.0)).missing
    assert "how long" in of(red(), clock=Clock()).missing


def test_each_place_keeps_its_row_and_the_taster_is_at_one() -> None:
    rows = rows_of(of(red(), stage="palate"))
    assert tuple(row.place for row in rows) == PLACES
    assert [row.place for row in rows if row.here] == ["mouth"]
    assert {row.place: row.missing for row in rows}["mouth"] == ("grip", "sugar", "warmth")
    assert not any(row.here for row in rows_of(of(red(), stage="aside")))


def test_faults_and_the_last_remark_come_below() -> None:
    note = red().model_copy(
        update={
            "faults": [n.Fault(term="cork taint", certain=False)],
            "remarks": [n.Text(text="first remark"), n.Text(text="second remark")],
        }
    )
    rows = {row.place: row.parts for row in rows_of(of(note))}
    assert rows["faults"] == ("cork taint perhaps",)
    assert rows["also said"] == ("“second remark”",)


def test_the_words_within_a_place_are_in_no_order_but_the_alphabet() -> None:
    for place in PLACES:
        words = [word for word, at in MISSING_AT.items() if at == place]
        assert words == sorted(words)


@given(st.text(min_size=1), st.text(max_size=20), st.sampled_from(["private", "catching_up"]))
def test_words_that_are_private_or_may_be_are_not_in_the_board(said: str, marker: str, mode: str) -> None:
    secret = f"SECRET{said}{marker}"
    made = of(red(), mode=mode, last_heard=secret)
    assert made.last_heard == ""
    assert "SECRET" not in json.dumps(as_json(made))


def test_a_board_made_private_by_hand_forgets_too_and_a_public_one_does_not() -> None:
    public = of(red(), last_heard="ripe cherry")
    assert public.last_heard == "ripe cherry"
    assert replace(public, mode="private").last_heard == ""
    assert replace(public, mode="paused").last_heard == "ripe cherry"


@pytest.mark.parametrize(
    ("clock", "at_s", "figures"),
    [
        (Clock(), 50.0, ""),
        (RUNNING, 113.49, "13.4"),
        (RUNNING, 100.3, "0.3"),
        (RUNNING, 99.0, "0.0"),  # the board's second is behind the cue's
        (RUNNING, math.inf, "0.0"),
        (Clock("running"), 50.0, ""),
        (Clock("stopped", seconds=13.424), 50.0, "13.42"),
        (Clock("stopped", seconds=13.424, sure=False), 50.0, "13.4"),
        (Clock("stopped", seconds=104.0), 50.0, "104.00"),
        (Clock("stopped"), 50.0, ""),
    ],
)
def test_figures(clock: Clock, at_s: float, figures: str) -> None:
    assert clock_figures(clock, at_s) == figures


def test_an_unsure_clock_says_so() -> None:
    assert "not yet checked" in clock_caption(replace(RUNNING, sure=False))
    assert "not yet checked" not in clock_caption(RUNNING)
    assert "not yet checked" not in clock_caption(Clock(sure=False))


@pytest.mark.parametrize(
    ("level_db", "share"),
    [(None, None), (math.nan, None), (-math.inf, 0), (-60, 0), (-30, 0.5), (0, 1), (6, 1)],
)
def test_the_sound_bar(level_db: float | None, share: float | None) -> None:
    assert sound_share(level_db) == share


def test_odd_characters_and_numbers_give_clean_json() -> None:
    odd = board(
        title="a\x1b[31m\u202eb\ud800",
        last_heard="x\x00\ny",
        problem="p\r\nq",
        at_s=math.nan,
        clock=Clock("running", since_s=math.inf),
    )
    text = json.dumps(as_json(odd), allow_nan=False)
    data = json.loads(text)
    assert (data["title"], data["last_heard"], data["problem"]) == ("a [31m b", "x y", "p q")
    assert data["at_s"] == 0
    assert data["clock"]["since_s"] == 0


def test_long_words_are_cut() -> None:
    assert len(of(red(), last_heard="word " * 500).last_heard) <= 240


def test_how_much_there_is_to_catch_up_with() -> None:
    assert mode_words(of(red(), mode="catching_up", to_hear=12)) == "catching up, 12 to go"
    assert mode_words(of(red(), mode="private", to_hear=12)) == "off the record"


def test_the_clock_goes_on_while_the_notes_are_paused() -> None:
    assert [mode for mode in MODE_WORDS if is_moving(of(red(), mode=mode))] == [
        "listening", "paused", "private", "catching_up",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("change", "line"),
    [
        (("palate.acidity", 5.0, 7.5), "mouth acidity: 5 → 7.5"),
        (("nose.aromas", "violet", None), "nose aromas: violet → nothing"),
        (("palate.tannin_texture", None, "chalky"), "mouth tannin texture: nothing → chalky"),
        (("finish.seconds", "clock started", "taken back"), "after seconds: clock started → taken back"),
        (("wine.vintage", 2018, 2019), "wine vintage: 2018 → 2019"),
        (("faults", "cork taint", None), "faults: cork taint → nothing"),
        (("transcript", "very high acid", None), "struck: “very high acid”"),
    ],
)
def test_a_change_is_told_in_words(change: tuple[str, Any, Any], line: str) -> None:
    field, before, after = change
    (changed,) = of(red(), changes=[n.Change(when="1", field=field, before=before, after=after)]).changed
    assert change_line(changed) == line
    assert as_json(of(red()))["changed"] == []
    assert as_json(replace(of(red()), changed=(changed,)))["changed"] == [line]


def test_a_pause_tells_how_it_ends() -> None:
    assert "resume the notes" in as_json(of(red(), mode="paused"))["paused"]
    assert as_json(of(red()))["paused"] == ""


@settings(max_examples=40)
@given(NOTE)
def test_any_note_has_a_board(note: n.Note) -> None:
    made = of(note)
    assert isinstance(made, Board)
    json.dumps(as_json(made), allow_nan=False)
    assert set(made.missing) <= set(MISSING_AT)
