"""The terminal view: fits any window, needs no colour, prints lines where nothing can be drawn."""

from __future__ import annotations

import io
import re
import threading
import time
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.console import Console

from dictate.board.board import HOW_TO_RESUME, Board, Changed, Clock, Mode
from dictate.board.figures import ROWS, huge, width_of
from dictate.board.lines import changes, draw
from dictate.board.terminal import TerminalView
from tests.board.boards import RUNNING, board, of, red, whole

SIZES = [(80, 24), (120, 40), (200, 60), (40, 12), (20, 5)]
ODD = "a\x1b[2J\u202e\ud800\x00 日本 🍷 e\u0301"


def drawn(made: Board, width: int = 80, height: int = 24, **more: object) -> list[str]:
    lines = draw(made, width=width, height=height, at_s=113.47, plain=bool(more.get("plain")))
    return [line.plain for line in lines]


def test_figures_are_five_rows_and_each_digit_is_another() -> None:
    assert len({tuple(huge(digit)) for digit in "0123456789"}) == 10
    rows = huge("13.42", size=2)
    assert len(rows) == 2 * ROWS
    assert {len(row) for row in rows} == {width_of("13.42", 2)}
    assert huge("?") == [""] * ROWS


@pytest.mark.parametrize(("width", "height"), SIZES)
@pytest.mark.parametrize("asking", [False, True])
@pytest.mark.parametrize("mode", ["listening", "paused", "catching_up"])
def test_it_fits_the_window(width: int, height: int, asking: bool, mode: Mode) -> None:
    long = board(
        last_heard="word " * 60, problem="do this " * 30, ask_missing=asking, title="t " * 200, mode=mode,
        changed=(Changed("mouth acidity", "low " * 40, "7.5"),) * 3, notice="pause " * 40, to_hear=1000,
    )  # fmt: skip
    lines = draw(long, width=width, height=height, at_s=113.47)
    assert len(lines) <= height
    assert max(line.cell_len for line in lines) <= width


def test_at_80_by_24_all_is_there() -> None:
    page = "\n".join(drawn(board(problem="The disk is full: free some space.")))
    for text in (
        "Wine 3", "LISTENING", "sound", "Copper Ladle, Cabernet Franc", "since it left the mouth",
        "pencil shavings", "medium bodied (5)", "[grip, sugar, warmth]", "[how good]", "“spitting now”",
        "! The disk is full", huge("13.4")[0],
    ):  # fmt: skip
        assert text in page
    assert re.search(r"^> after", page, re.MULTILINE)


def test_what_is_missing_is_never_cut_for_what_is_there() -> None:
    for width in (80, 60, 45):
        page = " ".join(" ".join(drawn(board(), width=width)).split())
        assert "[grip, sugar, warmth]" in page


def test_asked_for_it_shows_what_is_missing_alone() -> None:
    page = "\n".join(drawn(board(ask_missing=True)))
    assert "STILL MISSING" in page
    assert "GRIP, SUGAR, WARMTH" in page
    assert "pencil shavings" not in page
    assert "NOTHING IS MISSING." in "\n".join(drawn(of(whole(), ask_missing=True)))
    assert "MISSING" not in "\n".join(drawn(board()))


def test_before_the_first_wine_nothing_is_said_to_be_there() -> None:
    page = "\n".join(drawn(of(None, number=0, ask_missing=True)))
    assert "NO WINE YET" in page
    assert "NOTHING IS MISSING" not in page
    asked = of(None, number=0, ask_missing=True)
    assert changes(of(None, number=0), asked) == ["No wine yet"]


def test_paused_is_to_be_read_from_afar_and_how_to_go_on() -> None:
    page = "\n".join(drawn(board(mode="paused")))
    assert huge("PAUSED")[0] in page
    assert "resume the notes" in page
    assert huge("13.4")[0] in page  # the clock goes on
    small = "\n".join(drawn(board(mode="paused"), 50, 12))
    assert " PAUSED " in small
    assert huge("PAUSED")[0] not in "\n".join(drawn(board()))
    assert "GRIP, SUGAR" in "\n".join(drawn(board(mode="paused", ask_missing=True)))
    assert changes(board(), board(mode="paused")) == [f"paused: {HOW_TO_RESUME}"]


def test_what_a_correction_changed_stands_above_all_else() -> None:
    changed = (Changed("mouth acidity", "5", "7.5"), Changed("nose aromas", "violet", ""))
    page = drawn(board(changed=changed, notice="The pause is over: next wine."))
    places = [next(i for i, line in enumerate(page) if text in line) for text in (
        "THE PAUSE IS OVER", "MOUTH ACIDITY: 5 → 7.5", "NOSE AROMAS: VIOLET → NOTHING", "pencil shavings",
    )]  # fmt: skip
    assert places == sorted(places)
    assert "MOUTH ACIDITY: 5 -> 7.5" in "\n".join(drawn(board(changed=changed), plain=True))
    told = changes(board(), board(changed=changed, notice="The pause is over."))
    assert told == [
        "changed: mouth acidity: 5 -> 7.5", "changed: nose aromas: violet -> nothing", "The pause is over.",
    ]  # fmt: skip
    assert changes(board(changed=changed), board()) == []


