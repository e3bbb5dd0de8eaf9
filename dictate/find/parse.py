"""A query in plain words to its tree.

    query := all { "or" all }          all := not { [ "and" ] not }
    not   := "not" not | "(" query ")" | test
    test  := NUMBER'S NAME how much | HEAD words | [ "before" | "after" ... ] YEAR | word

Words next to each other are joined by "and"; "not" is the closest, "or" the loosest. "smells of cedar
and lime" asks for two smells.
"""

from __future__ import annotations

from typing import NoReturn

from dictate.find.fields import ANY_UNIT, ANYWHERE, CLOCKS, HEADS, LISTED, UNITS, YEARS, number_names
from dictate.find.scan import Token, error_at, scan
from dictate.find.tree import All, Any, Mentions, Not, Query, Range
from dictate.language.search import search_keys, search_opening

_MAX_DEPTH = 30
_AND, _OR, _NOT = frozenset(["and", "but"]), frozenset(["or"]), frozenset(["not", "without", "no"])
_OVER = ("over", "above", "more than", "after", ">")
_UNDER = ("under", "below", "less than", "before", "<")
_LEAST = ("at least", "since", "from", ">=", "≥")
_MOST = ("at most", "up to", "until", "<=", "≤")
_EQUAL = ("is", "exactly", "=")
_HOW_MUCH = {
    **dict.fromkeys(_OVER, "over"), **dict.fromkeys(_UNDER, "under"), **dict.fromkeys(_LEAST, "least"),
    **dict.fromkeys(_MOST, "most"), **dict.fromkeys(_EQUAL, "equal"), "between": "between",
}  # fmt: skip
_OF_YEARS = {
    word: how for word, how in _HOW_MUCH.items()
    if word in ("before", "after", "since", "until", "from", "between")
}  # fmt: skip
_NAMES = number_names()


def parse_query(text: str) -> Query:
    """The tree of a query; nothing at all asks for every note. Raises QueryError, one line."""
    return _Parser(text).whole()


