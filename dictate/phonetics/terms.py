"""The trade's words by sound: every way of saying every term, and those most like what was heard. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from dictate.language.tokens import fold, split_word
from dictate.lexicon.entries import Entry, spelled
from dictate.phonetics.index import SoundIndex
from dictate.phonetics.letters import LetterTable, continental
from dictate.phonetics.phones import read_ipa

SHORTEST = 3  # phones of a way of saying; "zin" has three
_OWN = ("producer", "wine")  # none is shipped
_KEPT = 1000  # answers kept: a note that grows asks the same again with each breath group
_LAST_LATIN = "\u024f"
_LEFT_OUT = ("colour", "style")  # everyday words


@dataclass(frozen=True, slots=True)
class Target:
    """One way of saying a term: its text as said, the entry's term and kind, and its phones. `likely`:
    1 for the taster's own words and a prepared list's names, 0.5 for terms often met, else 0; `often`: this
    way of saying it is itself often met ("syrah", not "serine"), or the taster's own."""

    text: str
    term: str
    kind: str
    phones: str
    likely: float = 0.0
    often: bool = False

    @property
    def pieces(self) -> tuple[str, ...]:
        """Its match keys."""
        return spelled(self.text)


@dataclass(frozen=True, slots=True)
class Alike:
    """A target that sounds like what was heard: `share` 0 for the same sound, 1 for nothing in common."""

    target: Target
    share: float


class TermSounds:
    """All targets of a lexicon, searched by sound."""

    def __init__(
        self,
        entries: Iterable[Entry],
        *,
        terms: Iterable[str],
        sounds: Mapping[str, Sequence[str]],
        letters: LetterTable,
        often: Collection[str] = (),
    ) -> None:
        """`terms`: words of the trade that are no entries (kind "term"); `sounds`: IPA of words and forms,
        most likely first; a word without is read by `letters`; `often`: terms often
        met, which go before others that sound the same."""
        self._letters = letters
        self._ways: dict[str, tuple[str, ...]] = {}
        self._sounds = sounds
        self._often = frozenset(often)
        self.targets = tuple(self._made(entries, terms))
        self._index = SoundIndex([t.phones for t in self.targets])
        self._answers: dict[tuple[int, tuple[str, ...]], list[Alike]] = {}

    @cached_property
    def any_own(self) -> bool:
        """Are there words of the taster's own or names of a prepared list?"""
        return any(target.likely == 1 for target in self.targets)

    @cached_property
    def pieces(self) -> frozenset[str]:
        """Match keys of all words in targets."""
        return frozenset(piece for target in self.targets for piece in target.pieces)

    @cached_property
    def by_text(self) -> Mapping[str, Target]:
        """The targets by their text in lower case; of one text the first."""
        return {target.text.lower(): target for target in reversed(self.targets)}

    def phones(self, text: str) -> str:
        """How English words sound, by the letters alone."""
        return self._letters.phones(text)

    def readings(self, text: str, *, odd: bool = True) -> tuple[str, ...]:
        """How what a recogniser wrote may be meant to sound: as English, and, where `odd` (a word in it is
        unknown), with the letters as most other languages read them too ("Alchomo" for Alcamo)."""
        english = self._letters.phones(text)
        return tuple(dict.fromkeys((english, continental(text)))) if odd else (english,)

    def alike(self, heard: Sequence[Sequence[str]], *, count: int) -> list[list[Alike]]:
        """For each thing heard, given in phones in one or more ways, the targets most like it, the nearest
        first, each term's text once."""
        asked = [(count, tuple(each)) for each in heard]
        new = [key for key in dict.fromkeys(asked) if key not in self._answers]
        found = dict(zip(new, self._found([ways for _, ways in new], count=count), strict=True))
        answers = [found[key] if key in found else self._answers[key] for key in asked]
        self._answers.update(found)
        while len(self._answers) > _KEPT:
            del self._answers[next(iter(self._answers))]
        return answers

    def _found(self, heard: Sequence[Sequence[str]], *, count: int) -> list[list[Alike]]:
        ways = [(row, phones) for row, each in enumerate(heard) for phones in each]
        found = self._index.nearest([phones for _, phones in ways], count=count)
        best: list[dict[tuple[str, str], Alike]] = [{} for _ in heard]
        for (row, _), nearest in zip(ways, found, strict=True):
            for near in nearest:
                target = self.targets[near.number]
                key = (target.text, target.kind)
                if key not in best[row] or near.share < best[row][key].share:
                    best[row][key] = Alike(target, near.share)
        return [sorted(one.values(), key=lambda alike: alike.share) for one in best]

    def _made(self, entries: Iterable[Entry], terms: Iterable[str]) -> Iterable[Target]:
        for term in terms:
            yield from self._targets(term, term, kind="term", likely=0.5)
        for entry in entries:
            if entry.kind not in _LEFT_OUT:
                own = entry.kind in _OWN or "own" in entry.data
                likely = 1.0 if own else 0.0 if self._often.isdisjoint(entry.said) else 0.5
                for text in entry.said:
                    met = own or text.lower() in self._often
                    yield from self._targets(text, entry.term, kind=entry.kind, likely=likely, often=met)

    def _targets(
        self, text: str, term: str, *, kind: str, likely: float = 0.0, often: bool = False
    ) -> Iterable[Target]:
        if not text.isascii() and any(c > _LAST_LATIN and c.isalpha() for c in text):
            return  # Greek, Cyrillic: a repair must never write them
        for phones in self._ways_of(text):
            if len(phones) >= SHORTEST:
                yield Target(text, term, kind, phones, likely, often)

    def _ways_of(self, text: str) -> tuple[str, ...]:
        """Ways of saying a form: its own, else way n of each of its words together (its last way where a
        word has fewer)."""
        lower = text.lower()
        if " " in lower and lower in self._sounds:
            return tuple(dict.fromkeys(read_ipa(way) for way in self._sounds[lower]))
        words = [self._word(word) for word in lower.split()]
        most = max((len(ways) for ways in words), default=0)
        joined = ("".join(ways[min(n, len(ways) - 1)] for ways in words) for n in range(most))
        return tuple(dict.fromkeys(joined))

    def _word(self, word: str) -> tuple[str, ...]:
        if word not in self._ways:
            known = self._sounds.get(word) or self._sounds.get(fold(word), ())
            ways = [read_ipa(way) for way in known]
            spelling = self._letters.phones(word)
            if spelling and all(ord(c) < 0x250 for c in word):
                ways.append(spelling)
            self._ways[word] = tuple(dict.fromkeys(ways)) or ("",)
        return self._ways[word]


def windows(words: Sequence[str], *, longest: int) -> list[tuple[int, int, str]]:
    """All runs of one to `longest` words: first, last (behind it), and their folded pieces as one text."""
    pieces = [" ".join(split_word(word)[0]) for word in words]
    return [
        (first, last, " ".join(pieces[first:last]))
        for first in range(len(words))
        for last in range(first + 1, min(first + longest, len(words)) + 1)
    ]
