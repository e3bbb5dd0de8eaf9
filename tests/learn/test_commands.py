"""`dictate words heard` and `dictate words learn`, and what is kept of them, as a user meets them."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from dictate import cli
from dictate.library import Library
from dictate.note import Note
from dictate.personal import WordsError, make_word
from dictate.personal.habits import (
    CuePhrase,
    Habits,
    LevelUse,
    Own,
    habits_from_json,
    habits_to_json,
    with_cue,
    with_declined,
    with_level,
)
from dictate.personal.store import change_own, habits_path, load_habits, load_own
from dictate.values import CueKind
from tests.learn.made import acidity, body, flavours, heard

Capture = pytest.CaptureFixture[str]
SAILING = "heard “sailing” three times; meant “saline” (descriptor)"
MEDIUM = "your “medium plus” is 7.5, not 6.5 (put right 3 times)"


@pytest.fixture
def library(own_home: Path) -> Path:
    """Three notes in which saline was heard as sailing and medium plus is not ours."""
    path = own_home / "library.sqlite"
    own_home.mkdir()
    with Library.open(path) as kept:
        for number in range(3):
            kept.add(corrected(number))
    return path


def corrected(number: int) -> Note:
    thing, put = (("body", body), ("acidity", acidity))[number % 2]
    note = heard(number, "on the palate, lime, bit sailing", f"the {thing} is medium plus")
    return put(flavours(note, "lime", "saline"), 7.5)


def run(capsys: Capture, *arguments: str, code: int = 0) -> tuple[str, str]:
    assert cli.main(["words", *arguments]) == code
    captured = capsys.readouterr()
    return captured.out, captured.err


def at_a_terminal(monkeypatch: pytest.MonkeyPatch, typed: str) -> None:
    stdin, stderr = io.StringIO(typed), sys.stderr
    monkeypatch.setattr(stdin, "isatty", lambda: True)
    monkeypatch.setattr("sys.stdin", stdin)
    assert stderr is not None


def test_how_each_kind_was_heard_is_told(library: Path, capsys: Capture) -> None:
    out, err = run(capsys, "heard")
    assert err == ""
    assert "in 3 notes that you looked at" in out
    lines = {line.split()[0]: line for line in out.splitlines() if line.strip()}
    assert lines["flavours"].split()[1:] == ["6", "50%", "0", "3", "0"]
    assert lines["levels"].split()[1:] == ["3", "0%", "3", "0", "0"]
    assert "“sailing” for saline (3 times)" in out


def test_where_nothing_was_put_right_that_is_told(own_home: Path, capsys: Capture) -> None:
    assert "No note was put right yet" in run(capsys, "heard")[0]
    assert run(capsys, "learn") == ("Nothing new to learn from what you put right.\n", "")


def test_what_could_be_learnt_is_asked_and_each_answer_kept(
    library: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    at_a_terminal(monkeypatch, "what?\ny\nn\n")
    out, _ = run(capsys, "learn")
    assert out.splitlines()[0].startswith("2 things could be learnt.")
    assert f"not learnt: {SAILING}" in out
    assert f"learnt: {MEDIUM}" in out
    assert load_own() == Own(
        (), Habits((LevelUse("medium plus", 7.5),), (), (("word/descriptor/saline", 3),))
    )
    at_a_terminal(monkeypatch, "y\n")
    assert run(capsys, "learn")[0] == "Nothing new to learn from what you put right.\n"
    with Library.open(library) as kept:  # seen again, it is asked again
        kept.add(corrected(9))
    at_a_terminal(monkeypatch, "y\n")
    assert "learnt: heard “sailing” four times; meant “saline” (descriptor)" in run(capsys, "learn")[0]
    assert load_own().words == (make_word("saline", "descriptor", heard_as=["sailing"]),)


@pytest.mark.parametrize("typed", ["", "q\n", "\n\n"])
def test_what_is_left_for_later_is_asked_again(
    library: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch, typed: str
) -> None:
    at_a_terminal(monkeypatch, typed)
    run(capsys, "learn")
    assert load_own() == Own()
    at_a_terminal(monkeypatch, "q\n")
    assert "2 things could be learnt." in run(capsys, "learn")[0]


def test_with_nobody_to_ask_nothing_is_learnt_and_with_yes_all_is(
    library: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("y\ny\n"))
    out, err = run(capsys, "learn")
    assert out.splitlines() == [f"1. {MEDIUM}", f"2. {SAILING}"]
    assert err == "dictate: nobody is there to ask, so nothing was learnt; --yes accepts all of it\n"
    assert load_own() == Own()
    out, _ = run(capsys, "learn", "--yes", "--library", str(library))
    assert out.splitlines() == [f"learnt: {MEDIUM}", f"learnt: {SAILING}"]
    out, _ = run(capsys, "list")
    assert out.splitlines() == ["saline (descriptor); heard as: sailing", "medium plus (level): 7.5"]
    monkeypatch.chdir(tmp_path)
    Path("bench.vtt").write_text(
        "WEBVTT\n\n00:01.000 --> 00:05.000\non the palate, lemon, a sailing note, medium plus acidity\n"
    )
    assert cli.main(["note", "bench.vtt", "--json", "--no-library"]) == 0
    palate = json.loads(capsys.readouterr().out)[0]["palate"]
    assert [d["term"] for d in palate["flavours"]] == ["lemon", "saline"]
    assert palate["acidity"]["level"] == 7.5


def test_degrees_and_cues_are_listed_and_taken_out_again(own_home: Path, capsys: Capture) -> None:
    habits = with_cue(with_level(Habits(), LevelUse("Medium plus", 7.5)), CuePhrase("gone", "curtain down"))
    change_own(lambda own: Own(own.words, with_level(habits, LevelUse("crisp", 6, "palate.acidity"))))
    assert run(capsys, "list")[0].splitlines() == [
        "medium plus (level): 7.5", "crisp of acidity (level): 6", "curtain down (cue: gone)",
    ]  # fmt: skip
    assert run(capsys, "remove", "medium plus")[0] == "removed: medium plus (level): 7.5\n"
    assert run(capsys, "remove", "Curtain Down")[0] == "removed: curtain down (cue: gone)\n"
    assert run(capsys, "remove", "curtain down", code=2)[1].startswith("dictate: “curtain down” is none of")
    assert load_habits().levels == (LevelUse("crisp", 6, "palate.acidity"),)


BAD = {
    "no text of ours": "{",
    "another format": '{"format": "dictate-habits/2"}',
    "a list": "[]",
    "a level too high": '{"format": "dictate-habits/1", "levels": [{"word": "x", "level": 11, "field": ""}]}',
    "no number": '{"format": "dictate-habits/1", "levels": [{"word": "x", "level": true, "field": ""}]}',
    "a key too many": '{"format": "dictate-habits/1", "cues": [{"kind": "gone", "phrase": "x", "a": 1}]}',
    "no cue": '{"format": "dictate-habits/1", "cues": [{"kind": "went", "phrase": "off it goes"}]}',
    "nothing to say": '{"format": "dictate-habits/1", "cues": [{"kind": "gone", "phrase": "!!"}]}',
    "no list": '{"format": "dictate-habits/1", "cues": 3}',
    "no counts": '{"format": "dictate-habits/1", "declined": {"a": "b"}}',
    "too deep": "[" * 5000,
}


@pytest.mark.parametrize("text", BAD.values(), ids=BAD.keys())
def test_a_damaged_file_is_told_in_one_line_and_never_written_over(
    own_home: Path, capsys: Capture, text: str
) -> None:
    own_home.mkdir()
    habits_path().write_text(text, encoding="utf-8")
    out, err = run(capsys, "list", code=2)
    assert out == ""
    assert err.startswith(f"dictate: {habits_path()}: ")
    assert err.endswith("; mend the file, or move it away to begin anew\n")
    assert err.count("\n") == 1
    with pytest.raises(WordsError):
        change_own(lambda own: Own(own.words, with_declined(own.habits, "a", times=1)))
    assert habits_path().read_text(encoding="utf-8") == text


PHRASES = st.text("abcdé 'Z", min_size=1, max_size=20).filter(lambda t: any(c.isalpha() for c in t))
KINDS: list[CueKind] = ["away", "gone", "begin"]


@settings(max_examples=50, suppress_health_check=[HealthCheck.function_scoped_fixture])
@example([], [("away", "Z'd'd")], {})
@given(
    st.lists(st.tuples(PHRASES, st.floats(0, 10)), max_size=4),
    st.lists(st.tuples(st.sampled_from(KINDS), PHRASES), max_size=4),
    st.dictionaries(st.text(max_size=9), st.integers(0, 99), max_size=3),
)
def test_habits_written_and_read_are_the_same(
    levels: list[tuple[str, float]], cues: list[tuple[CueKind, str]], declined: dict[str, int]
) -> None:
    habits = Habits()
    for word, level in levels:
        habits = with_level(habits, LevelUse(word, level))
    for kind, phrase in cues:
        habits = with_cue(habits, CuePhrase(kind, phrase))
    for key, times in declined.items():
        habits = with_declined(habits, key, times=times)
    assert habits_from_json(habits_to_json(habits)) == habits
    assert len({(u.word, u.field) for u in habits.levels}) == len(habits.levels)
    assert {kind for kind, _ in habits.cue_phrases} == {cue.kind for cue in habits.cues}
