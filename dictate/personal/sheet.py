"""Bytes of a CSV file, however it was saved, to rows of cells with their line numbers. Pure.

Spreadsheets save with a comma, a semicolon or a tab, with a byte-order mark or without, in UTF-8,
UTF-16 or Latin-1, with a first line "sep=;" or none: all of that is read. What is damaged is refused.
"""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from dictate.csvsafe import cell_text

_BOMS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),  # begins like UTF-16's, so it comes first
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_SPREADSHEETS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")  # .xlsx and .ods; .xls
_DELIMITERS = ",;\t|"
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
MAX_COLUMNS, MAX_ROWS = 100, 20_000
HEADER_WITHIN = 5  # lines: a title, a date and the like may stand above it


class SheetError(ValueError):
    """A sheet that cannot be used; the message begins with the line at fault where there is one."""


@dataclass(frozen=True, slots=True)
class Row:
    """Cells, and the line (from 1) that they begin on."""

    line: int
    cells: tuple[str, ...]


def decode(data: bytes) -> str:
    """Text of a file's bytes, its lines ended by "\\n". Raises SheetError where it is no text."""
    if data.startswith(_SPREADSHEETS):
        raise SheetError("this is a spreadsheet's own file; save it as CSV")
    try:
        text = data.decode(_encoding(data))
    except UnicodeDecodeError as error:
        raise SheetError(f"it is not whole {error.encoding} text; save it as UTF-8") from error
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if found := _CONTROL.search(text):
        line = text.count("\n", 0, found.start()) + 1
        raise SheetError(f"line {line}: a control character (U+{ord(found.group()):04X}); take it out")
    return text


def _encoding(data: bytes) -> str:
    for mark, name in _BOMS:
        if data.startswith(mark):
            return name
    start = data[:2000]
    if start[1::2].count(0) > len(start) // 4:  # half of Latin letters' bytes in UTF-16
        return "utf-16-le"
    if start[::2].count(0) > len(start) // 4:
        return "utf-16-be"
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        try:
            data.decode("cp1252")  # what Windows means by Latin-1
        except UnicodeDecodeError:
            return "latin-1"
        return "cp1252"
    return "utf-8"


def read_sheet(data: bytes, *, is_known: Callable[[str], bool]) -> tuple[Row, ...]:
    """The header and the rows that hold anything, cells stripped and formula guards undone.

    The header is that of the first few lines of which most cells are known (a title may stand above
    it), the delimiter the one that makes them known. Raises SheetError with the line where a quote is
    not closed, a row is wider than the header, or there is too much.
    """
    text = decode(data)
    lines = text.split("\n")
    first = next((i for i, line in enumerate(lines) if line.strip()), None)
    if first is None:
        raise SheetError("the file is empty")
    told = re.fullmatch(r"\"?sep=(.)\"?[,;\t|]*", lines[first].strip(" "))
    start, delimiter = _header(lines, first + 1 if told else first, told.group(1) if told else "", is_known)
    rows = _rows(lines[start:], delimiter=delimiter, before=start)
    header = next(rows, None)
    if header is None:
        raise SheetError("the file is empty")
    body: list[Row] = []
    for row in rows:
        if any(row.cells[len(header.cells) :]):
            raise SheetError(
                f"line {row.line}: {len(row.cells)} cells, but the header has {len(header.cells)};"
                " put a cell that holds the delimiter in quotes"
            )
        body.append(row)
        if len(body) > MAX_ROWS:
            raise SheetError(f"line {row.line}: more than {MAX_ROWS} rows")
    return (header, *body)


def _header(lines: list[str], first: int, told: str, is_known: Callable[[str], bool]) -> tuple[int, str]:
    """Where the header is, from line `first` on, and its delimiter."""
    places = [i for i, line in enumerate(lines[first : first + 50], first) if line.strip()]

    def score(choice: tuple[int, str]) -> tuple[int, int, int]:
        place, delimiter = choice
        cells = next(csv.reader([lines[place][:10_000]], delimiter=delimiter), [])
        return sum(is_known(c.strip()) for c in cells[:MAX_COLUMNS]), -place, len(cells)

    choices = [(place, mark) for place in places[:HEADER_WITHIN] for mark in told or _DELIMITERS]
    return max(choices, key=score, default=(first, told or ","))


def _rows(lines: list[str], *, delimiter: str, before: int) -> Iterator[Row]:
    if delimiter in "\"'" or delimiter.isalnum():
        raise SheetError(f"line {before}: “{delimiter}” cannot part cells; use a comma or a semicolon")
    reader = csv.reader((f"{line}\n" for line in lines), delimiter=delimiter, strict=True)
    line = before + 1
    try:
        for cells in reader:
            made = tuple(cell_text(" ".join(c.split())) for c in cells)
            if any(made):
                if len(made) > MAX_COLUMNS and any(made[MAX_COLUMNS:]):
                    raise SheetError(f"line {line}: more than {MAX_COLUMNS} columns")
                yield Row(line, made)
            line = before + reader.line_num + 1
    except csv.Error as error:
        raise SheetError(f"line {line}: {error}; look for a quote that is not closed") from error
