"""A taster's own words as CSV or JSON, there and back. Pure: `store.py` reads and writes the files.

Whatever a file holds, reading it gives words that `make_word` passed, or one line of what is wrong.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from typing import Any, Final

from dictate.csvtext import csv_text
from dictate.language.tokens import fold
from dictate.personal.sheet import SheetError, decode, read_sheet
from dictate.personal.words import (
    MAX_LENGTH,
    MAX_WORDS,
    SEPARATOR,
    PersonalWord,
    WordsError,
    make_word,
    merge_words,
    word_key,
)

FORMAT: Final = "dictate-words/1"
MAX_BYTES = 4_000_000  # of a file of words, in or out
_COLUMNS = ("term", "kind", "said", "heard_as")
_DECODER = json.JSONDecoder()


def words_to_csv(words: Sequence[PersonalWord]) -> bytes:
    """A CSV with a header: UTF-8 with a byte-order mark (so that spreadsheets see the accents), forms
    parted by "|", and no cell that a spreadsheet takes for a formula. Raises WordsError where it is
    more than `words_from_file` reads."""
    rows = ((w.term, w.kind, SEPARATOR.join(w.said), SEPARATOR.join(w.heard_as)) for w in words)
    return _bounded(csv_text([_COLUMNS, *rows]).encode("utf-8-sig"))


def words_to_json(words: Sequence[PersonalWord]) -> bytes:
    """JSON, one word a line. Raises WordsError where it is more than `words_from_file` reads."""
    lines = []
    for word in words:
        entry: dict[str, Any] = {"term": word.term, "kind": word.kind}
        entry |= {k: list(v) for k, v in (("said", word.said), ("heard_as", word.heard_as)) if v}
        lines.append("  " + json.dumps(entry, ensure_ascii=False))
    body = ",\n".join(lines)
    return _bounded(f'{{\n "format": "{FORMAT}",\n "words": [\n{body}\n ]\n}}\n'.encode())


def _bounded(data: bytes) -> bytes:
    if len(data) > MAX_BYTES:
        raise WordsError(f"more than {MAX_BYTES // 1_000_000} MB of words; remove some")
    return data


def words_from_file(data: bytes) -> tuple[PersonalWord, ...]:
    """The words of a CSV or JSON file, duplicates merged, in order of term.

    Raises WordsError, with the line where there is one, on the first thing that is wrong.
    """
    if len(data) > MAX_BYTES:
        raise WordsError(f"more than {MAX_BYTES // 1_000_000} MB; a list of words is far smaller")
    try:
        text = decode(data).lstrip()
        return _merged(_json_words(data) if text.startswith(("{", "[")) else _csv_words(data))
    except SheetError as error:
        raise WordsError(str(error)) from error


def _merged(words: Iterator[tuple[int, PersonalWord]]) -> tuple[PersonalWord, ...]:
    made: dict[tuple[str, tuple[str, ...]], PersonalWord] = {}
    for line, word in words:
        key = word_key(word)
        try:
            made[key] = merge_words([made[key]], [word])[0] if key in made else word
        except WordsError as error:
            raise WordsError(f"line {line}: {error}") from error
        if len(made) > MAX_WORDS:
            raise WordsError(f"line {line}: more than {MAX_WORDS} words")
    return merge_words((), made.values())


def _csv_words(data: bytes) -> Iterator[tuple[int, PersonalWord]]:
    header, *rows = read_sheet(data, is_known=lambda cell: _column(cell) in _COLUMNS)
    names = [_column(cell) for cell in header.cells]
    if "term" not in names:
        raise WordsError(f"line {header.line}: no column “term”; the columns are {', '.join(_COLUMNS)}")
    wrong = next((n for n in names if n and (n not in _COLUMNS or names.count(n) > 1)), "")
    if wrong:
        why = "stands twice" if wrong in _COLUMNS else f"is none of {', '.join(_COLUMNS)}"
        raise WordsError(f"line {header.line}: the column “{wrong[:MAX_LENGTH]}” {why}")
    for row in rows:
        cells = dict(zip(names, row.cells, strict=False))
        forms = {k: [f for f in cells.get(k, "").split(SEPARATOR) if f.strip()] for k in _COLUMNS[2:]}
        yield row.line, _word(row.line, {"term": "", **cells, **forms})


def _column(cell: str) -> str:
    return fold(cell).strip().replace(" ", "_").replace("-", "_")


def _word(line: int, entry: object) -> PersonalWord:
    if not isinstance(entry, dict) or not isinstance(entry.get("term"), str):
        raise WordsError(f"line {line}: a word needs a “term”")
    kind, forms = entry.get("kind", ""), [entry.get(name, []) for name in _COLUMNS[2:]]
    if other := next((k for k in entry if k not in _COLUMNS and k), ""):
        raise WordsError(f"line {line}: “{other[:MAX_LENGTH]}” is none of {', '.join(_COLUMNS)}")
    if not isinstance(kind, str):
        raise WordsError(f"line {line}: “kind” must be a text")
    if not all(isinstance(f, list) and all(isinstance(x, str) for x in f) for f in forms):
        raise WordsError(f"line {line}: “said” and “heard_as” must be lists of texts")
    try:
        return make_word(entry["term"], kind.strip().lower(), said=forms[0], heard_as=forms[1])
    except WordsError as error:
        raise WordsError(f"line {line}: {error}") from error


def _json_words(data: bytes) -> Iterator[tuple[int, PersonalWord]]:
    text = decode(data)
    try:
        items = list(_items(text))
    except json.JSONDecodeError as error:
        raise WordsError(f"line {error.lineno}: {error.msg}") from error
    except RecursionError as error:
        raise WordsError("nested too deeply for a list of words") from error
    except ValueError as error:  # a number of thousands of figures
        raise WordsError(str(error).partition(";")[0]) from error
    for line, item in items:
        yield line, _word(line, item)


def _items(text: str) -> Iterator[tuple[int, object]]:
    """Each member of a top list, or of the list "words" of a top object, with the line it begins on."""
    at = _skip(text, 0)
    if text[at] == "[":
        at, items = _list(text, at)
    else:
        at, items = _words_of_object(text, at)
    at = _skip(text, at)
    if at < len(text):
        raise json.JSONDecodeError("Extra data", text, at)
    line, place = 1, 0
    for start, item in items:
        line, place = line + text.count("\n", place, start), start
        yield line, item


def _words_of_object(text: str, at: int) -> tuple[int, list[tuple[int, object]]]:
    found: dict[str, Any] = {}
    at = _skip(text, at + 1)
    while not text.startswith("}", at):
        if found:
            at = _skip(text, _expect(text, at, ","))
        key, at = _DECODER.raw_decode(text, at)
        at = _skip(text, _expect(text, _skip(text, at), ":"))
        if not isinstance(key, str) or key in found:
            raise json.JSONDecodeError("A name that stands twice or is no text", text, at)
        if key == "words" and text.startswith("[", at):
            at, found[key] = _list(text, at)
        else:
            found[key], at = _DECODER.raw_decode(text, at)
        at = _skip(text, at)
    if found.get("format", FORMAT) != FORMAT:
        raise json.JSONDecodeError(f"the format is not {FORMAT}", text, 0)
    items = found.get("words")
    if not isinstance(items, list):
        raise json.JSONDecodeError("no list “words”", text, 0)
    return at + 1, items


def _list(text: str, at: int) -> tuple[int, list[tuple[int, object]]]:
    """The members of the list that begins at `at`, each with its place; and where the list ends."""
    items: list[tuple[int, object]] = []
    at = _skip(text, at + 1)
    while not text.startswith("]", at):
        if items:
            at = _skip(text, _expect(text, at, ","))
        item, end = _DECODER.raw_decode(text, at)
        items.append((at, item))
        at = _skip(text, end)
    return at + 1, items


def _skip(text: str, at: int) -> int:
    while at < len(text) and text[at] in " \t\n\r":
        at += 1
    return at


def _expect(text: str, at: int, mark: str) -> int:
    if not text.startswith(mark, at):
        raise json.JSONDecodeError(f"Expecting “{mark}”", text, at)
    return at + 1
