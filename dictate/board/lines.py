"""The board as lines of a terminal of any size. Pure: `terminal.py` prints them.

Bold, reverse and dim only: no colour tells anything, so that none has to be there.
"""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len, set_cell_size
from rich.text import Text

from dictate.board.board import (
    HOW_TO_RESUME,
    NO_WINE,
    Board,
    Row,
    change_line,
    clock_caption,
    clock_figures,
    mode_words,
    rows_of,
    sound_share,
    wine_heading,
)
from dictate.board.figures import ROWS, huge, width_of
from dictate.export import clean

_PLACE = 10  # columns of a place's name
_BAR = 10  # columns of the sound bar
_LARGE = (100, 34)  # columns and rows from which the figures are twice as large
ASK_TITLE = "STILL MISSING"
NOTHING_MISSING = "Nothing is missing."


def draw(board: Board, *, width: int, height: int, at_s: float, plain: bool = False) -> list[Text]:
    """At most `height` lines of at most `width` columns. `at_s`: recording seconds to count the clock to;
    `plain`: ASCII alone for bars and figures."""
    width, height = max(width, 20), max(height, 4)
    head = [_head(board, width, plain), Text(_fit(clean(board.title), width), style="bold")]
    clock = _clock(board, width=width, height=height, at_s=at_s, plain=plain)
    foot = _foot(board, width)
    room = height - len(head) - len(clock) - len(foot) - 2
    told = _told(board, width, plain=plain)[: max(0, room)]
    if board.ask_missing:
        body = _asked(board, width)
    elif board.mode == "paused":
        body = _paused(width, room - len(told), plain=plain)
    else:
        body = _body(board, width, room - len(told))
    body = [*told, *body]
    gap = [Text("")]
    if 2 * len(body) <= room and board.mode != "paused":  # easier to read from afar
        body = [line for pair in body for line in (pair, Text(""))]
    if room < len(body):  # the wine, the clock and what to do come before all else
        body, gap = body[: max(0, room + 2)], []
    used = len(head) + len(clock) + len(body) + len(foot) + 2 * len(gap)
    fill = [Text("")] * max(0, height - used)
    return [*head, *gap, *clock, *gap, *body, *fill, *foot][:height]


def changes(before: Board | None, now: Board) -> list[str]:
    """What to print where no screen can be drawn: a line a thing that changed and matters."""
    lines = []
    if now.mode != (before.mode if before else None):
        lines.append(f"{mode_words(now)}: {HOW_TO_RESUME}" if now.mode == "paused" else mode_words(now))
    if (now.number, now.title) != ((before.number, before.title) if before else (0, now.title)):
        lines.append(f"{wine_heading(now)}: {now.title}")
    if now.clock != (before.clock if before else type(now.clock)()):
        lines.append(_clock_line(now))
    if now.last_heard and now.last_heard != (before.last_heard if before else ""):
        lines.append(f"heard: {now.last_heard}")
    if now.ask_missing and (before is None or not before.ask_missing or before.missing != now.missing):
        none = NOTHING_MISSING if now.number else NO_WINE
        lines.append(f"missing: {', '.join(now.missing)}" if now.missing else none)
    if now.changed and now.changed != (before.changed if before else ()):
        lines += [f"changed: {change_line(each, '->')}" for each in now.changed]
    if now.notice and now.notice != (before.notice if before else ""):
        lines.append(now.notice)
    if now.problem != (before.problem if before else ""):
        lines.append(f"PROBLEM: {now.problem}" if now.problem else "problem over")
    return [clean(line) for line in lines]


def _clock_line(board: Board) -> str:
    figures = clock_figures(board.clock, board.at_s) if board.clock.state == "stopped" else ""
    return f"clock: {figures} {clock_caption(board.clock)}".replace("  ", " ")


def _fit(text: str, width: int) -> str:
    """Text on one line of at most `width` columns."""
    if cell_len(text) <= width:
        return text
    return set_cell_size(text, max(0, width - 1)).rstrip() + "…" if width > 0 else ""


def _head(board: Board, width: int, plain: bool) -> Text:
    left = f" {wine_heading(board) or 'dictate'} "
    mode = f" {mode_words(board).upper()} "
    share = sound_share(board.level_db)
    bar = ""
    if share is not None:
        full = round(share * _BAR)
        bar = "sound " + ("#" if plain else "▮") * full + ("." if plain else "▯") * (_BAR - full)
    if cell_len(left) + cell_len(mode) + cell_len(bar) + 2 > width:
        bar = ""
    line = Text(left, style="bold reverse")
    line.append(" ")
    line.append(mode, style="bold" if board.mode == "listening" else "bold reverse")
    line.append(" " * max(1, width - line.cell_len - cell_len(bar)))
    line.append(bar)
    line.truncate(width)
    return line


