"""What comparing gives: frozen values, each with plain fields, so that they turn into JSON as they are.

Levels are on the note's 0-10 response scale, finishes in seconds. What was not said is missing: it has no
key in a mapping and is None in a field, never 0.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

How = Literal["timed", "stated", "open", "described"]


@dataclass(frozen=True, slots=True)
class Glass:
    """One note of a comparison; its place in the comparison's tuple, from 1, is its number there, `position`
    that in its flight."""

    id: str
    title: str
    position: int | None = None


@dataclass(frozen=True, slots=True)
class LevelSaid:
    """A level and the taster's own word for it."""

    level: float
    said: str


@dataclass(frozen=True, slots=True)
class Held:
    """How long a finish held, and how that is known: `timed` by two cues, `stated` as a number, `open` (the
    clock was never stopped; `seconds` is then what it held at the least) or `described` in words alone."""

    how: How
    seconds: float | None = None
    sign: Literal["", "about", "at least", "at least about"] = ""
    said: str = ""  # the words of its length
    beside: str = ""  # what else is known of the clock


@dataclass(frozen=True, slots=True)
class Score:
    """Points out of so many; `out_of` is None where that was not said."""

    points: float
    out_of: float | None


@dataclass(frozen=True, slots=True)
class Told:
    """What one note tells of the fields that can be compared, by the contract's field paths."""

    glass: Glass
    levels: Mapping[str, LevelSaid]
    terms: Mapping[str, str]
    descriptors: Mapping[str, tuple[str, ...]]  # in the order said, each once
    held: Held | None = None
    score: Score | None = None
    vintage: int | Literal["NV"] | None = None


@dataclass(frozen=True, slots=True)
class Spread:
    """Of `n` values: mean, range, standard deviation of a sample (n - 1); None of a single value."""

    n: int
    mean: float
    lowest: float
    highest: float
    sd: float | None


@dataclass(frozen=True, slots=True)
class Named:
    """A descriptor of one list: in which glasses it was named and in which it was said to be absent
    (numbers from 1)."""

    field: str
    term: str
    named: tuple[int, ...]
    absent: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A note that a comparison could not use, and why."""

    title: str
    reason: str


@dataclass(frozen=True, slots=True)
class Beside:
    """Notes side by side. Spreads of the finish are apart by how it is known: `timed` and `stated`; an open
    clock is in neither. `common` is what every glass that has such a list names, `apart` the rest."""

    glasses: tuple[Told, ...]
    spreads: Mapping[str, Spread]
    timed: Spread | None
    stated: Spread | None
    common: tuple[Named, ...]
    apart: tuple[Named, ...]
    unspoken: tuple[str, ...]  # fields of which nobody spoke
    kind: Literal["beside"] = "beside"


@dataclass(frozen=True, slots=True)
class Vintage:
    """One note of a wine: its vintage, the year in which it was tasted and its age in years, both None
    where the year of tasting is not known."""

    told: Told
    vintage: int
    tasted: int | None
    age: int | None


@dataclass(frozen=True, slots=True)
class WineYears:
    """One wine over the years, by vintage and then by year of tasting."""

    wine: str
    years: tuple[Vintage, ...]


@dataclass(frozen=True, slots=True)
class Years:
    """Wines over the years, and the notes that could not be used."""

    wines: tuple[WineYears, ...]
    left_out: tuple[LeftOut, ...]
    kind: Literal["years"] = "years"


@dataclass(frozen=True, slots=True)
class Intraclass:
    """ICC(2,1) and ICC(2,k) with their 95 % intervals. An interval is None where there is no error to
    reckon with; ICC(2,k) or its interval also where less agreement than by chance leaves it without a
    meaning."""

    single: float
    single_interval: tuple[float, float] | None
    average: float | None
    average_interval: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class Agreement:
    """How far tasters agree on one field: over the `wines` for which every one of `tasters` gave it.

    `silent` are tasters who never gave the field; `incomplete` is the number of wines left out because one
    of `tasters` did not give it there. `why` says why a figure is missing.
    """

    field: str
    tasters: tuple[str, ...]
    wines: int
    silent: tuple[str, ...] = ()
    incomplete: int = 0
    kendall_w: float | None = None
    icc: Intraclass | None = None
    why: str = ""


@dataclass(frozen=True, slots=True)
class Rated:
    """One field of one wine by taster."""

    wine: int  # number of the wine, from 1
    field: str
    values: Mapping[str, float]
    spread: Spread


@dataclass(frozen=True, slots=True)
class Apart:
    """How far a taster is from the mean of the others, over `n` wines: `difference` signed, `distance`
    without sign. `field` is "levels" for all levels together."""

    taster: str
    field: str
    n: int
    difference: float
    distance: float


@dataclass(frozen=True, slots=True)
class Outlying:
    """Scores out of 100 of one wine by the rule of OIV/CONCOURS 332A/2009, Art. 13 (history: replaced by
    OIV-OENO 671A-2025): those more than 7 points from the mean are named, and the mean without them."""

    wine: int
    scores: Mapping[str, float]
    mean: float
    named: tuple[str, ...]
    mean_without: float | None  # None where none is named, or none is left


@dataclass(frozen=True, slots=True)
class Cited:
    """How many tasters named a descriptor of one wine in one list."""

    wine: int
    field: str
    term: str
    tasters: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Tasters:
    """Several tasters' notes of one flight."""

    tasters: tuple[str, ...]
    wines: tuple[str, ...]
    matched_by: Literal["position", "code", "wine"]
    rated: tuple[Rated, ...]
    agreement: tuple[Agreement, ...]
    apart: tuple[Apart, ...]
    outlying: tuple[Outlying, ...]
    cited: tuple[Cited, ...]
    left_out: tuple[LeftOut, ...]
    cautions: tuple[str, ...] = ()
    kind: Literal["tasters"] = "tasters"


@dataclass(frozen=True, slots=True)
class Poured:
    """The pours of one wine: by field a value a pour, None where it was not said."""

    wine: str
    pours: tuple[Glass, ...]
    values: Mapping[str, tuple[float | None, ...]]


@dataclass(frozen=True, slots=True)
class Repeatability:
    """One field over repeat pours: `sd` is the within-subject standard deviation, pooled over wines with
    `freedom` degrees of freedom; `limit` = 2.8 sd. `relative` is sd / mean, of seconds alone: a response
    scale has no ratios."""

    field: str
    wines: int
    pours: int
    freedom: int
    mean: float
    sd: float
    limit: float
    relative: float | None = None


@dataclass(frozen=True, slots=True)
class Repeats:
    """A taster's repeat pours, and what could not be used."""

    wines: tuple[Poured, ...]
    fields: tuple[Repeatability, ...]
    left_out: tuple[LeftOut, ...]
    kind: Literal["repeats"] = "repeats"


Comparison = Beside | Years | Tasters | Repeats
