"""The taster's own words and a prepared list's names as entries of the lexicon. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Any

from dictate.lexicon.entries import Entry, spelled
from dictate.personal.words import MAX_LENGTH, PersonalWord
from dictate.values import ListedWine

OWN_FAMILY = "own words"  # of a term whose family nobody told
_TEXTURE_FAMILY = "both"  # of tannin and of the mouth: who added it did not say


def personal_entries(words: Iterable[PersonalWord], wines: Iterable[ListedWine]) -> tuple[Entry, ...]:
    """Entries for `Lexicon.with_entries`: each own word, then each name of the list once.

    `data` holds `heard_as` (what a recogniser makes of the term) and `own`: for each way to say an
    own word, as match keys, the term to write.
    """
    entries = [_own(word) for word in words]
    seen = {(e.kind, spelled(e.term)) for e in entries}
    for kind, name in _listed_names(wines):
        key = (kind, spelled(name))
        if key[1] and key not in seen and len(name) <= MAX_LENGTH:
            seen.add(key)
            entries.append(Entry(name, kind, _family(kind), _ways(name)))
    return tuple(entries)


def _own(word: PersonalWord) -> Entry:
    ways = tuple(dict.fromkeys(way for form in (word.term, *word.said) for way in _ways(form)))
    data: dict[str, Any] = {"own": {spelled(way): word.term for way in ways}}
    if word.heard_as:
        data["heard_as"] = word.heard_as
    return Entry(word.term, word.kind, _family(word.kind), ways, data)


def _family(kind: str) -> str:
    return _TEXTURE_FAMILY if kind == "texture" else OWN_FAMILY


def _ways(form: str) -> tuple[str, ...]:
    """A form as it may be written down when said: "Heron's Rake" as "Herons Rake", "&" as "and"."""
    ways = [form]
    joined = re.sub(r"(?<=\w)['’ʼ](?=s\b)", "", form)
    for way in (joined, *(re.sub(r"\s*[&+]\s*", " and ", w) for w in (form, joined))):
        if way not in ways:
            ways.append(way)
    return tuple(ways)


def _listed_names(wines: Iterable[ListedWine]) -> Iterator[tuple[str, str]]:
    for wine in wines:
        yield "producer", wine.producer
        yield "wine", wine.name
        for grape in wine.grapes:
            yield "grape", grape.lower()
        for place in wine.origin.split(","):
            yield "origin", place.strip().lower()
