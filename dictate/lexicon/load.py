"""Reads the lexicon's TOML files. A file with an error is refused with its name, the line and the reason."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any
from unicodedata import is_normalized

from dictate.lexicon.check import REFERS, data_problem, family_problem, said_problem, unknown
from dictate.lexicon.entries import KINDS, Entry, Lexicon
from dictate.lexicon.tomlfile import LexiconError, TomlFile

HERE = Path(__file__).parent
WORDS = HERE / "words"
SOUNDS = HERE / "sounds"
BY_HAND = "by-hand.toml"


def _entry(file: TomlFile, kind: str, family: str, term: str, value: object) -> Entry:
    said: object = value
    data: dict[str, Any] = {}
    if type(value) is dict:
        data = value.copy()
        said = data.pop("said", [])
    # quick for the thousands of good ones; `said_problem` says what is wrong
    try:
        forms = (term, *said)  # type: ignore[misc]
        good = type(said) is list and all(map(str.strip, forms)) and len(set(forms)) == len(forms)
        good = good and (file.one_line or all(map(str.isprintable, forms)))
    except TypeError:
        good = False
    if not good:
        raise file.error(f"{term}: {said_problem(term, said)}", "families", family, term)
    entry = Entry(term, kind, family, forms, data)
    if data and (problem := data_problem(entry)):
        raise file.error(f"{term}: {problem}", "families", family, term)
    return entry


def _kind(file: TomlFile) -> str:
    for key in file.data:
        if key not in ("kind", "families"):
            raise file.error(unknown("key", key, known=("kind", "families")), key)
    kind = file.data.get("kind")
    if not isinstance(kind, str) or kind not in KINDS:
        raise file.error(f"kind must be one of {', '.join(KINDS)}, not {kind!r}", "kind")
    return kind


def _entries(file: TomlFile) -> Iterator[Entry]:
    kind = _kind(file)
    families = file.data.get("families", {})
    if not isinstance(families, dict):
        raise file.error("families must be a table of families", "families")
    for family, terms in families.items():
        if not isinstance(terms, dict):
            raise file.error(f"family {family} must be a table of terms", "families", family)
        if problem := family_problem(kind, family):
            raise file.error(problem, "families", family)
        for term, value in terms.items():
            yield _entry(file, kind, family, term, value)


def _check_references(found: list[tuple[TomlFile, Entry]], terms: Mapping[str, Mapping[str, object]]) -> None:
    """Grapes of origins and hints of faults must be terms, of whichever file."""
    for file, entry in found:
        for key, kind in REFERS.items():
            known = terms.get(kind, {})
            strange = next((name for name in entry.data.get(key, ()) if name not in known), None)
            if strange is not None:
                problem = (
                    f"{entry.term}: {key!r}: no {kind} has the term {strange!r}; mend it, or add the {kind}"
                )
                raise file.error(problem, "families", entry.family, entry.term)


def _toml_files(folder: Path, *, nfc: bool = True) -> list[TomlFile]:
    paths = sorted(folder.glob("*.toml"))
    if not paths:
        raise LexiconError(f"{folder}: no .toml file there; install the program anew")
    return [TomlFile(path, nfc=nfc) for path in paths]


def read_lexicon(folder: Path) -> Lexicon:
    """All `*.toml` of a folder as one lexicon; its version is a hash of the files' bytes.

    Raises LexiconError, with file and line, on a file that is no TOML, of an unknown kind, with a malformed
    or unknown value, with a term that stands twice, or that names a grape or descriptor which is none.
    """
    digest = hashlib.sha256()
    entries: list[Entry] = []
    terms: dict[str, dict[str, tuple[TomlFile, Entry]]] = {}
    referring: list[tuple[TomlFile, Entry]] = []
    for file in _toml_files(folder):
        digest.update(file.raw)
        for entry in _entries(file):
            entries.append(entry)
            before = terms.setdefault(entry.kind, {}).setdefault(entry.term, (file, entry))
            if before[1] is not entry:
                where = "in this file" if before[0] is file else f"in {before[0].name}"
                problem = f"{entry.term}: stands {where} already; keep one"
                raise file.error(problem, "families", entry.family, entry.term)
            if entry.data and not REFERS.keys().isdisjoint(entry.data):
                referring.append((file, entry))
    lexicon = Lexicon(entries, version=digest.hexdigest()[:12])
    for text, entry in lexicon.wordless:
        file, problem = terms[entry.kind][entry.term][0], f"{entry.term}: {text!r} has no letter or figure"
        raise file.error(f"{problem}; take it out", "families", entry.family, entry.term)
    _check_references(referring, terms)
    return lexicon


@lru_cache(maxsize=4)
def load_lexicon(folder: Path = WORDS) -> Lexicon:
    """The shipped lexicon, or another folder's; read once a process. Raises as `read_lexicon`."""
    return read_lexicon(folder)


def _sounds(file: TomlFile) -> Iterator[tuple[str, tuple[str, ...]]]:
    table = file.data.get("sounds")
    for key in file.data:
        if key != "sounds":
            raise file.error(unknown("key", key, known=("sounds",)), key)
    if not isinstance(table, dict):
        raise file.error("put the sounds under [sounds]", "sounds")
    for word, ipa in table.items():
        try:
            good = type(ipa) is list and ipa and all(map(str.strip, ipa)) and word.strip()
        except TypeError:
            good = False
        if not good:
            raise file.error(f"{word}: must be a list of sounds in IPA", "sounds", word)
        if not is_normalized("NFC", word):
            raise file.error(f"{word}: write it in Unicode form NFC", "sounds", word)
        yield word, tuple(ipa)


@lru_cache(maxsize=4)
def load_sounds(folder: Path = SOUNDS) -> Mapping[str, tuple[str, ...]]:
    """How words of the lexicon sound: a word (or a whole form) -> IPA, as read by an English speaker first.

    From all `*.toml` of `lexicon/sounds/`; `by-hand.toml` goes before the others. Read at first use, once a
    process. Raises LexiconError, with file and line, where a file cannot be used.
    """
    sounds: dict[str, tuple[str, ...]] = {}
    sources: dict[str, TomlFile] = {}
    for file in sorted(_toml_files(folder, nfc=False), key=lambda f: f.name != f"{folder.name}/{BY_HAND}"):
        for word, ipa in _sounds(file):
            source = sources.setdefault(word, file)
            if source is file:
                sounds[word] = ipa
            elif not source.name.endswith(f"/{BY_HAND}"):
                raise file.error(f"{word}: stands in {source.name} too; keep one", "sounds", word)
    return sounds


@lru_cache(maxsize=32)
def load_table(name: str) -> dict[str, Any]:
    """A rule table of `lexicon/rules/` (levels, scope, cues, stages ...) by name, as plain data.

    Raises LexiconError, with file and line, where it is no TOML.
    """
    return TomlFile(HERE / "rules" / f"{name}.toml").data