class _Parser:
    """Goes over the tokens once; each method takes what it reads."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._tokens = scan(text)
        self._at = 0
        self._depth = 0
        self._carried: tuple[str, ...] = ()  # where words behind "smells of cedar and" are looked for

    def whole(self) -> Query:
        if self._ended():
            return All()
        query = self._any()
        if not self._ended():  # only a ")" ends a query before its end
            self._fail("there is no “(” to this; take it out")
        return query

    @property
    def _here(self) -> Token:
        return self._tokens[self._at]

    def _ended(self) -> bool:
        return self._here.kind == "end"

    def _fail(self, reason: str, at: Token | None = None) -> NoReturn:
        raise error_at(self._text, (at or self._here).at, reason=reason)

    def _is(self, words: frozenset[str]) -> bool:
        return self._here.kind == "word" and self._here.folded in words

    def _any(self) -> Query:
        parts = [self._all()]
        while self._is(_OR):
            self._at += 1
            parts.append(self._all())
        return parts[0] if len(parts) == 1 else Any(tuple(parts))

    def _all(self) -> Query:
        parts = [self._not()]
        while True:
            if self._is(_AND):
                self._at += 1
            elif self._here.kind == "end" or self._is(_OR) or self._here.text == ")":
                return parts[0] if len(parts) == 1 else All(tuple(parts))
            parts.append(self._not())

    def _not(self) -> Query:
        self._depth += 1
        if self._depth > _MAX_DEPTH:
            self._fail(f"nested more than {_MAX_DEPTH} deep; ask more simply")
        made: Query
        if self._is(_NOT):
            self._at += 1
            made = Not(self._not())
        elif self._here.kind == "mark" and self._here.text == "(":
            opened = self._here
            self._at += 1
            made = self._any()
            if self._here.text != ")" or self._here.kind != "mark":
                self._fail("this “(” is not closed; close it with “)”", opened)
            self._at += 1
        else:
            made = self._test()
        self._depth -= 1
        return made

    def _test(self) -> Query:
        here = self._here
        if here.kind == "end" or self._is(_AND) or self._is(_OR) or here.text == ")":
            self._fail("something to look for is wanted here; acidity over 7, say, or smells of cedar")
        if here.kind == "mark":
            self._fail("a number's name is wanted before this; acidity over 7, say")
        carried, self._carried = self._carried, ()
        for read in (self._clock, self._number, self._year, self._headed):
            found = read()
            if found is not None:
                return found
        if here.number is not None:
            self._fail("a number alone says too little; say of what: acidity over 7, position 4, a year 2018")
        joined = self._at > 0 and self._tokens[self._at - 1].folded in (_AND | _OR | _NOT)
        if carried and joined:
            self._carried = carried
            return self._words(carried, one=False)
        return self._words(ANYWHERE, one=True)

    def _phrase(self, phrases: frozenset[str] | dict[str, str], at: int) -> str:
        """The longest of phrases that stands at a token; "" where none does."""
        found = ""
        for length in (1, 2, 3):
            tokens = self._tokens[at : at + length]
            if len(tokens) == length and all(t.kind in ("word", "mark") for t in tokens):
                said = " ".join(t.folded for t in tokens)
                found = said if said in phrases else found
        return found

    def _clock(self) -> Query | None:
        """finish timed"""
        behind = self._tokens[min(self._at + 1, len(self._tokens) - 1)]
        if self._here.kind != "word" or self._here.folded != "finish" or behind.folded not in CLOCKS:
            return None
        self._at += 2
        return Mentions(("how",), search_keys(behind.folded))

    def _number(self) -> Query | None:
        """acidity over 7; a name that nothing of numbers stands behind is a plain word."""
        name = self._phrase(_NAMES, self._at)
        behind = self._at + len(name.split())
        how = self._phrase(_HOW_MUCH, behind) if name else ""
        if not name or (not how and not self._counts(behind, _NAMES[name])):
            return None
        self._at = behind
        return self._bounds(_NAMES[name], how)

    def _counts(self, at: int, field: str) -> bool:
        """Whether a number stands there that is of this field: "finish 2018" is a word and a year."""
        token = self._tokens[at]
        if field == "vintage" and token.folded == "nv":
            return True
        return token.number is not None and (token.year is None or field in (*YEARS, "score"))

    def _bounds(self, field: str, how: str) -> Query:
        """What stands behind a number's name: how much, and the numbers."""
        self._at += len(how.split())
        kind = _HOW_MUCH.get(how, "equal")
        if field == "vintage" and kind == "equal" and self._here.folded == "nv":
            return self._nv()
        low = self._figure(field, example="acidity over 7")
        joins = {"between": ("and", "to"), "least": ("to",) if how == "from" else (), "equal": ("to",)}
        if kind in joins and self._here.folded in joins[kind] and self._figure_at(self._at + 1):
            self._at += 1
            second = self._here
            high = self._figure(field, example="acidity between 5 and 7")
            if high < low:
                self._fail("the second number is the smaller one; turn them round", second)
            return Range(field, low, high)
        if kind == "between":
            self._fail("a second number is wanted here; between 5 and 7, say")
        return {
            "over": Range(field, low=low, low_counts=False),
            "under": Range(field, high=low, high_counts=False),
            "least": Range(field, low=low),
            "most": Range(field, high=low),
            "equal": Range(field, low, low),
        }[kind]

    def _figure_at(self, at: int) -> bool:
        return at < len(self._tokens) and self._tokens[at].number is not None

    def _figure(self, field: str, *, example: str) -> float:
        number = self._here.number
        if number is None:
            self._fail(f"a number in figures is wanted here; {example}, say")
        if field in YEARS and self._here.year is None:
            self._fail("a year in four figures is wanted here; 2018, say")
        self._at += 1
        if self._is(ANY_UNIT):
            told_in = UNITS.get(field, frozenset())
            if self._here.folded not in told_in:
                cure = "say it in seconds" if field == "finish" else "leave it out"
                self._fail(f"{field.replace('_', ' ')} is not told in {self._here.text}; {cure}")
            self._at += 1
        return number

    def _nv(self) -> Query:
        self._at += 1
        return Mentions(("vintage",), search_keys("nv"))

    def _year(self) -> Query | None:
        """2018, before 2015, from 2015 to 2018, NV"""
        if self._here.kind == "word" and self._here.folded == "nv":
            return self._nv()
        if self._here.year is not None:
            return self._bounds("vintage", "")
        how = self._phrase(_OF_YEARS, self._at)
        behind = self._tokens[self._at + len(how.split())]
        if not how or behind.year is None:
            if how and how != "from":
                self._fail(f"a year is wanted behind “{how}”; {how} 2015, say", behind)
            return None
        return self._bounds("vintage", how)

    def _headed(self) -> Query | None:
        """smells of cedar"""
        head = self._phrase(frozenset(HEADS), self._at)
        if not head:
            return None
        self._at += len(head.split())
        if head in ("fault", "faults") and self._ends():
            return Range("faults", low=1)
        if self._ends():
            self._fail(f"what is looked for is wanted behind “{head}”")
        if head in LISTED:
            self._carried = HEADS[head]
        return self._words(HEADS[head], one=False)

    def _ends(self) -> bool:
        """Whether no word to look for stands here."""
        here = self._here
        return here.kind in ("end", "mark") or self._is(_AND) or self._is(_OR) or self._is(_NOT)

    def _begins(self) -> bool:
        """Whether another test begins here."""
        if self._here.kind == "quoted":
            return False
        if (
            self._here.year is not None
            or self._here.folded == "nv"
            or self._phrase(frozenset(HEADS), self._at)
        ):
            return True
        name = self._phrase(_NAMES, self._at)
        behind = self._at + len(name.split())
        if name and (self._phrase(_HOW_MUCH, behind) or self._counts(behind, _NAMES[name])):
            return True
        how = self._phrase(_OF_YEARS, self._at)
        return bool(how) and self._tokens[self._at + len(how.split())].year is not None

    def _words(self, texts: tuple[str, ...], *, one: bool) -> Query:
        """The words up to where another test begins, as they stand next to each other; or `one` alone."""
        first = self._here
        taken = [self._here]
        self._at += 1
        while not one and not self._ends() and not self._begins():
            taken.append(self._here)
            self._at += 1
        last = taken[-1]
        opening = last.kind == "word" and last.text.endswith("*")
        keys = tuple(key for token in taken for key in search_keys(token.text))
        if not keys:
            self._fail("no letter or figure to look for; take it out", first)
        if opening:
            keys = (*keys[:-1], search_opening(last.text) or keys[-1])
        return Mentions(texts, keys, opening)
