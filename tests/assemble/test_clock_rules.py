"""The finish clock's rules, each from words through all rooms to the note and the page that is read.

`test_finish.py` tests the same rules on phrases alone.
"""

from __future__ import annotations

import argparse
import re
from pathlib import Path

import pytest

from dictate import cli, pipeline
from dictate.export import as_markdown, as_summary
from dictate.note import UNCLEAR_BELOW, Note
from dictate.settings import Settings
from dictate.values import Heard
from tests import build

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
BEFORE = ("next wine, number one, a Riesling", "dry, high acidity")


def notes(*lines: str) -> tuple[Note, ...]:
    words = build.breaths((*BEFORE, *lines))
    heard = Heard(words, words[-1].end_s, "by hand")
    return pipeline.notes_from_words(heard, settings=Settings(), recording=build.RECORDING)


def one(*lines: str) -> Note:
    (note,) = notes(*lines)
    return note


def told(note: Note) -> list[tuple[object, object]]:
    return [(c.before, c.after) for c in note.history if c.field == "finish.seconds"]


def finish_line(note: Note) -> str:
    """The page's line of the finish, "" where it has none; the terminal says the same."""
    found = re.search(r"^\*\*Finish\.\*\* (.*)$", as_markdown(note), flags=re.MULTILINE)
    line = found.group(1) if found else ""
    assert line in as_summary(note)
    return line


def cue_texts(note: Note) -> list[str]:
    return [p.text for p in note.transcript if p.stage == "cue"]


def test_onset_to_onset() -> None:
    note = one("spitting now", "all gone")
    assert (note.finish.how, note.finish.seconds) == ("timed", 1.8)
    assert (told(note), finish_line(note)) == ([], "held 1.80 s, timed by cue.")


def test_away_twice_restarts_the_clock_and_the_history_says_so() -> None:
    note = one("spitting now", "lemon peel", "swallowing now", "all gone")
    assert note.finish.seconds == 1.8
    assert told(note) == [("clock running", "clock started again")]


def test_away_behind_a_stopped_clock_restarts_it_too() -> None:
    note = one("spitting now", "all gone", "swallowing now", "still there", "all gone")
    assert note.finish.seconds == 3.6
    assert told(note) == [(1.8, "clock started again")]


def test_gone_without_away_gives_no_number_and_is_kept() -> None:
    note = one("all gone")
    assert (note.finish.seconds, note.finish.how, told(note)) == (None, None, [])
    assert (cue_texts(note)[-1], finish_line(note)) == ("all gone", "")


def test_away_without_gone_before_the_next_wine_is_open_and_the_page_says_at_least() -> None:
    first, second = notes("spitting now", "still there", "lemon peel", "still there", "next wine, number two")
    assert (first.finish.seconds, first.finish.from_s, first.finish.to_s) == (None, None, None)
    assert told(first) == [("clock running", "never stopped: at least 5.40 s")]
    assert finish_line(first) == "clock never stopped: at least 5.40 s; lemon peel."
    assert (told(second), finish_line(second)) == ([], "")


def test_a_clock_of_one_wine_is_not_stopped_in_the_next() -> None:
    first, second = notes("spitting now", "next wine, number two", "all gone")
    assert (first.finish.seconds, second.finish.seconds) == (None, None)
    assert finish_line(first) == "clock never stopped."
    assert cue_texts(second)[-1] == "all gone"


def test_strike_that_behind_gone_lets_the_clock_run_and_a_later_gone_stops_it() -> None:
    note = one("spitting now", "all gone", "strike that", "lemon peel", "still there", "yeah, gone")
    assert note.finish.seconds == 9.3
    assert told(note) == [(1.8, "clock running")]
    assert finish_line(note) == "held 9.30 s, timed by cue; lemon peel."


def test_strike_that_behind_gone_and_no_gone_again_leaves_it_open() -> None:
    note = one("spitting now", "still there", "all gone", "strike that", "still there")
    assert note.finish.seconds is None
    assert finish_line(note) == "clock never stopped: at least 7.20 s."


def test_strike_that_behind_words_leaves_a_stopped_clock() -> None:
    note = one("spitting now", "all gone", "the finish is lemon peel", "strike that")
    assert (note.finish.seconds, told(note)) == (1.8, [])


