"""A prepared wine list beside the notes: what the taster did not say of the wine comes from the list.

What was said always wins; where the list says otherwise the history tells it. Two steps, apart: which
listed wine a note is of (`match_listed`), and what that gives (`fill_from_list`).
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from rapidfuzz import fuzz

from dictate.language.tokens import fold
from dictate.lexicon.entries import Entry, Lexicon
from dictate.note import LISTED, Change, Note, Term, Text, Vintage, Wine, of_list
from dictate.values import ListedWine

# Indel ratio of the letters, 0 to 100. Set by hand on invented names: "Herein Rake" for "Heron's Rake"
# is 80, "Copper Kettle" for "Copper Ladle" 70. Where no number says which wine it is, more is asked.
ALIKE, SURELY_ALIKE = 75.0, 85.0
_IN_LISTS = ("position", "code", "producer", "name", "origin", "grapes", "vintage")
# words that many producers share: alone they tell none
_SHARED = frozenset(
    "chateau domaine weingut bodega bodegas cantina tenuta castello estate estates vineyard vineyards"
    " cellars winery wines quinta schloss maison villa casa clos cave caves wine house and the of de del"
    " di la le von".split()
)


@dataclass(frozen=True, slots=True)
class _Fit:
    """How a listed wine stands to what was said: facts that agree, fields that do not, and whether it
    is named so that no other is meant."""

    agree: int
    against: tuple[str, ...]
    named: bool


def fill_from_list(
    notes: Sequence[Note], wines: Sequence[ListedWine], *, lexicon: Lexicon | None = None, before: int = 0
) -> tuple[Note, ...]:
    """The notes, each with the `wine` fields it lacks from the listed wine that it is of, their
    `source` "listed"; a producer or a name that is close in letters takes the listed spelling and
    keeps its `said`. Said and listed otherwise: as said, with a change in the history whose `before`
    begins with LISTED. Notes that fit no listed wine are as they were.

    `before` is the number of notes already made of this flight. `lexicon` knows grapes and places
    under all their names.
    """
    matched = match_listed(notes, wines, lexicon=lexicon, before=before)
    return tuple(
        _filled(note, wine, lexicon) if wine else note for note, wine in zip(notes, matched, strict=True)
    )


def keep_listed(old: Note, new: Note, *, lexicon: Lexicon | None = None) -> Note:
    """A note made anew from the same speech without the list that stood beside the older one: what that gave
    fills in again what is not said now. A note beside which a list stands now is as it is."""
    wine = listed_in(old)
    return new if wine is None or listed_in(new) is not None else _filled(new, wine, lexicon)


def listed_in(note: Note) -> ListedWine | None:
    """What a wine list had for the wine, as far as the note tells: what it gave, how it spelled a name, and
    in what it said otherwise. None where no list is to be seen."""
    told: dict[str, Any] = {}
    for field in ("producer", "name", "origin", "vintage"):
        value = getattr(note.wine, field)
        if value is not None and value.source == "listed":
            told[field] = value.year if field == "vintage" else value.text
    grapes = tuple(g.term for g in note.wine.grapes if g.source == "listed")
    if grapes:
        told["grapes"] = grapes
    for change in note.history:
        section, _, field = change.field.partition(".")
        if section == "wine" and field in _IN_LISTS and of_list(change):
            differs = isinstance(change.before, str) and change.before.startswith(LISTED)
            told[field] = _listed_value(field, change.before[len(LISTED) :] if differs else change.after)
    return ListedWine(**told) if told else None


def _listed_value(field: str, told: Any) -> Any:
    """A value as a list has it, of what the history tells."""
    if field == "grapes":
        return tuple(str(told).split(", "))
    return int(told) if field in ("position", "vintage") and str(told).isdecimal() else told


def match_listed(
    notes: Sequence[Note], wines: Sequence[ListedWine], *, lexicon: Lexicon | None = None, before: int = 0
) -> tuple[ListedWine | None, ...]:
    """For each note the listed wine that it is of, or None.

    By the position said; else by the code; else by what was said of it, where that fits one wine best
    (the producer or the wine's name, or grape and vintage); else, where the list has no positions, by
    order (by the number said, or the note's place), if as much speaks for it as against it. A number
    said that is not on the list fits nothing.
    """
    return tuple(
        _match(note.wine, wines, place=before + index, lexicon=lexicon) for index, note in enumerate(notes)
    )


def _match(
    said: Wine, wines: Sequence[ListedWine], *, place: int, lexicon: Lexicon | None
) -> ListedWine | None:
    numbered = _numbered(said, wines)
    if numbered is not None:
        return _best(said, numbered, lexicon)
    fits = [(wine, _fit(said, wine, lexicon)) for wine in wines]
    found = _best(said, [wine for wine, fit in fits if fit.named], lexicon)
    place = said.position - 1 if said.position is not None else place
    if found is not None or not 0 <= place < len(wines) or any(w.position is not None for w in wines):
        return found
    wine, fit = fits[place]
    return wine if fit.agree >= len(fit.against) else None


def _numbered(said: Wine, wines: Sequence[ListedWine]) -> list[ListedWine] | None:
    """The wines of the number or code said; None where neither was said, or the list has no such
    column. A code of figures may be listed as a position, and a position as a code."""
    has_positions = any(w.position is not None for w in wines)
    has_codes = any(w.code for w in wines)
    position, code = said.position, _letters(said.code or "")
    if position is None and code.isdecimal():
        position = int(code)
    elif not code and not has_positions and position is not None:
        code = str(position)
    by_position = [w for w in wines if position is not None and w.position == position]
    by_code = [w for w in wines if code and _letters(w.code) == code]
    if said.position is None and by_code:  # "glass twelve": first as a code
        return by_code
    if by_position or by_code:
        return by_position or by_code
    asked = (position is not None and has_positions) or (bool(code) and has_codes)
    return [] if asked else None


def _best(said: Wine, wines: Sequence[ListedWine], lexicon: Lexicon | None) -> ListedWine | None:
    """The one wine that fits best; None where there is none or two fit as well."""
    if len(wines) <= 1:
        return wines[0] if wines else None
    fits = [_fit(said, wine, lexicon) for wine in wines]
    scores = [fit.agree - len(fit.against) for fit in fits]
    top = max(scores)
    return wines[scores.index(top)] if scores.count(top) == 1 else None


def _fit(said: Wine, wine: ListedWine, lexicon: Lexicon | None) -> _Fit:
    agree, against = 0, []
    named = grape = year = False
    for field, text, listed in (("producer", said.producer, wine.producer), ("name", said.name, wine.name)):
        if text is not None and listed:
            share = _alike(text.text, listed)
            agree += share >= ALIKE
            named = named or share >= SURELY_ALIKE
            if share < ALIKE:
                against.append(field)
    spoken, listed_grapes = _grapes([g.term for g in said.grapes], lexicon), _grapes(wine.grapes, lexicon)
    if spoken and listed_grapes:
        grape = bool(spoken & listed_grapes)
        agree += grape
        if spoken - listed_grapes:
            against.append("grapes")
    if said.vintage is not None and wine.vintage is not None:
        year = said.vintage.year == wine.vintage
        agree += year
        if not year:
            against.append("vintage")
    if said.origin is not None and wine.origin:
        same = _same_place(said.origin.text, wine.origin, lexicon)
        agree += same is True
        if same is False:
            against.append("origin")
    return _Fit(agree, tuple(against), named or (grape and year))


@lru_cache(maxsize=16384)  # a list's names are asked for again with each note
def _letters(text: str) -> str:
    return re.sub(r"[^a-z0-9]", "", fold(text))


def _alike(said: str, listed: str) -> float:
    """How alike two names are, 0 to 100: by their letters, without spaces; 100 where one is a part of
    the other ("Vesselhart" for "Domaine Vesselhart") and holds a word that is not shared by many."""
    ours, theirs = _words(said), _words(listed)
    common = ours & theirs
    if common in (ours, theirs) and any(len(w) > 3 and w not in _SHARED for w in common):
        return 100.0
    return float(fuzz.ratio(_letters(said), _letters(listed)))


@lru_cache(maxsize=16384)
def _words(text: str) -> frozenset[str]:
    return frozenset(re.findall(r"[^\W_]+", re.sub(r"['’]s\b", "s", fold(text))))


def _grapes(names: Sequence[str], lexicon: Lexicon | None) -> set[str]:
    return {fold(_known(name, "grape", lexicon)) for name in names}


def _known(name: str, kind: str, lexicon: Lexicon | None) -> str:
    """The lexicon's term for a listed name; else the name."""
    entry = _entry(name, kind, lexicon)
    return entry.term if entry else name


@lru_cache(maxsize=16384)
def _entry(name: str, kind: str, lexicon: Lexicon | None) -> Entry | None:
    return lexicon.lookup(name, kind) if lexicon else None


def _same_place(said: str, listed: str, lexicon: Lexicon | None) -> bool | None:
    """Whether two places are one; None where one may lie in the other: of two in one country nobody
    here knows."""
    parts = [listed, *listed.split(",")]
    if _alike(said, listed) >= ALIKE or fold(said) in {fold(_known(p, "origin", lexicon)) for p in parts}:
        return True
    if lexicon is None:
        return None
    ours = _entry(said, "origin", lexicon)
    theirs = [e for p in parts if (e := _entry(p, "origin", lexicon))]
    if ours is None or not theirs or any(e.family == ours.family for e in theirs):
        return None
    return False


def _filled(note: Note, wine: ListedWine, lexicon: Lexicon | None) -> Note:
    said = note.wine
    new: dict[str, Any] = {}
    if said.position is None and wine.position is not None:
        new["position"] = wine.position
    if said.code is None and wine.code:
        new["code"] = wine.code
    for field in ("producer", "name", "origin"):
        if getattr(said, field) is None and getattr(wine, field):
            new[field] = Text(text=getattr(wine, field), source="listed")
    if not said.grapes and wine.grapes:
        grapes = dict.fromkeys(_known(g, "grape", lexicon).lower() for g in wine.grapes)
        new["grapes"] = [Term(term=g, source="listed") for g in grapes]
    if said.vintage is None and wine.vintage is not None:
        new["vintage"] = Vintage(year=wine.vintage, source="listed")
    changes = []
    for field in ("position", "code"):  # these have no `source` to say whence they are
        if field in new:
            changes.append(_change(note, f"wine.{field}", None, new[field]))
    for field in ("producer", "name"):
        text, listed = getattr(said, field), getattr(wine, field)
        if text is not None and listed and text.text != listed and _alike(text.text, listed) >= ALIKE:
            new[field] = text.model_copy(update={"text": listed})
            changes.append(_change(note, f"wine.{field}", text.text, listed))
    changes += [_otherwise(note, wine, field) for field in _fit(said, wine, lexicon).against]
    changes += _number_otherwise(note, wine)
    if not new and not changes:
        return note
    history = sorted([*note.history, *changes], key=_second)
    return note.model_copy(update={"wine": said.model_copy(update=new), "history": history})


def _otherwise(note: Note, wine: ListedWine, field: str) -> Change:
    if field == "grapes":
        return _change(
            note, "wine.grapes", LISTED + ", ".join(wine.grapes), ", ".join(g.term for g in note.wine.grapes)
        )
    value = getattr(note.wine, field)
    after = value.year if field == "vintage" else value.text
    return _change(note, f"wine.{field}", f"{LISTED}{getattr(wine, field)}", after)


def _number_otherwise(note: Note, wine: ListedWine) -> list[Change]:
    said, changes = note.wine, []
    if None not in (said.position, wine.position) and said.position != wine.position:
        changes.append(_change(note, "wine.position", f"{LISTED}{wine.position}", said.position))
    if said.code and wine.code and _letters(said.code) != _letters(wine.code):
        changes.append(_change(note, "wine.code", f"{LISTED}{wine.code}", said.code))
    return changes


def _change(note: Note, field: str, before: Any, after: Any) -> Change:
    """A change at the second at which the field was said; by hand, for the list is somebody's."""
    value = getattr(note.wine, field.partition(".")[2])
    spoken = (value[0] if value else None) if isinstance(value, list) else value
    at = getattr(spoken, "at", None)
    start_s = at[0] if at else note.recording.start_s if note.recording else 0.0
    return Change(
        when=f"{start_s:.2f} s into the recording", field=field, before=before, after=after, by="hand",
        said=getattr(spoken, "said", ""),
    )  # fmt: skip


def _second(change: Change) -> float:
    """The second of the recording at which a change was made; those made otherwise come last."""
    found = re.match(r"(\d+\.\d+) s into the recording", change.when)
    return float(found.group(1)) if found else math.inf
