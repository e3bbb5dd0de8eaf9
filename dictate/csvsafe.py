"""Cells of a CSV that no spreadsheet takes for a formula. Pure.

Which signs begin one: OWASP, "CSV Injection" (= + - @, tab, carriage return, line feed, and the full-width
forms of the four).
"""

from __future__ import annotations

import re

_FORMULA = re.compile(r"'*[=+\-@\t\r\n＝＋－＠]")


def safe_cell(text: str) -> str:
    """Text as a cell that no spreadsheet takes for a formula: an apostrophe goes before it. That of a text
    which has the apostrophe already is doubled, so `cell_text` gives back the same text."""
    return f"'{text}" if _FORMULA.match(text) else text


def cell_text(cell: str) -> str:
    """The text of a cell made by `safe_cell`."""
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell
