"""Sense checks: what in a note is unlikely, or was not spoken of. Shown with the note; never changes it.

Each check names its source, or "common practice, no source". Pure: a calendar year is given, never
looked up. Words and seconds of the finish are held together with care, since glossaries agree on no bands.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from dictate.language.quantities import read_quantities
from dictate.language.tokens import tokenise
from dictate.note import Note
from dictate.values import Word

PRACTICE = "common practice, no source"
_REDS = "Grainger, Wine Faults and Flaws, 2.5.4.3"
_WHITES = "whites darken by slow oxidation of phenols; popular science, 2006"
_EU = "(EU) 2019/33, Annex III"
_BANDS = "glossaries agree on no bands: from 3 s usual to over 60 s great"
_OLD = {
    "white": frozenset("amber brown tawny caramel chestnut copper coffee mahogany bronze".split()),
    "red": frozenset("brick brown tawny mahogany terracotta red-brown garnet-brown".split()),
}
_YOUNG = {
    "white": frozenset(["water-white", "lemon-green", "green-yellow", "green"]),
    "red": frozenset(["purple", "violet", "magenta", "blue-purple"]),
}
_EARLY, _LATE = 2, 15  # years within which a wine is young, from which it is old
_TASTED = ("appearance", "nose", "palate", "finish", "verdict")
_SKINS = re.compile(r"\b(skins?|skin[- ]contact|macerat\w+|orange wine|amphora|qvevri)\b", re.IGNORECASE)
# g/L up to which a wine may be called dry, with the label's tolerance: part A (sparkling) and B
_DRY_TO = {"sparkling": 32.0 + 3.0}
_DRY_TO_OTHER = 9.0 + 1.0
_DRY, _SHORT, _LONG, _MEDIUM = 1.5, 3.0, 7.0, 5.0  # levels
_NEVER_SHORT_S, _NEVER_LONG_S = 60.0, 3.0


@dataclass(frozen=True, slots=True)
class Check:
    """One thing worth a second look, and where the rule is from."""

    text: str
    source: str


def _youth(note: Note, year: int | None) -> str:
    """ "young", "old" or "" by the age the taster named, else by the vintage in a given year."""
    named = note.nose.age.term if note.nose.age else ""
    if named:
        return {"young": "young", "mature": "old", "fading": "old"}.get(named, "")
    vintage = note.wine.vintage.year if note.wine.vintage else None
    if year is None or not isinstance(vintage, int):
        return ""
    return "young" if year - vintage <= _EARLY else "old" if year - vintage >= _LATE else ""


def _still(note: Note) -> bool:
    style = note.wine.style.term if note.wine.style else "still"
    return style == "still" and note.palate.mousse is None


def _hue(note: Note, year: int | None) -> Iterator[Check]:
    """White wines brown with age, reds turn from purple to brick and brown."""
    colour = note.wine.colour.term if note.wine.colour else ""
    hue = note.appearance.hue.term if note.appearance.hue else ""
    youth = _youth(note, year)
    unlikely = {"young": _OLD, "old": _YOUNG}.get(youth, {}).get(colour, frozenset())
    fortified = note.wine.style is not None and note.wine.style.term == "fortified"
    if hue in unlikely and not fortified:
        yield Check(
            f"{hue} in {'a' if youth == 'young' else 'an'} {youth} {colour}",
            _REDS if colour == "red" else _WHITES,
        )


def _haze(note: Note, year: int | None) -> Iterator[Check]:
    if not _still(note) or _youth(note, year) != "young" or note.faults:
        return
    if note.appearance.clarity and note.appearance.clarity.term in ("hazy", "cloudy"):
        yield Check(f"{note.appearance.clarity.term}, a young still wine, and no fault named", PRACTICE)
    if note.appearance.bubbles:
        yield Check("bubbles in a young still wine, and no fault named", PRACTICE)


def _tannin(note: Note) -> Iterator[Check]:
    white = note.wine.colour is not None and note.wine.colour.term == "white"
    felt = note.palate.tannin is not None and note.palate.tannin.level >= _MEDIUM
    if white and felt and not any(_SKINS.search(p.text) for p in note.transcript):
        yield Check("tannin in a white, and no skin contact spoken of", PRACTICE)


def _sugar(note: Note) -> Iterator[Check]:
    sweetness = note.palate.sweetness
    if sweetness is None or sweetness.level > _DRY or not re.search(r"\bdr(y|ier)", sweetness.said.lower()):
        return
    most = _DRY_TO.get(note.wine.style.term if note.wine.style else "still", _DRY_TO_OTHER)
    for phrase in note.transcript:
        if phrase.stage in ("aside", "cue"):
            continue
        words = [Word(w.text, *w.at) for w in phrase.words]
        for said in read_quantities(tokenise(words)):
            if said.use == "sugar" and said.unit == "g/L" and said.middle > most:
                yield Check(f"“dry” beside {said.middle:g} g/L of sugar", _EU)
                return


def _window(note: Note, year: int | None) -> Iterator[Check]:
    start, end = note.verdict.drink_from, note.verdict.drink_to
    vintage = note.wine.vintage.year if note.wine.vintage else None
    if start and end and end < start:
        yield Check(f"drink from {start} to {end}: ends before it begins", PRACTICE)
    elif end and isinstance(vintage, int) and end < vintage:
        yield Check(f"drink by {end}, before the vintage of {vintage}", PRACTICE)
    elif end and year is not None and end < year:
        yield Check(f"drink by {end}: that year has passed", PRACTICE)


def _length(note: Note) -> Iterator[Check]:
    seconds, length = note.finish.seconds, note.finish.length
    if seconds is None or length is None:
        return
    too_long = length.level <= _SHORT and seconds > _NEVER_SHORT_S
    if too_long or (length.level >= _LONG and seconds < _NEVER_LONG_S):
        yield Check(f"“{length.said.strip(' ,.;:')}” beside {seconds:g} s", _BANDS)


def _unspoken(note: Note) -> Iterator[Check]:
    """Only of a tasting that went through two stages or more."""
    spoken = {p.stage for p in note.transcript} | ({"finish"} if note.finish.seconds is not None else set())
    left = [s for s in _TASTED if s not in spoken]
    if left and len(_TASTED) - len(left) >= 2:
        yield Check(f"not spoken of: {', '.join(left)}", PRACTICE)


def sense_checks(note: Note, year: int | None = None) -> tuple[Check, ...]:
    """What in the note is worth a second look, in the order of tasting.

    `year` is that of the tasting; without it nothing is said of a vintage's age or of a window that ended.
    """
    return (
        *_hue(note, year),
        *_haze(note, year),
        *_tannin(note),
        *_sugar(note),
        *_length(note),
        *_window(note, year),
        *_unspoken(note),
    )
