"""The level table (`levels.toml`) compiled: scale words, quantities, steps, attributes."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from dictate.language.patterns import compile_any

Valued = tuple[tuple[float, re.Pattern[str]], ...]
# the note's section of an attribute, unless the table names a field
_SECTION = {
    "palate": "palate",
    "nose": "nose",
    "appearance": "appearance",
    "finish": "finish",
    "verdict": "verdict",
}


@dataclass(frozen=True, slots=True)
class Attribute:
    """A measurable thing: its field, the stages its own adjectives count in, nouns, adjectives."""

    name: str
    field: str
    stages: tuple[str, ...]
    nouns: re.Pattern[str]
    words: Valued
    bound: bool = False  # its adjectives count only in a clause with a noun of it, or while it is in focus


@dataclass(frozen=True, slots=True)
class Understatement:
    """Words that turn the degree behind them: "hardly sweet", "not that high". `high`, `middle`, `low`: what
    a degree above 6, from 4 to 6, below 4 becomes; `trace`: what a sweetness or bitterness up to 6 does."""

    said: re.Pattern[str]
    high: float
    middle: float
    low: float
    trace: float

    def of(self, value: float, attribute: Attribute | None) -> float:
        """What a degree of this thing, None where it is open, becomes behind these words."""
        if value > 6:
            return self.high
        if attribute is not None and attribute.name in ("sweetness", "bitterness"):
            return self.trace
        return self.middle if value >= 4 else self.low


@dataclass(frozen=True, slots=True)
class LevelTable:
    """All that turns words into levels."""

    scale: Valued
    quantity: Valued
    step: Valued
    strength: Valued
    strength_behind: Valued
    understated: tuple[Understatement, ...]
    attributes: tuple[Attribute, ...]
    sugar: Mapping[str, Mapping[str, float]]  # by style: the level of a label's word for sugar

    def named(self, name: str) -> Attribute | None:
        """The attribute of this name."""
        return next((a for a in self.attributes if a.name == name), None)


def _size(pattern: str) -> int:
    """How many words a pattern asks for; what must not follow is none."""
    return sum(not element.startswith("!") for element in pattern.split())


def _valued(data: Mapping[str, Sequence[str]]) -> Valued:
    # the longer wording first: "good solid" is not "good" and then "solid"
    return tuple(
        (float(value), compile_any(sorted(patterns, key=_size, reverse=True)))
        for value, patterns in data.items()
    )


def with_own_degrees(table: LevelTable, usage: Sequence[tuple[str, float, str]]) -> LevelTable:
    """The table with what one taster means by a degree (words as tokens, level, the field or ""): of the same
    words the taster's own level holds."""
    own = [(level, compile_any([word]), field) for word, level, field in usage]
    attributes = tuple(
        replace(a, words=(*((v, p) for v, p, field in own if field == a.field), *a.words))
        for a in table.attributes
    )
    return replace(
        table, scale=(*((v, p) for v, p, field in own if not field), *table.scale), attributes=attributes
    )


def degree_in(table: LevelTable, words: str) -> float | None:
    """The level of words that fit any measurable thing ("medium plus"), None where they are no degree."""
    text = f"{words} "
    return next((value for value, pattern in table.scale if pattern.fullmatch(text)), None)


def level_table(data: Mapping[str, Any]) -> LevelTable:
    """Plain data to compiled table. Raises KeyError or ValueError on a malformed table."""
    attributes = []
    for name, entry in data["attribute"].items():
        stages = tuple(entry["stages"])
        path = entry.get("field", f"{_SECTION[stages[0]]}.{name}")
        attributes.append(
            Attribute(
                name,
                path,
                stages,
                compile_any(entry["nouns"]),
                _valued(entry.get("words", {})),
                bool(entry.get("bound")),
            )
        )
    return LevelTable(
        scale=_valued(data["scale"]),
        quantity=_valued(data["quantity"]),
        step=_valued(data["step"]),
        strength=_valued(data["strength"]),
        strength_behind=_valued(data["strength_behind"]),
        understated=tuple(
            Understatement(
                compile_any(row["said"]), *(float(row[name]) for name in ("high", "middle", "low", "trace"))
            )
            for row in data["understated"]
        ),
        attributes=tuple(attributes),
        sugar={style: {w: float(v) for w, v in words.items()} for style, words in data["sugar"].items()},
    )
