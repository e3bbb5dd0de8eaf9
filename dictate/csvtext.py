"""Rows to the text of a CSV file that no spreadsheet runs. Pure."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from types import SimpleNamespace

from dictate.csvsafe import safe_cell


def csv_text(rows: Iterable[Iterable[str]]) -> str:
    """Rows as CSV (comma, lines ended by CR LF: RFC 4180), each cell kept from being a formula."""
    parts: list[str] = []
    writer = csv.writer(SimpleNamespace(write=parts.append), lineterminator="\r\n")
    writer.writerows([safe_cell(cell) for cell in row] for row in rows)
    return "".join(parts)
