"""A prepared wine list: the bytes of a CSV to the wines on it. Pure.

Headers are forgiving: case, accents, dots and spaces do not count, and each column goes by several
names. Of two columns for one thing ("appellation", "country") the first in the order below counts,
and the next where it is empty.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from dictate.language.tokens import fold
from dictate.personal.sheet import Row, SheetError, read_sheet
from dictate.values import ListedWine

MAX_BYTES = 2_000_000
MAX_CELL = 200  # characters
MAX_GRAPES = 20
_NAMES = {
    "position": (
        "position pos no n nr num number # order wineno winenr winenumber wine# place# rank seq sequence"
        " flightposition flightorder flightno numero posizione posicion reihenfolge"
    ),
    "code": "code glass sample codeno samplecode sampleno glassno bag blindcode glasscode probe verre",
    "producer": (
        "producer estate grower winery house producername winemaker maker domaine chateau bodega cantina"
        " weingut winzer erzeuger producteur vigneron produttore productor bottler"
    ),
    "name": "name winename cuvee label bottling title denomination nom nome nombre",
    "origin": (
        "appellation origin denominationoforigin aoc doc do ava gi place village subregion region area"
        " regione herkunft origine origen country pays land paese pais"
    ),
    "grapes": (
        "grapes grape variety varieties varietal varietals cepage cepages grapevariety grapevarieties blend"
        " rebsorte rebsorten uva uvas uve vitigno vitigni encepagement"
    ),
    "vintage": "vintage year millesime vintageyear jahrgang annata anada annee",
    # what a plan of the tasting needs (`dictate plan`)
    "colour": "colour color winecolour winecolor farbe weinfarbe couleur colore cor",
    "style": "style type winetype winestyle kind category weinart stil tipo",
    "alcohol": "alcohol abv alc alcvol alcoholvol alkohol alkoholgehalt alcool alcolico gradoalcolico",
    "sugar": "sugar rs residualsugar residual dosage restzucker restsusse sucre sucreresiduel zucchero",
    "oak": "oak oaked wood barrel barrique holz fassausbau ausbau elevage futs legno madera",
}
_COLUMNS = {name: tuple(ways.split()) for name, ways in _NAMES.items()}
_OPEN = (
    "wine",
    "wines",
    "vin",
    "wein",
    "vino",
)  # a position where the column holds whole numbers, else the wine's name
_BLANK = frozenset(["", "-", "–", "—", "?", "??", "n/a", "na", "none", "unknown", "blind", "tbc"])
_NO_VINTAGE = re.compile(r"(n|m)\W*v\W*|(non|no|multi)\W*vintage|(sans|ohne|sin|senza)\W*\w+|s\W*a\W*")
_YEAR = re.compile(r"(?<!\d)(1[7-9]\d\d|20\d\d|2100)(?!\d)")
_POSITION = re.compile(r"(?:[a-z]{2,8}\W*|n\W+|\W+)?(\d{1,3})(?:[.,]0+)?\W*")
_PARTS = re.compile(r"\s*(?:[,/;&+|]|\band\b)\s*", re.IGNORECASE)
_SHARE = re.compile(r"\(?\b\d{1,3}(?:[.,]\d+)?\s*%\)?")  # "60% Merlot"
_NUMBER = re.compile(r"(?<![\d.,])\d{1,4}(?:[.,]\d{1,3})?(?![\d.,]*\d)")
_NO = re.compile(
    r"(n|no|none|non|nein|keine?|0|0 ?%|false|unoaked|unwooded|steel|stainless( steel)?|tank|stahltank|inox)"
)
_MOST = {"alcohol": 80.0, "sugar": 700.0}  # % vol, g/L
_UNSEEN = ("Cf", "Cs", "Co", "Cn")  # marks that show nothing, or turn the direction of writing


@dataclass(frozen=True, slots=True)
class WineList:
    """The wines in the order of the list, and what a user should know of it, a line each."""

    wines: tuple[ListedWine, ...]
    remarks: tuple[str, ...] = ()


def parse_wine_list(data: bytes) -> WineList:
    """The wines of a CSV file (comma, semicolon or tab; UTF-8, UTF-16 or Latin-1).

    Raises SheetError, with the line, on what cannot be read: no known column, a quote not closed, a
    position that is no number, a vintage that is none. A list without wines is empty, no error.
    """
    if len(data) > MAX_BYTES:
        raise SheetError(f"more than {MAX_BYTES // 1_000_000} MB; a wine list is far smaller")
    header, *rows = read_sheet(data, is_known=_is_known)
    places = _places(header, rows)
    if not places:
        known = ", ".join(_COLUMNS)
        raise SheetError(f"line {header.line}: no column is known; name the columns {known}")
    found = [(row.line, wine) for row in rows if (wine := _wine(row, places)) != ListedWine()]
    return WineList(
        tuple(w for _, w in found), (*_unused(header, places), *_unread(rows, places), *_repeated(found))
    )


def _key(cell: str) -> str:
    return re.sub(r"[^a-z0-9#]", "", fold(cell).replace("№", "no"))


def _is_known(cell: str) -> bool:
    return _key(cell) in _OPEN or any(_key(cell) in ways for ways in _COLUMNS.values())


def _places(header: Row, rows: Sequence[Row]) -> dict[str, tuple[int, ...]]:
    """For each thing the columns that hold it, the one that counts first."""
    keys = [_key(cell) for cell in header.cells]
    places: dict[str, tuple[int, ...]] = {}
    for name, ways in _COLUMNS.items():
        mine = [(ways.index(key), at) for at, key in enumerate(keys) if key in ways]
        if mine:
            places[name] = tuple(at for _, at in sorted(mine))
    for at in (at for at, key in enumerate(keys) if key in _OPEN):
        cells = [row.cells[at] for row in rows if at < len(row.cells) and row.cells[at]]
        counted = bool(cells) and all(c.isdecimal() for c in cells)
        name = "position" if counted and "position" not in places else "name"
        places[name] = (*places.get(name, ()), at)
    return places


def _unused(header: Row, places: Mapping[str, tuple[int, ...]]) -> Iterator[str]:
    used = {at for mine in places.values() for at in mine}
    spare = [_clean(c)[:40] for at, c in enumerate(header.cells) if c and at not in used]
    if spare:
        yield f"columns not used: {', '.join(f'“{name}”' for name in spare)}"


def _unread(rows: Sequence[Row], places: Mapping[str, tuple[int, ...]]) -> Iterator[str]:
    """Amounts that are none: a list is of use without them, so they are left out and told."""
    for name, most in _MOST.items():
        for at in places.get(name, ())[:1]:
            cells = [(row.line, _clean(row.cells[at])) for row in rows if at < len(row.cells)]
            bad = [(n, c) for n, c in cells if c.casefold() not in _BLANK and _amount(c, most) is None]
            if bad:
                line, cell = bad[0]
                more = f", and {len(bad) - 1} more" if len(bad) > 1 else ""
                yield f"line {line}: {name} “{cell[:20]}” is no amount up to {most:g} and is left out{more}"


def _repeated(found: Sequence[tuple[int, ListedWine]]) -> Iterator[str]:
    lines: dict[int, list[int]] = {}
    for line, wine in found:
        if wine.position is not None:
            lines.setdefault(wine.position, []).append(line)
    for position, on in lines.items():
        if len(on) > 1:
            yield f"position {position} stands on lines {', '.join(map(str, on[:5]))}"


def _clean(text: str) -> str:
    """NFC without marks that show nothing."""
    seen = "".join(c for c in text if unicodedata.category(c) not in _UNSEEN)
    return " ".join(unicodedata.normalize("NFC", seen).split())


def _wine(row: Row, places: Mapping[str, tuple[int, ...]]) -> ListedWine:
    def cells(name: str) -> list[str]:
        found = [_clean(row.cells[at]) for at in places.get(name, ()) if at < len(row.cells)]
        if too_long := next((c for c in found if len(c) > MAX_CELL), ""):
            raise SheetError(
                f"line {row.line}: {name} “{too_long[:20]}...” is longer than {MAX_CELL} characters"
            )
        return [c for c in found if c.casefold() not in _BLANK]

    def first(name: str) -> str:
        return next(iter(cells(name)), "")

    return ListedWine(
        position=_position(first("position"), row.line),
        code=first("code"),
        producer=first("producer"),
        name=first("name"),
        origin=first("origin"),
        grapes=_grapes(cells("grapes"), row.line),
        vintage=_vintage(first("vintage"), row.line),
        colour=first("colour"),
        style=first("style"),
        alcohol=_amount(first("alcohol"), _MOST["alcohol"]),
        sugar=_amount(first("sugar"), _MOST["sugar"]),
        oak=_yes(first("oak")),
    )


def _position(cell: str, line: int) -> int | None:
    if not cell:
        return None
    found = _POSITION.fullmatch(unicodedata.normalize("NFKC", cell).lower())
    if not found or not 1 <= int(found.group(1)) <= 999:
        raise SheetError(
            f"line {line}: position “{cell[:20]}” is no number from 1 to 999; use a column “code”"
        )
    return int(found.group(1))


def _amount(cell: str, most: float) -> float | None:
    """The amount of a cell ("13,5 % vol", "4 g/L"), of a range its upper end; None where it is none."""
    found = [float(n.replace(",", ".")) for n in _NUMBER.findall(unicodedata.normalize("NFKC", cell))]
    return max(found) if 1 <= len(found) <= 2 and max(found) <= most else None


def _yes(cell: str) -> bool | None:
    """Whether a cell says yes; a cell that tells how long or in what says yes as well."""
    if not cell:
        return None
    return not _NO.fullmatch(fold(cell))


def _vintage(cell: str, line: int) -> int | Literal["NV"] | None:
    if not cell:
        return None
    if _NO_VINTAGE.fullmatch(fold(cell)):
        return "NV"
    years = set(_YEAR.findall(unicodedata.normalize("NFKC", cell)))
    if len(years) != 1:
        raise SheetError(f"line {line}: vintage “{cell[:20]}” is no year; write it like 2018, or NV")
    return int(years.pop())


def _grapes(cells: Sequence[str], line: int) -> tuple[str, ...]:
    made: dict[str, str] = {}
    for cell in cells:
        for part in _PARTS.split(_SHARE.sub(" ", cell)):
            name = " ".join(part.split()).strip(".:()[] ")
            if name and name.casefold() not in _BLANK:
                made.setdefault(fold(name), name)
    if len(made) > MAX_GRAPES:
        raise SheetError(f"line {line}: more than {MAX_GRAPES} grapes")
    return tuple(made.values())
