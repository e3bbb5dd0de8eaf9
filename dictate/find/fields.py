"""What can be asked of: the names in a query, and which number or texts of the note each means."""

from __future__ import annotations

from typing import Final

from dictate.find.tree import QueryError
from dictate.language.tokens import fold

# numbers of a note: how each is called in a query, the first name is that of a table's column
NUMBERS: Final[dict[str, tuple[str, ...]]] = {
    "position": ("position", "number", "wine"),
    "vintage": ("vintage", "year"),
    "depth": ("depth",),
    "nose_intensity": ("nose", "nose intensity", "intensity of nose"),
    "sweetness": ("sweetness",),
    "acidity": ("acidity", "acid"),
    "tannin": ("tannin", "tannins"),
    "alcohol": ("alcohol",),
    "body": ("body",),
    "bitterness": ("bitterness",),
    "palate_intensity": ("palate", "palate intensity", "flavour intensity", "intensity of palate"),
    "mousse": ("mousse",),
    "finish": ("finish",),
    "length": ("length",),
    "quality": ("quality",),
    "score": ("score",),
    "drink_from": ("drink from",),
    "drink_to": ("drink to", "drink until", "drink by"),
    "faults": ("faults", "fault count"),
}
YEARS: Final = frozenset(["vintage", "drink_from", "drink_to"])
UNITS: Final[dict[str, frozenset[str]]] = {
    "finish": frozenset(["seconds", "second", "secs", "sec", "s"]),
    "score": frozenset(["points", "point"]),
}
_FOREIGN = "minutes minute min mins percent % grams g points hours years".split()
ANY_UNIT: Final = frozenset([*(unit for units in UNITS.values() for unit in units), *_FOREIGN])

# texts of a note
TEXTS: Final = (
    "producer", "name", "origin", "grapes", "vintage", "code", "colour", "style", "clarity", "hue", "rim",
    "age", "balance", "readiness", "how", "aromas", "flavours", "finish_flavours", "feel", "absent",
    "faults", "words",
)  # fmt: skip
# where a plain word is looked for: what was said, and what the wine is; what is absent only as it was said
ANYWHERE: Final = tuple(text for text in TEXTS if text != "absent")

# words in a query that tell where those behind them are looked for
HEADS: Final[dict[str, tuple[str, ...]]] = {
    "smells of": ("aromas",),
    "tastes of": ("flavours", "finish_flavours"),
    "finishes on": ("finish_flavours",),
    "finishes with": ("finish_flavours",),
    "feels": ("feel",),
    "lacks": ("absent",),
    "fault": ("faults",),
    "faults": ("faults",),
    "from": ("origin",),
    "by": ("producer",),
    "called": ("name",),
    "made of": ("grapes",),
    "grape": ("grapes",),
    "code": ("code",),
    "colour": ("colour",),
    "color": ("colour",),
    "style": ("style",),
    "clarity": ("clarity",),
    "hue": ("hue",),
    "rim": ("rim",),
    "age": ("age",),
    "balance": ("balance",),
    "readiness": ("readiness",),
    "said": ("words",),
}
# ... of which a wine has many: "smells of cedar and lime" looks for both there
LISTED: Final = frozenset(
    ["smells of", "tastes of", "finishes on", "finishes with", "feels", "lacks", "fault", "faults"]
)
CLOCKS: Final = frozenset(["timed", "stated", "described"])  # of a finish, how it was told

# what a list of hits can be sorted by, beside the numbers
_SORTS: Final = {"added": "added", "title": "title", "producer": "producer", "origin": "origin"}


def number_names() -> dict[str, str]:
    """Each name of a number in a query, and the number it means."""
    return {name: field for field, names in NUMBERS.items() for name in names}


def sort_key(name: str) -> str:
    """What a name behind `--by` means: a number of NUMBERS, or added, title, producer, origin.

    Raises QueryError, one line with the names there are.
    """
    wanted = " ".join(fold(name).replace("_", " ").split())
    found = {**number_names(), **_SORTS}.get(wanted)
    if found is None:
        names = [*_SORTS, *(names[0] for names in NUMBERS.values())]
        raise QueryError(f"notes cannot be sorted by “{name[:40]}”; name one of {', '.join(names)}")
    return found