def test_a_large_window_gets_larger_figures() -> None:
    assert huge("13.4", size=2)[0] in "\n".join(drawn(board(), width=120, height=40))
    assert huge("13.4", size=2)[0] not in "\n".join(drawn(board(), width=120, height=24))


def test_plain_is_ascii() -> None:
    page = "\n".join(drawn(replace(board(), last_heard=""), plain=True))
    assert page.isascii()
    assert "####" in page


@settings(max_examples=60)
@given(st.text(), st.integers(1, 130), st.integers(1, 50))
def test_odd_characters_never_break_a_line(text: str, width: int, height: int) -> None:
    made = of(red(), last_heard=text + ODD, problem=text)
    for line in drawn(replace(made, title=text + ODD), width, height):
        assert not re.search(r"[\x00-\x1f\x7f\u202e\ud800]", line)


def test_changes_tell_only_what_changed() -> None:
    first = of(None, number=0)
    assert changes(None, first) == ["listening"]
    assert changes(first, first) == []
    run = board()
    told = changes(first, run)
    assert told[0] == "Wine 3: Copper Ladle, Cabernet Franc, Chinon, 2018"
    assert "clock: seconds since it left the mouth" in told
    assert "heard: spitting now" in told
    later = replace(run, at_s=110.0, level_db=-3.0)
    assert changes(run, later) == []  # time and sound go on: no line each
    stopped = replace(run, clock=Clock("stopped", seconds=13.42))
    assert changes(run, stopped) == ["clock: 13.42 seconds until the taste was gone"]
    assert changes(run, replace(run, ask_missing=True)) == ["missing: grip, sugar, warmth, how good"]
    assert changes(run, replace(run, problem="Plug it in.")) == ["PROBLEM: Plug it in."]
    assert changes(replace(run, problem="x"), run) == ["problem over"]
    assert changes(run, replace(run, mode="private")) == ["off the record"]


def test_a_live_terminal_draws_counts_and_leaves_the_screen() -> None:
    out = io.StringIO()
    console = Console(file=out, force_terminal=True, width=80, height=24, no_color=True, legacy_windows=False)
    with TerminalView(console) as view:
        view.show(board(clock=replace(RUNNING, since_s=108.4 - 5)))
        time.sleep(1.2)
        view.show(board(title="Another", last_heard=ODD, clock=Clock()))
        time.sleep(0.5)
    text = out.getvalue()
    assert "Copper Ladle" in text
    assert "Another" in text
    assert any(huge(f"6.{tenth}")[3] in text for tenth in range(10))  # it went on from 5 by itself
    assert text.count("seconds since") >= 5
    assert "\x1b[?1049l" in text
    assert not re.search(r"\x1b\[\d*;?3[0-7]m", text)  # no colour


@pytest.mark.parametrize("how", ["no terminal", "dumb"])
def test_without_a_screen_lines_are_printed(how: str, monkeypatch: pytest.MonkeyPatch) -> None:
    if how == "dumb":
        monkeypatch.setenv("TERM", "dumb")
    out = io.StringIO()
    console = Console(file=out, force_terminal=how == "dumb", width=80, markup=False)
    with TerminalView(console) as view:
        view.show(of(None, number=0))
        view.show(board(last_heard=ODD))
        view.show(board(last_heard=ODD, at_s=120.0))
    text = out.getvalue()
    assert text.splitlines()[0] == "listening"
    assert text.count("heard: a [2J 日本 🍷") == 1
    assert "\x1b" not in text


def test_letters_that_the_terminal_lacks_become_question_marks() -> None:
    raw = io.BytesIO()
    file = io.TextIOWrapper(raw, encoding="ascii", errors="strict")
    with TerminalView(Console(file=file, force_terminal=True, width=80, height=24)) as view:
        view.show(board(last_heard="Gewürztraminer 日本"))
        time.sleep(0.5)
    file.flush()
    text = raw.getvalue().decode("ascii")
    assert "?Gew?rztraminer ???" in text
    assert "####" in text


class _Stuck(io.StringIO):
    """A terminal that takes nothing until it is let go."""

    def __init__(self) -> None:
        super().__init__()
        self.go = threading.Event()

    def write(self, text: str) -> int:
        self.go.wait(20)
        return super().write(text)


@pytest.mark.parametrize("live", [True, False])
def test_a_stuck_terminal_holds_nothing_up(live: bool) -> None:
    out = _Stuck()
    view = TerminalView(Console(file=out, force_terminal=live, width=80, height=24))
    with view:
        began = time.monotonic()
        for number in range(2000):
            view.show(board(last_heard=f"phrase {number}"))
        assert time.monotonic() - began < 5
        assert len(view._lines) <= 200
        out.go.set()


def test_a_closed_terminal_does_not_raise() -> None:
    out = io.StringIO()
    with TerminalView(Console(file=out, width=80)) as view:
        out.close()
        view.show(board())
        time.sleep(0.1)
        view.show(board(last_heard="again"))