def test_strike_that_behind_away_is_no_clock() -> None:
    note = one("spitting now", "strike that", "all gone")
    assert (note.finish.seconds, told(note)) == (None, [("clock started", "taken back")])


@pytest.mark.parametrize(
    ("stated", "page"),
    [
        ("the finish is about five seconds", "stated as 5 s"),
        ("the finish is about twelve seconds", "stated as 12 s, which differs by 150%"),
    ],
)
@pytest.mark.parametrize("during", [True, False])
def test_a_stated_length_is_kept_beside_the_timed_one_which_holds(
    stated: str, page: str, during: bool
) -> None:
    # 4.8 s from onset to onset either way
    lines = ("spitting now", stated, "all gone") if during else (
        "spitting now", "lemon peel a lot of salt", "all gone", stated,
    )  # fmt: skip
    note = one(*lines)
    assert (note.finish.how, note.finish.seconds) == ("timed", 4.8)
    ((before, after),) = told(note)
    assert (before, isinstance(after, str)) == (5.0 if "five" in stated else 12.0, "differs" in page)
    assert finish_line(note).startswith(f"held 4.80 s, timed by cue; {page}")
    assert ("differs" in finish_line(note)) == ("differs" in page)


def test_a_stated_length_stands_where_the_clock_was_never_stopped() -> None:
    note = one("spitting now", "still there", "about twelve seconds")
    assert (note.finish.how, note.finish.seconds, note.finish.to_s) == ("stated", 12, None)
    assert finish_line(note) == "about 12 s, as stated; clock never stopped: at least 1.80 s."


def test_words_spoken_while_the_clock_runs_are_of_the_finish_and_do_not_stop_it() -> None:
    said = ("lemon peel", "the fruit's gone", "high acidity", "gone to tobacco", "not gone yet", "salty")
    note = one("spitting now", *said, "all gone", "very good")
    stages = {p.text: p.stage for p in note.transcript}
    assert {stages[text] for text in said} == {"finish"}
    assert stages["very good"] != "finish"
    assert (note.finish.how, cue_texts(note)[-2:]) == ("timed", ["spitting now", "all gone"])
    assert note.finish.seconds == pytest.approx(13.2)


def with_onsets(note: Note, confidence: float) -> Note:
    """The note, had its cues' onsets been found with this confidence."""
    return note.model_copy(update={"finish": note.finish.model_copy(update={"confidence": confidence})})


@pytest.mark.parametrize("sure", [UNCLEAR_BELOW, 0.8, 1.0])
def test_clear_onsets_give_hundredths(sure: float) -> None:
    note = with_onsets(one("spitting now", "all gone"), sure)
    assert finish_line(note) == "held 1.80 s, timed by cue."


@pytest.mark.parametrize("sure", [0.0, 0.3, 0.499])
def test_unclear_onsets_are_told_in_words_and_have_no_hundredths(sure: float) -> None:
    note = with_onsets(one("spitting now", "all gone"), sure)
    assert note.finish.seconds == 1.8  # the figure is kept
    line = finish_line(note)
    assert line == "held about 1.8 s, timed by cue, but where a cue begins is unclear in the sound."


def test_the_readme_and_the_help_tell_what_a_hundredth_means(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        cli.main(["note", "--help"])
    told_in_help = " ".join(capsys.readouterr().out.split())
    for text in (told_in_help, " ".join(README.split())):
        for fact in ("0.01 s", "0.2 s late", "reaction", "announce", "at least", "about"):
            assert fact in text
    commands = next(a for a in cli._parser()._actions if isinstance(a, argparse._SubParsersAction)).choices
    assert "late" not in str(commands["words"].epilog)


def test_a_length_said_right_behind_the_clock_is_of_the_finish() -> None:
    """Even where nothing was said of the palate: the cues themselves are at the finish."""
    words = build.breaths(("next wine, number one", "spitting now", "all gone", "twelve seconds or so"))
    heard = Heard(words, words[-1].end_s, "by hand")
    (note,) = pipeline.notes_from_words(heard, settings=Settings(), recording=build.RECORDING)
    assert note.transcript[-1].stage == "finish"
    assert "stated as 12 s" in finish_line(note)
