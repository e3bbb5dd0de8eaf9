"""Where things stand in a picture. Few single notes: fields down, the words said beside the dots. Else: a
row a wine, a column a field. All lengths are inches."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from matplotlib.figure import Figure

from dictate.compare.sheet import Column, Mark, Row, Sheet
from dictate.pictures.paper import FAINT, GREY, INK, Paper, block, fit, fit_name, width_of, wrap

FEW: Final = 4  # notes of which the words said have room
EDGE, TITLE, HEADS = 0.35, 0.55, 0.55
TITLE_SIZE, HEAD_SIZE, BODY_SIZE, SMALL_SIZE = 13.0, 8.5, 8.5, 7.0
_FOOT_STEP = 0.17
_ROW = 0.32
_NAME = 3.5
_WIDTHS = {"level": 1.0, "points": 1.15, "seconds": 2.0, "text": 1.05}
_INSIDE = 0.14  # from a column's edge to the ends of its line
_BAR_WORDS = 0.95  # room for a bar's words


def lay_out(sheet: Sheet) -> Figure:
    """The figure of a sheet."""
    return _few(sheet) if sheet.single and len(sheet.rows) <= FEW else _grid(sheet)


def _foot_lines(sheet: Sheet, width: float) -> list[str]:
    return [line for text in sheet.foot for line in wrap(text, width, size=SMALL_SIZE + 0.5)]


def _framed(sheet: Sheet, width: float, body: float) -> Paper:
    """Paper with title and foot, `body` inches high between them."""
    foot = _foot_lines(sheet, width - 2 * EDGE)
    height = EDGE + TITLE + body + 0.25 + _FOOT_STEP * len(foot) + EDGE / 2
    paper = Paper(width, height)
    title = fit(sheet.title, width - 2 * EDGE, size=TITLE_SIZE, bold=True)
    paper.text((EDGE, EDGE + 0.1), title, size=TITLE_SIZE, bold=True)
    start = EDGE + TITLE + body + 0.25
    block(paper, foot, at=(EDGE, start), size=SMALL_SIZE + 0.5, step=_FOOT_STEP)
    return paper


# --- a row a wine, a column a field


def _grid(sheet: Sheet) -> Figure:
    longest = max(width_of(fit(_headed(r), _NAME, size=BODY_SIZE), BODY_SIZE) for r in sheet.rows)
    name = min(_NAME, longest) + 0.15
    starts = [EDGE + name]
    for column in sheet.columns:
        starts.append(starts[-1] + _WIDTHS[column.kind])
    rows = [_height(row.marks) for row in sheet.rows]
    width = max(starts[-1] + EDGE, 6.5)
    paper = _framed(sheet, width, HEADS + sum(rows))
    top = EDGE + TITLE
    bottom = top + HEADS + sum(rows)
    for column, x in zip(sheet.columns, starts, strict=False):
        _heading(paper, column, x=x, top=top, bottom=bottom)
    y = top + HEADS
    for row, height in zip(sheet.rows, rows, strict=True):
        paper.line((EDGE, y), (starts[-1], y))
        middle = y + height / 2
        paper.text((EDGE, middle), fit_name(_headed(row), name - 0.1, size=BODY_SIZE), size=BODY_SIZE)
        for column, x, mark in zip(sheet.columns, starts, row.marks, strict=False):
            _mark(paper, column, mark, x=x, y=middle)
        y += height
    paper.line((EDGE, bottom), (starts[-1], bottom))
    return paper.figure


def _headed(row: Row) -> str:
    return f"{row.number}  {row.heading}" if row.number else row.heading


def _height(marks: Sequence[Mark | None]) -> float:
    """A row is as high as the dots of one value need when they stand on each other."""
    highest = max((values.count(v) for m in marks if m for values in [m.values] for v in values), default=1)
    return max(_ROW, 0.14 + 0.1 * highest)


def _line_of(column: Column, x: float) -> tuple[float, float]:
    """Where the line of a column that begins at x starts and ends."""
    words = _BAR_WORDS if column.kind == "seconds" else 0.0
    return x + _INSIDE, x + _WIDTHS[column.kind] - _INSIDE - words


def _place(column: Column, value: float, x: float) -> float:
    start, end = _line_of(column, x)
    return start + (end - start) * min(1.0, max(0.0, value / column.most))


def _heading(paper: Paper, column: Column, *, x: float, top: float, bottom: float) -> None:
    start, end = _line_of(column, x)
    text = column.kind == "text"
    words = column.heading.split(" ", 1) if column.kind != "seconds" else [column.heading]
    for number, word in enumerate(words):
        at = (x + _INSIDE if text or column.kind == "seconds" else (start + end) / 2, top + 0.16 * number)
        align = "left" if text or column.kind == "seconds" else "center"
        shown = fit(word, _WIDTHS[column.kind] - 0.06, size=HEAD_SIZE)
        paper.text(at, shown, size=HEAD_SIZE, align=align, bold=False)  # type: ignore[arg-type]
    if text:
        return
    for share in (0.0, 0.5, 1.0) if column.kind != "seconds" else (0.0, 1.0):
        place = start + (end - start) * share
        value = column.most * share
        paper.line((place, top + HEADS - 0.06), (place, bottom))
        scale = f"{value:.0f}" if value == int(value) else f"{value:.1f}"
        paper.text((place, top + HEADS - 0.15), scale, size=6.5, align="center", colour=GREY)


def _mark(paper: Paper, column: Column, mark: Mark | None, *, x: float, y: float) -> None:
    start, end = _line_of(column, x)
    if mark is None:
        middle = x + _INSIDE if column.kind == "text" else (start + end) / 2
        paper.text(
            (middle, y), "–", size=BODY_SIZE, colour=GREY, align="left" if column.kind == "text" else "center"
        )
    elif not mark.values:
        room = _WIDTHS[column.kind] - _INSIDE - 0.05
        paper.text((x + _INSIDE, y), fit(mark.words, room, size=BODY_SIZE), size=BODY_SIZE)
    elif mark.mean is not None:
        _dots(paper, column, mark, x=x, y=y)
    elif mark.how:
        place = _place(column, mark.values[0], x)
        paper.bar((start, y), width=place - start, height=0.15, how=mark.how)
        words = fit(mark.words, x + _WIDTHS["seconds"] - place, size=SMALL_SIZE)
        paper.text((place + 0.06, y), words, size=SMALL_SIZE)
    else:
        paper.line((start, y), (end, y), colour=FAINT, thick=1.0)
        value = mark.values[0]
        place = _place(column, value, x)
        paper.dot((place, y), radius=0.045)
        beside = f"{value:.1f}".removesuffix(".0")
        right = value <= column.most * 0.6
        at = (place + (0.08 if right else -0.08), y - 0.08)
        paper.text(at, beside, size=6.5, align="left" if right else "right", colour=GREY)


def _dots(paper: Paper, column: Column, mark: Mark, *, x: float, y: float) -> None:
    """Several values: open dots, equal ones on each other, and a bar at their mean."""
    start, end = _line_of(column, x)
    paper.line((start, y), (end, y), colour=FAINT, thick=1.0)
    for value in sorted(set(mark.values)):
        count = mark.values.count(value)
        for number in range(count):
            offset = (number - (count - 1) / 2) * 0.09
            paper.dot((_place(column, value, x), y + offset), radius=0.04, filled=False)
    if mark.mean is not None and len(mark.values) > 1:
        place = _place(column, mark.mean, x)
        paper.line((place, y - 0.12), (place, y + 0.12), colour=INK, thick=1.8, order=4)
        if column.kind == "seconds":
            paper.text((end + 0.12, y), f"mean {mark.mean:.2f}", size=SMALL_SIZE)


# --- few notes: fields down, the words said beside the dots

_LABEL, _LINE, _WORDS = 1.35, 3.6, 3.0
_SUB, _GAP, _KEY = 0.2, 0.16, 0.2


def _few(sheet: Sheet) -> Figure:
    wines = len(sheet.rows)
    group = _SUB * wines + _GAP
    width = 2 * EDGE + _LABEL + _LINE + _WORDS
    key = _KEY * wines + 0.35
    paper = _framed(sheet, width, key + group * len(sheet.columns))
    top = EDGE + TITLE - 0.12
    for number, row in enumerate(sheet.rows):
        numbered = len(sheet.rows) > 1
        at = (EDGE + (0.25 if numbered else 0), top + number * _KEY)
        heading = row.heading
        paper.text(at, fit_name(heading, width - 2 * EDGE - 0.3, size=BODY_SIZE), size=BODY_SIZE)
        if numbered:
            paper.dot((EDGE + 0.09, at[1]), radius=0.085, filled=False, number=str(number + 1))
    top += key
    start, end = EDGE + _LABEL, EDGE + _LABEL + _LINE
    levels = sum(column.kind == "level" for column in sheet.columns)
    first = next((n for n, c in enumerate(sheet.columns) if c.kind == "level"), 0)
    for share, scale in ((0.0, "0"), (0.5, "5"), (1.0, "10")) if levels else ():
        place = start + (end - start) * share
        paper.line((place, top + first * group - 0.08), (place, top + (first + levels) * group - _GAP))
        paper.text((place, top + first * group - 0.13), scale, size=6.5, align="center", colour=GREY)
    for number, column in enumerate(sheet.columns):
        y = top + number * group + 0.06
        paper.text((EDGE, y + _SUB * (wines - 1) / 2), column.heading, size=HEAD_SIZE)
        for wine, row in enumerate(sheet.rows):
            at = (start, y + wine * _SUB)
            _few_mark(paper, column, row.marks[number], at=at, number=wine + 1 if wines > 1 else 0)
        if number + 1 != first:  # there the scale stands
            below = y + group - _GAP / 2 - 0.1
            paper.line((EDGE, below), (width - EDGE, below))
    return paper.figure


def _few_mark(
    paper: Paper, column: Column, mark: Mark | None, *, at: tuple[float, float], number: int
) -> None:
    start, y = at
    end = start + _LINE
    words = (end + 0.2, y)
    if mark is None:
        paper.text((start - 0.16, y), str(number or ""), size=6.5, colour=GREY, align="center")
        paper.text(words, "–", size=BODY_SIZE, colour=GREY)
        return
    said = fit(mark.words, _WORDS - 0.2, size=BODY_SIZE)
    if not mark.values or mark.how:
        paper.text((start - 0.16, y), str(number or ""), size=6.5, colour=GREY, align="center")
    if not mark.values:
        paper.text(words, said, size=BODY_SIZE)
        return
    place = start + _LINE * min(1.0, max(0.0, mark.values[0] / column.most))
    if mark.how:
        paper.bar((start, y), width=place - start, height=0.12, how=mark.how)
        stated = ", stated" if mark.how == "stated" else ""
        paper.text(words, f"{said.removesuffix(' stated')} s{stated}", size=BODY_SIZE)
        return
    paper.line((start, y), (end, y), colour=FAINT, thick=1.0)
    paper.dot((place, y), radius=0.085, filled=not number, number=str(number or ""))
    paper.text(words, said or f"{mark.values[0]:g}", size=BODY_SIZE)
