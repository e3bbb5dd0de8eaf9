"""The lexicon's types: an entry is one term of one kind, with all the ways of saying it. Pure."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
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


@lru_cache(maxsize=4096)
def _two_letters(two: str) -> str:
    """Two letters folded, at most two; "" where that is not for them alone to say."""
    keys = spelled(two) if two.isalpha() else ()
    return keys[0][:2] if len(keys) == 1 and len(keys[0]) > 1 else ""


def opening(text: str) -> str:
    """The first two letters of a term's first match key (endings are further back), "" where it has none."""
    return _two_letters(text[:2]) or "".join(spelled(text)[:1])[:2]


class Lexicon:
    """Entries, and an index from spelling to entries. Immutable to its users.

    Forms are put by their first two letters at once, and cut to spellings when these letters are first
    asked for.
    """

    def __init__(self, entries: Iterable[Entry], *, version: str) -> None:
        self.entries = tuple(entries)
        self.version = version
        self._uncut: defaultdict[str, list[tuple[str, Entry]]] = defaultdict(list)
        for entry in self.entries:
            for text in entry.said:
                self._uncut[opening(text)].append((text, entry))
        self._starts: dict[str, list[tuple[tuple[str, ...], tuple[Entry, ...]]]] = {}

    @property
    def wordless(self) -> tuple[tuple[str, Entry], ...]:
        """Forms without a letter or figure, with their entries: nobody can say them, nothing finds them."""
        return tuple(self._uncut.get("", ()))

    def _cut(self, letters: str) -> None:
        """Puts the forms that begin with these letters into the index."""
        by_spelling: dict[tuple[str, ...], list[Entry]] = {}
        for text, entry in self._uncut.get(letters, ()):
            same = by_spelling.setdefault(spelled(text), [])
            if entry not in same:
                same.append(entry)
        starts: dict[str, list[tuple[tuple[str, ...], tuple[Entry, ...]]]] = {}
        for keys in sorted(by_spelling, key=len, reverse=True):
            starts.setdefault(keys[0], []).append((keys, tuple(by_spelling[keys])))
        self._starts.update(starts)
        self._uncut.pop(letters, None)

    def beginning(self, key: str) -> list[tuple[tuple[str, ...], tuple[Entry, ...]]]:
        """Spellings that begin with this match key, the longest first, with their entries."""
        if key[:2] in self._uncut and key:
            self._cut(key[:2])
        return self._starts.get(key, [])

    def lookup(self, text: str, kind: str | None = None) -> Entry | None:
        """The entry said as `text` (any accents, case, hyphens), of this kind if given."""
        keys = spelled(text)
        found = next((e for k, e in self.beginning(keys[0]) if k == keys), ()) if keys else ()
        return next((e for e in found if kind in (None, e.kind)), None)

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
