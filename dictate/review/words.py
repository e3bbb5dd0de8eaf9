"""Terms that complete what a hand begins to type, by spelling and by sound. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from itertools import zip_longest
from typing import Final

from rapidfuzz import fuzz, process

from dictate.form import Vocabulary
from dictate.form.amend import KINDS
from dictate.language.tokens import fold
from dictate.lexicon.entries import Entry, Lexicon
from dictate.phonetics.terms import TermSounds

MOST: Final = 8
_NEAR: Final = 72  # of 100: how alike in spelling
_SOUNDS: Final = 0.45  # the share of a sound that may be off
_KINDS: Final = {
    "wine.producer": ("producer",), "wine.name": ("wine",), "wine.origin": ("origin",),
    "wine.grapes": ("grape",), "appearance.hue": ("hue",), "appearance.rim": ("hue",),
    "palate.tannin_texture": ("texture",), "palate.texture": ("texture",), "faults": ("fault",),
}  # fmt: skip


class Completions:
    """The terms of each field."""

    def __init__(self, vocabulary: Vocabulary, sounds: TermSounds) -> None:
        self._closed, self._lexicon, self._sounds = vocabulary.closed, vocabulary.lexicon, sounds

    def terms(self, path: str, typed: str) -> tuple[str, ...]:
        """At most 8 terms for a field: those that begin so, those that hold it, those spelt and those that
        sound much like it. Of a field with few terms all, where nothing is typed."""
        asked = fold(" ".join(typed.split()))[:80]
        closed = self._closed.get(path, ())
        if closed:
            return tuple(t for t in closed if fold(t).startswith(asked)) or closed
        kinds = _KINDS.get(path) or (("descriptor",) if KINDS.get(path) == "descriptors" else ())
        if not asked or not kinds:
            return ()
        return tuple(dict.fromkeys(self._found(asked, kinds)))[:MOST]

    def _found(self, asked: str, kinds: tuple[str, ...]) -> Iterable[str]:
        forms = [each for kind in kinds for each in self._forms.get(kind, ())]
        yield from _in_order(pair for pair in forms if pair[0].startswith(asked))
        if len(asked) < 3:
            return
        yield from _in_order(pair for pair in forms if f" {asked}" in pair[0])
        yield from (
            term
            for pair in zip_longest(self._near(asked, forms), self._alike(asked, kinds))
            for term in pair
            if term
        )

    def _near(self, asked: str, forms: list[tuple[str, str]]) -> list[str]:
        """The terms spelt most like it."""
        names = [form for form, _ in forms]
        near = process.extract(asked, names, scorer=fuzz.ratio, limit=3, score_cutoff=_NEAR)
        return [forms[place][1] for _, _, place in near]

    def _alike(self, asked: str, kinds: tuple[str, ...]) -> list[str]:
        """The terms that sound most like it."""
        (found,) = self._sounds.alike([self._sounds.readings(asked)], count=24)
        return [each.target.term for each in found if each.target.kind in kinds and each.share <= _SOUNDS]

    @cached_property
    def _forms(self) -> dict[str, list[tuple[str, str]]]:
        lexicon: Lexicon | None = self._lexicon
        made: dict[str, list[tuple[str, str]]] = {}
        entries: Iterable[Entry] = lexicon.entries if lexicon else ()
        for entry in entries:
            made.setdefault(entry.kind, []).extend((fold(form), entry.term) for form in entry.said)
        return made


def _in_order(forms: Iterable[tuple[str, str]]) -> list[str]:
    """The terms of some forms: those named so before those that are only also called so, short ones first."""
    return [term for form, term in sorted(forms, key=lambda pair: (pair[0] != fold(pair[1]), len(pair[0])))]
