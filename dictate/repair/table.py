"""`lexicon/rules/repair.toml` as a table: pairs with their context, contexts, guards, measures. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from dictate.language.patterns import compile_any, compile_pattern
from dictate.language.tokens import fold, split_word, stem

_FORM = re.compile(r"(\w{3,}?)(?:i?ed|ing|ings|i?er|i?ers|i?est|i?ly|less|ness|ish|y|ie)")
_OPENS = "^"  # in a context of a pair: not of all that was said, but of a breath group
_SET = re.compile(r"\{(\w+)\}")


class RepairTableError(ValueError):
    """A repair table that cannot be used; the message names the pair or the key."""


@dataclass(frozen=True, slots=True)
class Pair:
    """`heard` is `said` where one of the contexts stands (each holds the heard words)."""

    heard: re.Pattern[str]
    said: tuple[str, ...]
    contexts: re.Pattern[str]
    opening: re.Pattern[str]  # contexts that count only where a breath group begins, or behind a pause
    first_word: tuple[str, ...]  # tokens one of which must be there for the pair to be tried
    opens: bool  # only at the beginning of a breath group or behind a pause


@dataclass(frozen=True, slots=True)
class Measures:
    """How far a sound may be off, as a share of all its weight; lengths in phones."""

    shortest: int  # shorter terms must be exact
    exact_shortest: int  # ... and still shorter ones are no targets
    ordinary_shortest: int  # a term for a window of everyday words that holds a word of the term
    ordinary_alone: int  # ... that holds none
    odd: float  # a window with a word that is no everyday word
    long: float  # more for a long term
    long_from: int  # phones
    ordinary: float  # a window of everyday words
    identity: float  # more for grapes and origins, where names are spoken of
    taste: float  # more for all other terms, where smells and tastes are spoken of
    everyday: float  # the share of these two that everyday words get
    doubt: float  # more, where the recogniser was in doubt
    doubtful_below: float  # its confidence
    reach: int  # words that a context reaches
    longest: int  # words in a window
    exact: float  # what counts as the same sound
    likely: float  # more for the taster's own words; half of it for terms often met
    main: float  # more for a term than for its other names
    lost: float  # more off for each term that was heard and would be gone
    naming_reach: int  # words behind "next wine, number four" in which it is named
    naming: float  # more for names often spoken of, there


@dataclass(frozen=True, slots=True)
class Again:
    """The second hearing: what is proposed, and the weights by which it is decided (see `again.py`)."""

    most: int  # proposals for a breath group: each costs the recogniser a scoring
    longest: int  # words in a window
    looked_at: int  # terms for each window
    furthest: float  # of the sound's weight that may be off
    sure: float  # mean confidence at which everyday words, or a known term, stand
    at_least: float  # probability at which a proposal is put in place
    naming: float  # ... for a name often spoken of, where a wine is being named
    lost: float  # ... for a proposal that loses a term which was heard
    # Weights of a logistic regression, fitted on the tune half of the trade-word bench's material.
    bias: float
    gain: float  # a nat
    share: float
    odd: float
    known: float
    likely: float
    length: float  # a phone
    named: float  # by hand: a grape or place often spoken of, where a wine is being named


@dataclass(frozen=True, slots=True)
class RepairTable:
    """All of it; make it with `repair_table`."""

    measures: Measures
    again: Again
    pairs: tuple[Pair, ...]
    keep: re.Pattern[str]  # never touched: cues
    names: tuple[re.Pattern[str], ...]  # a made-up name stands here: untouched
    identity: re.Pattern[str]  # grapes and origins are near
    taste: re.Pattern[str]  # descriptors are near
    naming: re.Pattern[str]  # a wine is named behind it
    terms: tuple[str, ...]
    degrees: frozenset[str]  # words of degree
    often: frozenset[str]  # grapes and places that are met often
    english: frozenset[str]
    small: frozenset[str]  # words at which no window begins or ends

    def ordinary(self, piece: str) -> bool:
        """Is this token an everyday English word or a form of one (or figures, or a clitic)?"""
        if "'" in piece or not piece.isalpha() or piece in self.english or stem(piece) in self.english:
            return True
        found = _FORM.fullmatch(piece)
        if not found:
            return False
        base = found.group(1)
        if piece[len(base) : len(base) + 1] == "i" and not piece.endswith(("ing", "ings", "ish")):
            return base + "y" in self.english  # "heavier"; "munier" is no form of "mun"
        single = base[:-1] if base[-1] == base[-2] else base
        return not self.english.isdisjoint((base, base + "e", base + "y", single))


def _filled(text: str, sets: Mapping[str, str], name: str) -> str:
    def one(match: re.Match[str]) -> str:
        if match.group(1) not in sets:
            raise RepairTableError(f"repair.toml: {name}: no set named {match.group(1)}")
        return sets[match.group(1)]

    return _SET.sub(one, text)


def _pair(row: Mapping[str, Any], sets: Mapping[str, str]) -> Pair:
    try:
        heard, said, where = row["heard"], row["said"], row["where"]
    except KeyError as missing:
        raise RepairTableError(f"repair.toml: a pair without {missing}: {dict(row)}") from None
    contexts = [_filled(context, sets, heard) for context in where]
    if not contexts or any("@" not in context.split() for context in contexts):
        raise RepairTableError(f"repair.toml: {heard}: each context must hold an @")
    choices = heard.split("|")
    filled = [[heard if e == "@" else e for e in context.split()] for context in contexts]
    return Pair(
        heard=compile_pattern(heard),
        said=tuple(said.split()),
        contexts=compile_any([" ".join(c) for c in filled if c[0] != _OPENS]),
        opening=compile_any([" ".join(c[1:]) for c in filled if c[0] == _OPENS]),
        first_word=tuple(split_word(choice.replace("_", " ").split()[0])[0][0] for choice in choices),
        opens=bool(row.get("opens", False)),
    )


def _english(data: Mapping[str, Any]) -> frozenset[str]:
    """Everyday words: the list, known words and terms, and heard words of pairs (real words, all of them)."""
    single = (h for row in data["pairs"] for h in row["heard"].split("|") if "_" not in h)
    spoken = (p for word in (*data["known"], *data["terms"], *single) for p in split_word(word)[0])
    return frozenset(fold(data["english"]).split()) | frozenset(spoken)


def repair_table(data: Mapping[str, Any]) -> RepairTable:
    """The table from the plain data of `repair.toml`. Raises RepairTableError naming what is wrong."""
    sets: Mapping[str, str] = data.get("sets", {})
    try:
        return RepairTable(
            measures=Measures(**data["measures"]),
            again=Again(**data["again"]),
            pairs=tuple(_pair(row, sets) for row in data["pairs"]),
            keep=compile_any(data["keep"]),
            names=tuple(compile_pattern(p) for p in data["names"]),
            identity=compile_any(data["identity"]),
            naming=compile_any(data["naming"]),
            taste=compile_any(_filled(p, sets, "taste") for p in data["taste"]),
            terms=tuple(data["terms"]),
            degrees=frozenset(data["degrees"]),
            often=frozenset(data["often"]),
            english=_english(data),
            small=frozenset(data["small"]),
        )
    except (KeyError, TypeError, re.error) as error:
        raise RepairTableError(f"repair.toml: {error}") from error
