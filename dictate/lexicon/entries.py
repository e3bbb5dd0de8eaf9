"""The lexicon's types: an entry is one term of one kind, with all the ways of saying it. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from dictate.language.tokens import split_word, stem

KINDS = (
    "grape",  # family: berry colour (white, black, pink, grey)
    "origin",  # family: country; data may hold colour, style, grapes
    "descriptor",  # family: one of ours
    "texture",  # family: "tannin", "mouth" or "both"
    "hue",  # family: white, rosé, orange, red (a hue may stand in several files' families once)
    "fault",  # data: compound, threshold, source
    "process",  # vessels and winemaking words: never an observation by themselves
    "style",  # still, sparkling, fortified
    "colour",  # white, rosé, orange, red
    "producer",  # a taster's own or a prepared list's; none is shipped
    "wine",  # a wine's own name, likewise
)


@dataclass(frozen=True, slots=True)
class Entry:
    """A term, its kind, its family and how it is said (the term itself included)."""

    term: str
    kind: str
    family: str
    said: tuple[str, ...]
    data: Mapping[str, Any] = field(default_factory=dict, hash=False, compare=False)


def match_key(token: str) -> str:
    """What two spellings of a token have in common: plural and possessive endings are off."""
    return stem(token)


_PLAIN = re.compile(r"[a-z]+(?: [a-z]+)*")


def spelled(text: str) -> tuple[str, ...]:
    """The match keys of a term as the tokeniser would cut it; hyphens and spaces are alike."""
    if _PLAIN.fullmatch(text):  # most terms: nothing to fold or to cut
        return tuple(match_key(word) for word in text.split(" "))
    keys: list[str] = []
    for word in text.split():
        keys.extend(match_key(piece) for piece in split_word(word)[0])
    return tuple(keys)


class Lexicon:
    """Entries, and an index from spelling to entries. Immutable after making."""

    def __init__(self, entries: Iterable[Entry], *, version: str) -> None:
        self.entries = tuple(entries)
        self.version = version
        by_spelling: dict[tuple[str, ...], list[Entry]] = {}
        for entry in self.entries:
            for text in entry.said:
                same = by_spelling.setdefault(spelled(text), [])
                if entry not in same:
                    same.append(entry)
        by_spelling.pop((), None)
        starts: dict[str, list[tuple[tuple[str, ...], tuple[Entry, ...]]]] = {}
        for keys in sorted(by_spelling, key=len, reverse=True):
            starts.setdefault(keys[0], []).append((keys, tuple(by_spelling[keys])))
        self._starts = starts
        self._by_spelling = {k: tuple(v) for k, v in by_spelling.items()}

    def beginning(self, key: str) -> list[tuple[tuple[str, ...], tuple[Entry, ...]]]:
        """Spellings that begin with this match key, the longest first, with their entries."""
        return self._starts.get(key, [])

    def lookup(self, text: str, kind: str | None = None) -> Entry | None:
        """The entry said as `text` (any accents, case, hyphens), of this kind if given."""
        entries = self._by_spelling.get(spelled(text), ())
        return next((e for e in entries if kind in (None, e.kind)), None)

    def of_kind(self, kind: str) -> tuple[Entry, ...]:
        """All entries of one kind."""
        return tuple(e for e in self.entries if e.kind == kind)

    def with_entries(self, entries: Iterable[Entry]) -> Lexicon:
        """This lexicon with more entries (a taster's own, a prepared list's) before its own; its
        version says how many. One whose term is known in its kind lends the known entry its ways to
        say and its data: that one's term and family stay."""
        added: dict[tuple[str, tuple[str, ...]], Entry] = {}
        replaced: set[Entry] = set()
        for entry in entries:
            known = self.lookup(entry.term, entry.kind)
            key = (entry.kind, spelled(known.term if known else entry.term))
            before = added.get(key, known)
            added[key] = _joined(before, entry) if before else entry
            if known:
                replaced.add(known)
        if not added:
            return self
        rest = (e for e in self.entries if e not in replaced)
        return Lexicon((*added.values(), *rest), version=f"{self.version}+{len(added)}")


def _joined(known: Entry, more: Entry) -> Entry:
    """An entry with another's ways to say and data; tuples and mappings of both are joined."""
    data = dict(known.data)
    for name, value in more.data.items():
        have = data.get(name)
        if isinstance(value, Mapping) and isinstance(have, Mapping):
            value = {**have, **value}
        elif isinstance(value, tuple) and isinstance(have, tuple):
            value = tuple(dict.fromkeys((*have, *value)))
        data[name] = value
    said = tuple(dict.fromkeys((*known.said, *more.said)))
    return Entry(known.term, known.kind, known.family, said, data)