def _clock(board: Board, *, width: int, height: int, at_s: float, plain: bool) -> list[Text]:
    figures = clock_figures(board.clock, at_s) or "-"
    size = 2 if width >= _LARGE[0] and height >= _LARGE[1] else 1
    if width_of(figures, size) > width - 2:
        size = 1
    if height < 14 or width_of(figures, size) > width - 2:
        return [Text(_fit(f"{figures}  {clock_caption(board.clock)}", width), style="bold")]
    style = "dim" if board.clock.state == "idle" else "bold"
    block = "#" if plain else "█"
    rows = [Text(f"  {row}", style=style) for row in huge(figures, block=block, size=size)]
    caption = Text(_fit(f"  {clock_caption(board.clock)}", width))
    return [*rows, caption]


def _told(board: Board, width: int, *, plain: bool) -> list[Text]:
    """What was changed just now, and what the program did by itself."""
    lines = [clean(board.notice)] if board.notice else []
    lines += [clean(change_line(each, "->" if plain else "→")) for each in board.changed]
    return [Text(_fit(f" {line.upper()} ", width), style="bold reverse") for line in lines]


def _paused(width: int, room: int, *, plain: bool) -> list[Text]:
    word = "PAUSED"
    hint = [Text(_fit(f"  {line}", width), style="bold") for line in _wrap(HOW_TO_RESUME, width - 2)]
    if width_of(word) + 2 > width or ROWS + len(hint) > room:
        return [Text(_fit(f" {word} ", width), style="bold reverse"), *hint]
    block = "#" if plain else "█"
    return [*(Text(f"  {row}", style="bold") for row in huge(word, block=block)), *hint]


def _body(board: Board, width: int, room: int) -> list[Text]:
    rows = rows_of(board)
    if not board.number:
        return []
    for parts_lines in (3, 2, 1):
        body = [line for row in rows for line in _row(row, width, parts_lines)]
        if len(body) <= room:
            break
    if len(body) > room:  # what else was said gives way first
        body = [line for row in rows[:6] for line in _row(row, width, 1)]
    return body


def _row(row: Row, width: int, parts_lines: int) -> list[Text]:
    """One place: what is there, and behind it what is missing, which is never cut for what is there."""
    inner = width - _PLACE
    missing = _fit(f"[{', '.join(row.missing)}]", inner) if row.missing else ""
    said = clean("; ".join(row.parts))
    wrapped = _wrap(said, inner)
    if missing and (not wrapped or cell_len(wrapped[-1]) + 2 + cell_len(missing) > inner):
        wrapped = [*wrapped, ""] if wrapped else [""]
    if len(wrapped) > parts_lines:
        keep = inner - cell_len(missing) - 2 if missing else inner
        last = " ".join(wrapped[parts_lines - 1 :])
        wrapped = [*wrapped[: parts_lines - 1], _fit(last, max(0, keep)).rstrip()]
    lines = []
    for number, text in enumerate(wrapped or [""]):
        name = f"{'>' if row.here else ' '} {_fit(row.place, _PLACE - 3)}" if number == 0 else ""
        line = Text(f"{name:<{_PLACE}}", style="bold reverse" if row.here and number == 0 else "bold")
        line.append(text, style="not bold not reverse")
        lines.append(line)
    if missing:
        if wrapped and wrapped[-1]:
            lines[-1].append("  ", style="not reverse")
        lines[-1].append(missing, style="bold not reverse")
    return lines


def _wrap(text: str, width: int) -> list[str]:
    lines: list[str] = []
    for word in text.split():
        word = _fit(word, width)
        if lines and cell_len(lines[-1]) + 1 + cell_len(word) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def _asked(board: Board, width: int) -> list[Text]:
    """The answer to "what's missing", alone and spread out."""
    if not board.number:
        return [Text(_fit(NO_WINE.upper(), width), style="bold")]
    if not board.missing:
        return [Text(_fit(NOTHING_MISSING.upper(), width), style="bold")]
    lines = [Text(_fit(f" {ASK_TITLE} ", width), style="bold reverse")]
    for row in rows_of(board):
        if row.missing:
            words = ", ".join(word.upper() for word in row.missing)
            lines += [
                Text(f"{name:<{_PLACE}}{piece}", style="bold")
                for name, piece in _named(f"  {row.place}", _wrap(words, width - _PLACE))
            ]
    return lines


def _named(name: str, pieces: Sequence[str]) -> list[tuple[str, str]]:
    return [(name if number == 0 else "", piece) for number, piece in enumerate(pieces)]


def _foot(board: Board, width: int) -> list[Text]:
    lines = []
    if board.last_heard:
        pieces = _wrap(f"“{clean(board.last_heard)}”", width)
        lines += [Text(piece, style="italic") for piece in pieces[-2:]]
    if board.problem:
        pieces = _wrap(f"! {clean(board.problem)}", width - 2)
        lines += [Text(f" {piece:<{width - 2}} ", style="bold reverse") for piece in pieces[:2]]
    return lines
