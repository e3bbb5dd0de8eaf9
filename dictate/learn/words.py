"""Words to be learnt: "heard sailing, meant saline, three times". Pure.

A form that is heard is proposed only where it can do no harm: it is no term itself and holds none, it never
stood anywhere in the notes where it was right, and everyday words must have been put right more often.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Final

from dictate.language.mentions import find_mentions
from dictate.language.tokens import tokenise
from dictate.learn.corrections import corrections_of
from dictate.learn.misheard import KIND_OF, Transcripts, misheard_for, says, was_heard
from dictate.learn.values import Evidence, Known, Misheard, Proposal
from dictate.lexicon.entries import spelled
from dictate.note import Note
from dictate.personal.words import CLOSED, MAX_FORMS, PersonalWord, WordsError, make_word, word_key
from dictate.values import Word

_LETTERS: Final = 4  # a shorter form stands in too many words
_EVERYDAY_ONE, _EVERYDAY_MORE = 3, 2  # occasions needed for one everyday word, for several
_KNOWN: Final = 2  # occasions on which a known term was not heard
_TIMES: Final = {1: "once", 2: "twice", 3: "three times", 4: "four times", 5: "five times"}


@dataclass(slots=True)
class _Term:
    """All that was seen of one term."""

    term: str
    kind: str
    heard: dict[str, list[Evidence]] = field(default_factory=dict)
    seen: list[Evidence] = field(default_factory=list)
    places: set[tuple[str, int, int, int]] = field(default_factory=set)


def word_proposals(notes: Sequence[Note], known: Known) -> Iterator[Proposal]:
    """A proposal for each term that was put right: to know what is heard for it, or, where nothing harmless
    is, to listen for it as for a word of the taster's own."""
    said = Transcripts(notes)
    own = {word_key(word): word for word in known.own.words}
    for one in _terms(notes, known).values():
        with suppress(WordsError):  # a term that could not be said is not learnt
            plain = make_word(one.term, one.kind)
            before = own.get(word_key(plain))
            held = {*map(spelled, before.heard_as)} if before else set()
            forms = [
                form
                for form, times in sorted(one.heard.items(), key=lambda item: -len(item[1]))
                if spelled(form) not in held and _harmless(form, one, len(times), said, known)
            ]
            room = MAX_FORMS - len(before.heard_as if before else ())
            word = make_word(one.term, one.kind, heard_as=forms[: max(0, room)])
            needed = 1 if known.lexicon.lookup(one.term, one.kind) is None else _KNOWN
            if word.heard_as or (before is None and len(one.seen) >= needed):
                yield _proposal(word, one)


def _terms(notes: Sequence[Note], known: Known) -> Mapping[tuple[str, tuple[str, ...]], _Term]:
    terms: dict[tuple[str, tuple[str, ...]], _Term] = {}
    for note in notes:
        for correction in corrections_of(note):
            kind = KIND_OF.get(correction.field)
            if kind is None or correction.after is None or kind in CLOSED:
                continue
            entry = known.lexicon.lookup(correction.after, kind)
            term = entry.term if entry else correction.after
            if was_heard(note, correction.after) or was_heard(note, term):
                continue  # rightly heard, and not read: no matter of hearing
            one = terms.setdefault((kind, spelled(term)), _Term(term, kind))
            found = misheard_for(note, correction, known=known)
            evidence = Evidence(note.id, found.heard if found else "", found.at if found else None)
            if found and (note.id, *found.place) in one.places:
                continue  # the same words, put right in two fields
            one.seen.append(evidence)
            for form in _forms(found):
                one.heard.setdefault(form, []).append(evidence)
            if found:
                one.places.add((note.id, *found.place))
    return terms


def _forms(found: Misheard | None) -> tuple[str, ...]:
    """What was heard, and what a repair made of it: either may be met again."""
    return tuple(form for form in (found.heard, found.written) if form) if found else ()


def _harmless(form: str, one: _Term, times: int, said: Transcripts, known: Known) -> bool:
    """Can these words be put right everywhere without spoiling what was rightly heard?"""
    pieces = form.split()
    if sum(map(len, pieces)) < _LETTERS or any(c.isdigit() for c in form):
        return False
    if spelled(form) == spelled(one.term) or known.lexicon.lookup(form) is not None:
        return False
    tokens = tokenise([Word(piece, 0.0, 0.0) for piece in pieces])
    for mention in find_mentions(tokens, known.lexicon):
        named = spelled(" ".join(t.text for t in tokens[mention.first : mention.last]))
        if not set(named) <= set(spelled(one.term)):
            return False  # a term in it would be lost
    everyday = all(map(known.is_everyday, pieces))
    needed = (_EVERYDAY_ONE if len(pieces) == 1 else _EVERYDAY_MORE) if everyday else 1
    return times >= needed and not _right_elsewhere(form, one, said)


def _right_elsewhere(form: str, one: _Term, said: Transcripts) -> bool:
    """Did these words stand somewhere without being put right to this term?"""
    for note, number, phrase, first, last in said.standing(form):
        meant = any((note, number) == (other, p) and a < last and first < b for other, p, a, b in one.places)
        if not meant and not says(phrase.text, one.term):  # a repair put it right already where it does
            return True
    return False


def _proposal(word: PersonalWord, one: _Term) -> Proposal:
    seen = tuple(dict.fromkeys(one.seen))
    key = f"word/{word.kind}/{' '.join(spelled(word.term))}"
    if word.heard_as:
        heard = ", ".join(f"“{form}” {_times(len(one.heard[form]))}" for form in word.heard_as)
        text = f"heard {heard}; meant “{word.term}” ({word.kind})"
    else:
        text = f"“{word.term}” ({word.kind}) was put in by hand {_times(len(seen))}; listen for it"
    return Proposal("word", key, text, seen, word)


def _times(count: int) -> str:
    return _TIMES.get(count, f"{count} times")
