"""A sheet of paper in inches, its origin at the top left: lines, dots, bars and text that is cut to its
room."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Final, Literal

from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Rectangle
from matplotlib.textpath import TextToPath

from dictate.export import clean

INK: Final = "#1f1f1f"
GREY: Final = "#666666"  # 5.7 to 1 on white: text may have it
FAINT: Final = "#d4d4d4"
BAR: Final = "#8c8c8c"
_LONGEST_TAIL = 12  # letters
_POINTS = 72.0  # an inch
_PATHS = TextToPath()
_NO_XML = re.compile("[\ufffe\uffff\ud800-\udfff]")


@lru_cache(maxsize=4096)
def width_of(text: str, size: float, *, bold: bool = False) -> float:
    """Width in inches of text at a size in points."""
    font = FontProperties(size=size, weight="bold" if bold else "normal")
    width, _, _ = _PATHS.get_text_width_height_descent(text, font, False)
    return float(width) / _POINTS


def fit(text: str, width: float, *, size: float, bold: bool = False) -> str:
    """Text cut with an ellipsis so that it is at most so wide (inches)."""
    text = _NO_XML.sub("\ufffd", clean(text))
    if width_of(text, size, bold=bold) <= width:
        return text
    shortest, longest = 0, len(text)
    while shortest < longest:
        middle = (shortest + longest + 1) // 2
        if width_of(text[:middle].rstrip(" ,") + "…", size, bold=bold) <= width:
            shortest = middle
        else:
            longest = middle - 1
    return text[:shortest].rstrip(" ,") + "…"


def fit_name(name: str, width: float, *, size: float) -> str:
    """A wine's name cut in its midst, so that what stands last, the vintage above all, stays."""
    if width_of(fit(name, 1e9, size=size), size) <= width:
        return fit(name, width, size=size)
    _, comma, last = name.rpartition(", ")
    tail = f"{comma}{last}" if comma and len(last) <= _LONGEST_TAIL else ""
    head = fit(name.removesuffix(tail), width - width_of(tail, size), size=size)
    return head + tail


def wrap(text: str, width: float, *, size: float) -> list[str]:
    """Text in lines of about so many inches, by the width of a middling letter."""
    letters = max(10, int(width / (width_of("abcdefghijklmnopqrstuvwxyz ", size) / 27)))
    return textwrap.wrap(_NO_XML.sub("\ufffd", clean(text)), letters) or [""]


class Paper:
    """One picture; all places are inches from its top left."""

    def __init__(self, width: float, height: float) -> None:
        self.figure = Figure(figsize=(width, height), facecolor="white")
        self._axes = self.figure.add_axes((0, 0, 1, 1))
        self._axes.set_xlim(0, width)
        self._axes.set_ylim(height, 0)
        self._axes.set_axis_off()

    def text(
        self,
        at: tuple[float, float],
        text: str,
        *,
        size: float,
        align: Literal["left", "center", "right"] = "left",
        colour: str = INK,
        bold: bool = False,
    ) -> None:
        """Text with its middle at that height."""
        self._axes.text(
            *at, text, fontsize=size, ha=align, va="center_baseline", color=colour, zorder=5,
            fontweight="bold" if bold else "normal", parse_math=False,
        )  # fmt: skip

    def line(
        self,
        start: tuple[float, float],
        end: tuple[float, float],
        *,
        colour: str = FAINT,
        thick: float = 0.6,
        order: int = 1,
    ) -> None:
        """A straight line, `thick` points."""
        (x0, y0), (x1, y1) = start, end
        drawn = Line2D([x0, x1], [y0, y1], color=colour, linewidth=thick, zorder=order, solid_capstyle="butt")
        self._axes.add_artist(drawn)  # not add_line or add_patch: they reckon the axes' limits anew each time

    def dot(self, at: tuple[float, float], *, radius: float, filled: bool = True, number: str = "") -> None:
        """A dot; an open one may hold a number."""
        face = INK if filled else "white"
        self._axes.add_artist(Circle(at, radius, facecolor=face, edgecolor=INK, linewidth=0.8, zorder=3))
        if number:
            self.text(at, number, size=6.5, align="center")

    def bar(self, at: tuple[float, float], *, width: float, height: float, how: str) -> None:
        """A bar to the right: filled where timed, hatched where stated, without an end where open."""
        x, y = at
        style: dict[str, Any] = {"facecolor": BAR, "edgecolor": INK, "linewidth": 0.6, "zorder": 2}
        if how == "open":
            top, bottom = y - height / 2, y + height / 2
            for height_of in (top, bottom):
                self.line((x, height_of), (x + width, height_of), colour=INK, thick=0.8, order=2)
            self.line((x, top), (x, bottom), colour=INK, thick=0.8, order=2)
            return
        if how == "stated":
            style |= {"facecolor": "white", "hatch": "/////"}
        self._axes.add_artist(Rectangle((x, y - height / 2), width, height, **style))


def block(paper: Paper, lines: Sequence[str], *, at: tuple[float, float], size: float, step: float) -> None:
    """Lines of text below each other, `step` inches apart."""
    x, y = at
    for number, line in enumerate(lines):
        paper.text((x, y + number * step), line, size=size, colour=GREY)
