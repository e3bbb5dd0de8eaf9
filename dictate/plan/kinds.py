"""Of which class of the order a listed wine is, and what had to be assumed for it. Pure.

The classes and their order: OIV/CONCOURS 332A/2009, Art. 6 (history; replaced by OIV-OENO 671A-2025).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from dictate.language.tokens import fold
from dictate.lexicon.entries import Entry, Lexicon
from dictate.values import ListedWine

UNKNOWN = "unknown"
_STYLES = {"sparkling": "sparkling", "fortified": "liqueur"}  # of the lexicon's origins


@dataclass(frozen=True, slots=True)
class WineClass:
    """One class of the order; `place` from 0. `strength` in % vol, `serve` in °C, () without a figure."""

    place: int
    name: str
    style: str
    colour: str
    is_dry: bool
    strength: tuple[float, float]
    serve: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Telling:
    """Words that tell a style or a colour: `anywhere` in a wine's name too, `column` in its column alone."""

    value: str
    anywhere: re.Pattern[str]
    column: re.Pattern[str]


@dataclass(frozen=True, slots=True)
class PlanTable:
    """The rules of `lexicon/rules/plan.toml`."""

    classes: tuple[WineClass, ...]
    styles: tuple[Telling, ...]
    colours: tuple[Telling, ...]
    grapes: Mapping[str, str]
    limits: Mapping[str, float]
    habits: Mapping[str, float]
    alcohol: Mapping[str, float]
    room: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Kind:
    """A wine's class, and what of it the list did not say: "red (from its grapes)"."""

    wine_class: WineClass
    assumed: tuple[str, ...] = ()


def plan_table(data: Mapping[str, Any]) -> PlanTable:
    """The rules from plain data (`load_table("plan")`)."""
    classes = tuple(
        WineClass(
            place, row["name"], row["style"], row["colour"], bool(row["dry"]),
            (float(row["strength"][0]), float(row["strength"][1])), tuple(row["serve"]),
        )
        for place, row in enumerate(data["classes"])
    )  # fmt: skip
    return PlanTable(
        classes,
        tuple(_telling(row["style"], row) for row in data["styles"]),
        tuple(_telling(row["colour"], row) for row in data["colours"]),
        data["grapes"],
        data["limits"],
        data["habits"],
        data["alcohol"],
        (data["room"]["celsius"][0], data["room"]["celsius"][1]),
    )


def _telling(value: str, row: Mapping[str, Sequence[str]]) -> Telling:
    return Telling(value, _any_of(row["words"]), _any_of([*row["words"], *row["bare"]]))


def _any_of(words: Sequence[str]) -> re.Pattern[str]:
    forms = sorted({_plain(word) for word in words}, key=len, reverse=True)
    return re.compile(rf"\b({'|'.join(map(re.escape, forms))})\b" if forms else r"(?!)")


def _plain(text: str) -> str:
    return " ".join(re.sub(r"[^a-z0-9]+", " ", fold(text)).split())


def kind_of(wine: ListedWine, table: PlanTable, *, lexicon: Lexicon) -> Kind:
    """The class of a listed wine: by its style and colour, else by its origin and grapes; "unknown" where
    none of them tells it. Sugar of `sweet_from` g/L makes a still wine a naturally sweet one."""
    style, style_from = _style(wine, table, lexicon)
    assumed = [style_from] if style_from else []
    sweet_from = table.limits["sweet_from"]
    if style in ("", "still") and wine.sugar is not None and wine.sugar >= sweet_from:
        style, assumed = "sweet", [f"naturally sweet ({sweet_from:g} g/L of sugar or more)"]
    found = next((c for c in table.classes if style and c.style == style and not c.colour), None)
    if found is not None:
        return Kind(found, tuple(assumed))
    colour, colour_from = _colour(wine, table, lexicon)
    if not colour and style == "sparkling":
        colour, colour_from = "white", "white (nothing tells its colour)"
    if not colour:
        return Kind(table.classes[-1], ("the list tells no colour that is known",))
    assumed += [colour_from] if colour_from else []
    if not style:
        assumed.append("still (nothing says other)")
    by_name = {(c.style, c.colour): c for c in table.classes}
    fallback = by_name[style or "still", "white"]  # a sparkling orange wine
    return Kind(by_name.get((style or "still", colour), fallback), tuple(assumed))


def _style(wine: ListedWine, table: PlanTable, lexicon: Lexicon) -> tuple[str, str]:
    """The style, and from what it was assumed where the list does not say it."""
    for telling in table.styles:
        if telling.column.search(_plain(wine.style)):
            return telling.value, ""
    for telling in table.styles:
        if found := telling.anywhere.search(_plain(wine.name)):
            return telling.value, f"{_said(telling.value)} (from “{found.group()}”)"
    entry = _origin(wine, lexicon)
    style = _STYLES.get(str(entry.data.get("style", "")), "") if entry else ""
    return style, f"{_said(style)} (from {wine.origin})" if style else ""


def _said(style: str) -> str:
    return {
        "film": "under film",
        "ice": "ice wine",
        "liqueur": "liqueur wine",
        "sweet": "naturally sweet",
    }.get(style, style)


def _colour(wine: ListedWine, table: PlanTable, lexicon: Lexicon) -> tuple[str, str]:
    for text in (wine.colour, wine.style):
        for telling in table.colours:
            if telling.column.search(_plain(text)):
                return telling.value, ""
    for telling in table.colours:
        if found := telling.anywhere.search(_plain(wine.name)):
            return telling.value, f"{telling.value} (from “{found.group()}”)"
    entry = _origin(wine, lexicon)
    if entry and entry.data.get("colour") in ("white", "rosé", "red", "orange"):
        return str(entry.data["colour"]), f"{entry.data['colour']} (from {wine.origin})"
    grapes = [lexicon.lookup(grape, "grape") for grape in wine.grapes]
    colours = {table.grapes.get(grape.family, "") for grape in grapes if grape}
    if len(colours) == 1 and (colour := colours.pop()):
        return colour, f"{colour} (from its grapes)"
    return "", ""


def _origin(wine: ListedWine, lexicon: Lexicon) -> Entry | None:
    return lexicon.lookup(wine.origin, "origin") if wine.origin else None
