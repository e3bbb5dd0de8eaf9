"""Grams of sugar said aloud: kept as stated, and turned into a level by what the European Union's labels
call a wine of so much sugar (`sweetness.py`). Never over a word of sweetness that the taster said."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from dictate.extract.parsed import Parsed
from dictate.extract.sweetness import word_for_sugar
from dictate.lexicon.entries import Lexicon
from dictate.values import Phrase, Reading

SUGAR, ACID, SWEETNESS = "palate.sugar", "palate.total_acidity", "palate.sweetness"
RULE = "eu-sugar"
_FIELD = {"sugar": SUGAR, "acid": ACID}
_MOST = 600.0  # g/L: no wine holds more
_STYLES = ("still", "sparkling", "fortified")


def read_sugar(parsed: Parsed) -> list[Reading]:
    """Amounts of sugar and of total acidity, g/L, of a range its middle; not yet fields of a note, see
    `map_sugar`."""
    return [
        parsed.reading(_FIELD[q.use], q.middle, first=q.first, last=q.last, rule=RULE)
        for q in parsed.quantities
        if q.use in _FIELD and q.unit == "g/L" and 0 <= q.middle <= _MOST
    ]


def map_sugar(
    found: Sequence[Reading], phrases: Sequence[Phrase], *, lexicon: Lexicon,
    levels: Mapping[str, Mapping[str, float]],
) -> list[Reading]:  # fmt: skip
    """The readings with amounts of sugar turned into levels of sweetness where no word of the same wine
    tells it, and taken out elsewhere.

    `levels`: level of each word of a label by style, "sparkling" and "still" (part B of the annex, which
    is also that of fortified wine). The style is the one said, else that of the origin, else
    sparkling where a mousse was spoken of; a wine of which none of these tells is taken as still.
    """
    worded, styles, acids = set[int](), dict[int, str](), dict[int, float]()
    for reading in found:
        wine = phrases[reading.phrase].wine
        if reading.scope != "said" or reading.act == "drop":
            continue
        if reading.field == SWEETNESS:
            worded.add(wine)
        elif reading.field == "wine.style" and reading.value in _STYLES:
            styles[wine] = str(reading.value)
        elif reading.field in ("wine.origin", "palate.mousse") and wine not in styles:
            place = lexicon.lookup(str(reading.value), "origin") if reading.field == "wine.origin" else None
            style = place.data.get("style", "") if place else ""
            style = "sparkling" if reading.field == "palate.mousse" else style
            if style in _STYLES:
                styles[wine] = str(style)
        elif reading.field == ACID:
            acids[wine] = float(reading.value)
    made = []
    for reading in found:
        wine = phrases[reading.phrase].wine
        if reading.field == SUGAR and wine not in worded:
            style = styles.get(wine, "still")
            word = word_for_sugar(float(reading.value), style=style, total_acidity=acids.get(wine))
            level = levels["sparkling" if style == "sparkling" else "still"][word]
            made.append(replace(reading, field=SWEETNESS, value=level, rule=reading.rule or RULE))
        elif reading.field not in (SUGAR, ACID):
            made.append(reading)
    return made
