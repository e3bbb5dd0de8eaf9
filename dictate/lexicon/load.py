"""Reads the lexicon's TOML files. A file with an error is refused with its name and the reason."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from dictate.lexicon.entries import KINDS, Entry, Lexicon

HERE = Path(__file__).parent
WORDS = HERE / "words"


class LexiconError(ValueError):
    """A word file that cannot be used; the message names file and term."""


def _read(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise LexiconError(f"{path.name}: {error}") from error


def _entry(path: Path, kind: str, family: str, term: str, value: object) -> Entry:
    data: Mapping[str, Any] = value if isinstance(value, dict) else {"said": value}
    said = data.get("said", [])
    if not isinstance(said, list) or not all(isinstance(s, str) and s.strip() for s in said):
        raise LexiconError(f"{path.name}: {term}: 'said' must be a list of words")
    rest = {k: v for k, v in data.items() if k != "said"}
    forms = (term, *said)
    return Entry(term=term, kind=kind, family=family, said=forms, data=rest)


def _entries(path: Path) -> Iterator[Entry]:
    table = _read(path)
    kind = table.get("kind")
    if kind not in KINDS:
        raise LexiconError(f"{path.name}: kind must be one of {', '.join(KINDS)}, not {kind!r}")
    for family, terms in table.get("families", {}).items():
        if not isinstance(terms, dict):
            raise LexiconError(f"{path.name}: family {family} must be a table of terms")
        for term, value in terms.items():
            yield _entry(path, kind, family, term, value)


def read_lexicon(folder: Path) -> Lexicon:
    """All `*.toml` of a folder as one lexicon; its version is a hash of the files' bytes.

    Raises LexiconError on a file that is no TOML, of an unknown kind, or with a malformed term.
    """
    digest = hashlib.sha256()
    entries: list[Entry] = []
    for path in sorted(folder.glob("*.toml")):
        digest.update(path.read_bytes())
        entries.extend(_entries(path))
    return Lexicon(entries, version=digest.hexdigest()[:12])


@lru_cache(maxsize=4)
def load_lexicon(folder: Path = WORDS) -> Lexicon:
    """The shipped lexicon, or another folder's; read once a process."""
    return read_lexicon(folder)


@lru_cache(maxsize=32)
def load_table(name: str) -> dict[str, Any]:
    """A rule table of `lexicon/rules/` (levels, scope, cues, stages ...) by name, as plain data."""
    return _read(HERE / "rules" / f"{name}.toml")
