"""Bare denials: clauses that deny and name nothing ("which this hasn't", "and got neither", "I do
not"), so that what they deny stands before them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from dictate.language.tokens import Token, clauses_of

RULE = "bare-denial"
SUFFIX = "suffix-less"
_SUFFIXES = frozenset(["less", "free"])
_NEGATORS = frozenset(
    "not no none nothing neither nor never negative nil absent nope nowhere cannot"
    " zero dinnae without".split()
)
# words that name no thing: pronouns, auxiliaries, perception, small adverbs
_SMALL = frozenset(
    "i we you one he she they it this that these those which there here me us them him her do does did"
    " is are was were has have had would could can will be been am find found smell smelt taste tasted"
    " get got see saw feel felt sense detect say share agree notice any all such either of on"
    " in at to a the single trace sign bit 's 're 've 'll 'm 'd honestly actually really today now yet"
    " still whatsoever though anyway simply quite and but so thank god goodness heaven wine bottle"
    " glass must really sorry afraid alas sadly unfortunately"
    " also as even happen happened turn turned out".split()
)
# "isn't it", "don't you": a question for agreement denies nothing, "wouldn't you say" neither
_TAGGED = frozenset("it they you i he she we that there one".split())


def _negates(token: Token) -> bool:
    return token.text in _NEGATORS or token.text.endswith("n't")


def _is_tag(tokens: Sequence[Token]) -> bool:
    asks = len(tokens) > 1 and tokens[0].text.endswith("n't") and tokens[1].text in _TAGGED
    return asks or (
        len(tokens) in (2, 3)
        and (tokens[0].text.endswith("n't") or tokens[1].text == "not")
        and tokens[-1].text in _TAGGED
    )


def bare_denials(tokens: Sequence[Token], anchors: frozenset[int]) -> Iterator[tuple[int, int]]:
    """Token spans of clauses that only deny, each behind a pause. A lone "no" is left to
    self-repair; a clause with a thing of the trade in it (an anchor) is no bare denial."""
    for start, end in clauses_of(tokens):
        clause = tokens[start:end]
        bare = (
            start > 0
            and len(clause) > 1
            and not anchors.intersection(range(start, end))
            and any(_negates(t) for t in clause)
            and all(_negates(t) or t.text in _SMALL for t in clause)
            and not _is_tag(clause)
            and not (clause[0].text == "nothing" and clause[-1].text == "it")  # "nothing in it": clear
        )
        if bare:
            yield start, end


def suffixed(tokens: Sequence[Token], anchors: frozenset[int]) -> Iterator[int]:
    """Tokens denied by the end of their own word: "oak-free", "fruit-less"."""
    for place in range(1, len(tokens)):
        token, before = tokens[place], tokens[place - 1]
        if token.word == before.word and token.text in _SUFFIXES and place - 1 in anchors:
            yield place - 1
