"""One TOML file of the lexicon, and the line that each of its keys stands on. EDGE.

rtoml (Rust) reads ten times as fast as tomllib; it knows TOML 1.1, which allows a little more.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import rtoml

# control characters, marks that nobody sees, and spaces that are not the space bar's
_UNSEEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\xa0\xad\u061c\u1680\u2000-\u200f\u2028-\u202f\u205f-\u206f\u3000"
    "\ufeff\ufff9-\ufffb]"
)
_WHERE = re.compile(r"(.*?)(?: at)? line (\d+) column \d+$", re.DOTALL)
_STATEMENT = re.compile(r"\s*(?:\[|[^#\s].*=)")  # a line on which a statement may begin


class LexiconError(ValueError):
    """A file of the lexicon that cannot be used; the message is one line with file, line and what to do."""


class TomlFile:
    """`data` as parsed, `raw` as bytes, and `name` with its folder ("words/process.toml")."""

    def __init__(self, path: Path, *, nfc: bool = True) -> None:
        """Raises LexiconError where the file cannot be read, is no UTF-8 or no TOML, holds characters that
        nobody sees or, if `nfc`, is not in Unicode form NFC (IPA cannot be: it stacks marks)."""
        self._nfc = nfc
        self.name = f"{path.parent.name}/{path.name}"
        try:
            self.raw = path.read_bytes()
        except OSError as error:
            raise LexiconError(f"{path}: {error.strerror or error}; install the program anew") from error
        self._text = self._decoded()
        self.data = self._parsed()
        # no string holds a tab or a line break
        self.one_line = not any(mark in self._text for mark in ("\\", "\t", "'''", '"""'))
        if "\\" in self._text:
            self._check_escaped()

    def error(self, problem: str, *keys: str | int) -> LexiconError:
        """An error about what stands at these keys, with its line; without keys, about the whole file."""
        return self._at(self.line_of(*keys), problem)

    def line_of(self, *keys: str | int) -> int:
        """The line, from 1, on which the statement begins that first holds these keys (a number is a place
        in a list of tables); 1 where none does."""
        if not keys or not _holds(self.data, keys):
            return 1
        lines = self._text.split("\n")
        starts = [n for n, line in enumerate(lines) if _STATEMENT.match(line)] + [len(lines)]
        return _first(lines, starts, lambda data: _holds(data, keys)) + 1

    def _at(self, line: int, problem: str) -> LexiconError:
        return LexiconError(f"{self.name}, line {line}: {' '.join(problem.split())}")

    def _decoded(self) -> str:
        try:
            text = self.raw.decode("utf-8").removeprefix("\ufeff")  # some editors put it in front
        except UnicodeDecodeError as error:
            line = self.raw.count(b"\n", 0, error.start) + 1
            raise self._at(line, "not UTF-8; save the file as UTF-8") from None
        if problem := self._odd(text):
            number = next(n for n, line in enumerate(text.split("\n"), 1) if self._odd(line))
            raise self._at(number, problem)
        return text.replace("\r\n", "\n")

    def _parsed(self) -> dict[str, Any]:
        try:
            return rtoml.loads(self._text)
        except rtoml.TomlParsingError as error:
            found = _WHERE.match(str(error))
            what = found[1] if found else str(error)
            begins = self._first_unreadable()
            line = int(found[2]) if found else begins
            if what == "duplicate key":
                shown = self._text.split("\n")[line - 1].split("=")[0].strip()
                raise self._at(line, f"{shown} stands twice; keep one") from None
            where = f" (of what begins on line {begins})" if begins < line else ""
            raise self._at(line, f"no valid TOML: {what}{where}") from None

    def _first_unreadable(self) -> int:
        """The line on which the statement begins at which reading fails."""
        lines = self._text.split("\n")
        return max(n for n in range(len(lines)) if _parse(lines[:n]) is not None) + 1

    def _check_escaped(self) -> None:
        """Escapes can bring in what the text itself does not show."""
        for keys, text in _strings(self.data, ()):
            if problem := self._odd(text):
                raise self.error(problem, *keys)

    def _odd(self, text: str) -> str:
        if found := _UNSEEN.search(text):
            cure = "write a common space" if found.group().isspace() else "delete it"
            return f"holds the unseen character U+{ord(found.group()):04X}; {cure}"
        if self._nfc and not unicodedata.is_normalized("NFC", text):
            return "accents stand apart from their letters; save the text in Unicode form NFC"
        return ""


def _parse(lines: list[str]) -> dict[str, Any] | None:
    try:
        return rtoml.loads("\n".join(lines))
    except rtoml.TomlParsingError:
        return None


def _first(lines: list[str], starts: list[int], holds: Callable[[dict[str, Any]], bool]) -> int:
    """The first line number, from 0, whose statement makes `holds` true. Bisects over `starts`: the lines
    before one of them parse, unless it lies within a statement of several lines; then a later one serves."""
    low, high = 0, len(starts) - 1  # before starts[low]: not there; before starts[high]: there
    while high - low > 1:
        end = middle = (low + high) // 2
        while (data := _parse(lines[: starts[end]])) is None:
            end += 1
        if holds(data):
            high = middle
        else:
            low = end
    return starts[low]


def _holds(data: object, keys: tuple[str | int, ...]) -> bool:
    for key in keys:
        if isinstance(key, int) and isinstance(data, list):
            if key >= len(data):
                return False
        elif not (isinstance(data, dict) and key in data):
            return False
        data = data[key]  # type: ignore[index]
    return True


def _strings(data: object, keys: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], str]]:
    """All strings within, keys too, each with the keys that lead to it."""
    if isinstance(data, str):
        yield keys, data
    elif isinstance(data, dict):
        for key, value in data.items():
            yield (*keys, key), key
            yield from _strings(value, (*keys, key))
    elif isinstance(data, list):
        for place, value in enumerate(data):
            yield from _strings(value, (*keys, place))
