"""Huge figures, and the letters of PAUSED, for a terminal: five rows of squares, each two characters wide.
Pure."""

from __future__ import annotations

from typing import Final

ROWS: Final = 5
# three squares wide, the point one; a terminal's character is about twice as high as wide
_SQUARES = {
    "0": "### #.# #.# #.# ###",
    "1": "##. .#. .#. .#. ###",
    "2": "### ..# ### #.. ###",
    "3": "### ..# ### ..# ###",
    "4": "#.# #.# ### ..# ..#",
    "5": "### #.. ### ..# ###",
    "6": "### #.. ### #.# ###",
    "7": "### ..# ..# .#. .#.",
    "8": "### #.# ### #.# ###",
    "9": "### #.# ### ..# ###",
    ".": ". . . . #",
    "-": "... ... ### ... ...",
    "A": "### #.# ### #.# #.#",
    "D": "##. #.# #.# #.# ##.",
    "E": "### #.. ##. #.. ###",
    "P": "### #.# ### #.. #..",
    "S": "### #.. ### ..# ###",
    "U": "#.# #.# #.# #.# ###",
}


def huge(text: str, *, block: str = "█", size: int = 1) -> list[str]:
    """Text of digits, ".", "-" and the letters of PAUSED as `ROWS * size` lines of equal width; other
    characters are left out."""
    rows = [""] * ROWS
    for character in text:
        squares = _SQUARES.get(character)
        if squares is None:
            continue
        for number, row in enumerate(squares.split()):
            wide = "".join((block if square == "#" else " ") * 2 * size for square in row)
            rows[number] += (" " * 2 * size if rows[number] else "") + wide
    return [row for row in rows for _ in range(size)]


def width_of(text: str, size: int = 1) -> int:
    """Columns that `huge` takes for the text."""
    return len(huge(text, size=size)[0])
