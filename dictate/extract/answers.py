"""Lists that are denied as a whole by what closes them: "any smoke, any toast, no"; "vanilla, coconut,
toast, none of that"; "of leather, of tar, nothing"."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from dictate.language.tokens import Token, clauses_of

RULE = "answered-list"
_NONE = frozenset("no none nope nah nothing nowt nil niente nada zero neither".split())
_SMALL = frozenset(
    "thank god goodness heavens alas sadly oh well and but there is at all here i get find".split()
)
_ALL = frozenset("that those these them".split())  # behind "none of": more than one thing is denied
_ASKING = frozenset(["any", "of", "or"])  # a member of a list that waits for its answer
_SAYING = frozenset(
    "is 's are was were has have had get got find smells tastes shows gives i it there no not".split()
)
_NAYS = frozenset(["no", "nope", "nah"])
_ARTICLES = frozenset(["the", "that", "those", "these", "this", "any"])
_LONGEST = 5  # tokens of a member


def _negates(text: str) -> bool:
    return text in _NONE or text in ("not", "never") or text.endswith("n't")


def _closes(clause: Sequence[Token]) -> str:
    """ "one" answer to what was asked, "all" of the list before, or "" where the clause is neither."""
    texts = [t.text for t in clause]
    if (
        len(texts) >= 3
        and texts[-3] in ("none", "nothing", "neither")
        and texts[-2] == "of"
        and texts[-1] in _ALL
    ):
        return "all" if len(texts) == 3 or set(texts[:-3]) <= _SMALL else ""
    if texts in (["neither"], ["neither", "nor"]):
        return "all"
    bare = any(t in _NONE for t in texts) and all(t in _NONE or t in _SMALL for t in texts)
    return "one" if bare else ""


def answered_lists(tokens: Sequence[Token], anchors: frozenset[int]) -> Iterator[tuple[int, int]]:
    """Token spans of lists denied as a whole. A member is a short clause that says nothing of itself;
    a lone "no" answers only members that ask ("any ...", "of ...", "...?"). Linear in the tokens."""
    before: list[tuple[int, int]] = []
    for start, end in clauses_of(tokens):
        closes = _closes(tokens[start:end])
        first = start
        while closes and before and before[-1][1] == first:
            a, b = before.pop()
            asks = tokens[a].text in _ASKING or tokens[b - 1].pause == "?"
            said = any(t.text in _SAYING for t in tokens[a:b])
            if (
                b - a > _LONGEST
                or said
                or not (asks or (closes == "all" and anchors.intersection(range(a, b))))
            ):
                break
            first = a
        if closes and first < start:
            yield first, start
        before.append((start, end))


def said_once_more(tokens: Sequence[Token], denied: frozenset[int]) -> Iterator[tuple[int, int]]:
    """Token spans of clauses that only name again what was denied before them: "mushrooms, I do not find
    them, the mushrooms"."""
    before = {tokens[place].text for place in denied}
    for start, end in clauses_of(tokens):
        things = [p for p in range(start, end) if tokens[p].text not in _ARTICLES]
        again = bool(things) and all(tokens[p].text in before for p in things)
        if again and min(denied) < start and not denied.intersection(things):
            yield start, end


def trailing_nays(tokens: Sequence[Token], anchors: frozenset[int]) -> Iterator[tuple[int, int]]:
    """Token spans of short clauses answered by their own last word, with a thing of the trade in them:
    "blackcurrant yes, mint no", "violets gone"; "mint, no" is two clauses, "nice mint, no?" asks for
    agreement."""
    for start, end in clauses_of(tokens):
        last = tokens[end - 1]
        short = 2 <= end - start <= _LONGEST
        gone = last.text == "gone" and not any(_negates(t.text) for t in tokens[start : end - 1])
        if (
            short
            and (last.text in _NAYS or gone)
            and last.pause != "?"
            and anchors.intersection(range(start, end - 1))
        ):
            yield start, end
