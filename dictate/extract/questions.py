"""Questions: what is asked and not answered is no observation ("is that tar?", "any petrol in there?")."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from dictate.language.fillers import HESITATIONS, STARTERS
from dictate.language.tokens import Token, clauses_of

ASKED = "asked"
_LEADS = HESITATIONS | STARTERS | frozenset("but now wait then or".split())
_ASKS = frozenset("is are was were do does did has have had can could would will might may should am".split())
_OF_WHAT = frozenset(
    "it this that there these those i you we they he she anyone anybody someone somebody any".split()
)
# with a question mark behind, anything may be asked of
_OF_WHAT_MARKED = _OF_WHAT | frozenset("the a an some my its".split())
# in front of an exclamation ("boy, is that ripe"), and within one ("is it ever ripe", "is that not lovely")
_EXCLAIMS = frozenset("boy man wow god gosh blimey lord crikey".split())
_EXCLAIMED = frozenset(["ever", "not"])
_PLACES = frozenset("on in at the nose palate finish".split())
_YES = frozenset(
    "yes yeah yep yup aye ja si oui definitely absolutely certainly sure indeed plenty loads lots"
    " heaps bags tons masses some probably".split()
)
_AFFIRM = tuple(
    tuple(words.split("_"))
    for words in "of_course it_is there_is i_do it_does it_has i_think_so i_think_it_is you_bet too_right"
    " my_word oh_it_is not_half very_much_so it_certainly it_sure a_lot a_bit a_little a_touch quite_a_bit"
    " not_much hardly_any they_are it_was that_it_is".split()
)
_VERBS = frozenset("is are was were 's has have had would could will does did seems looks".split())


_LONGEST_HELD_UP = 4
_TAGS = frozenset(
    "eh no right yes yeah huh ok okay what how why who where when which this that it you see know innit"
    " not mate so i we".split()
)


def affirms(clause: Sequence[Token]) -> bool:
    """Whether a clause begins with a yes ("yes", "definitely", "I think so")."""
    texts = [t.text for t in clause if t.text not in _LEADS]
    return bool(texts) and (texts[0] in _YES or any(tuple(texts[: len(a)]) == a for a in _AFFIRM))


def _verbless(texts: Sequence[str]) -> bool:
    """ "high acids?", "violets?": a thing held up for question; "eh?", "nice mint, no?" and "lovely, this?"
    are none."""
    return 0 < len(texts) <= _LONGEST_HELD_UP and not any(
        t in _VERBS or t in _ASKS or t in _TAGS or t.endswith("n't") for t in texts
    )


def _asks(clause: Sequence[Token], before: str) -> bool:
    """Whether a clause is a question that can be answered by yes or no."""
    texts = [t.text for t in clause]
    while texts and texts[0] in _LEADS:
        texts.pop(0)
    marked = clause[-1].pause == "?"
    if marked and _verbless(texts):
        return True
    if len(texts) > 1 and texts[0] == "any" and texts[1] not in ("time", "day", "moment", "way", "more"):
        return not _VERBS.intersection(texts)
    if marked and texts and texts[0] in _PLACES:  # "on the nose is this corked?"
        start = next((i for i, t in enumerate(texts) if t in _ASKS), 0)
        texts = texts[start:]
    if len(texts) < 3 or texts[0] not in _ASKS or before in _EXCLAIMS or _EXCLAIMED.intersection(texts):
        return False
    if texts[1] == "the" and len(texts) > 3:
        return True  # "is the acid high"; "is the cherry" may go on from "what I like most"
    return texts[1] in (_OF_WHAT_MARKED if marked else _OF_WHAT)


def open_questions(tokens: Sequence[Token]) -> Iterator[tuple[int, int]]:
    """Token spans of clauses that ask, and that no "yes" answers at once. A clause that begins with its verb
    asks even where the machine wrote no question mark; a tag ("isn't it?") names nothing, an exclamation
    ("boy, is that ripe") asks nothing. Linear in the tokens."""
    asked: tuple[int, int] | None = None
    for start, end in clauses_of(tokens):
        clause = tokens[start:end]
        if asked and not affirms(clause):
            yield asked
        asked = (start, end) if _asks(clause, tokens[start - 1].text if start else "") else None
    if asked:
        yield asked
