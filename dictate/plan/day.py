"""Sessions and days, times, glasses, and the alcohol poured. Pure.

Wines in a day: OIV/CONCOURS 332A/2009, Art. 10 (history): at most 45, three sessions of about 15 dry wines,
or two of 15 and one of 10 others. Grams: mL x % / 100 x 0.789 (ethanol at 20 °C, OIML R 22). What is poured
is counted, never what is in anybody's blood.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from dictate.lexicon.entries import Lexicon
from dictate.plan.kinds import PlanTable
from dictate.plan.order import Placed, in_order
from dictate.values import ListedWine

DAY_MIN = 24 * 60


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the taster asks for. `start_min`: minutes from midnight, None without times."""

    start_min: int | None = None
    pour_ml: float = 50.0
    tasters: int = 1
    minutes_a_wine: float = 4.0
    minutes_between: float = 30.0


@dataclass(frozen=True, slots=True)
class Poured:
    """Grams of alcohol in a pour: from `low` to `high` where the strength is assumed, else both the same."""

    low: float
    high: float

    @property
    def is_assumed(self) -> bool:
        """Whether it is a range, for want of a listed strength."""
        return self.low != self.high

    def __add__(self, other: Poured) -> Poured:
        return Poured(self.low + other.low, self.high + other.high)


@dataclass(frozen=True, slots=True)
class Session:
    """Wines tasted without a rest. `day` and `number` from 1; `start_min`, `end_min` from midnight."""

    day: int
    number: int
    wines: tuple[Placed, ...]
    start_min: float | None = None
    end_min: float | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """The plan of a list. `poured` is a taster's, day by day, and `glasses` all tasters', both with the
    warm-up of each day."""

    sessions: tuple[Session, ...]
    wishes: Wishes
    poured: tuple[Poured, ...]
    glasses: int

    @property
    def wines(self) -> tuple[Placed, ...]:
        """All wines in the order of tasting."""
        return tuple(placed for session in self.sessions for placed in session.wines)

    @property
    def days(self) -> int:
        """Of how many days it is."""
        return len(self.poured)


def grams(ml: float, strength: float, *, density: float = 0.789) -> float:
    """Grams of alcohol in `ml` of `strength` % vol: 147.9 mL at 12 % hold 14.0 g."""
    return ml * strength / 100 * density


def poured(placed: Placed, table: PlanTable, *, pour_ml: float) -> Poured:
    """Grams of alcohol in one pour; by the range of its class where the list gives no strength."""
    low, high = placed.kind.wine_class.strength
    if placed.wine.alcohol is not None:
        low = high = placed.wine.alcohol
    density = table.alcohol["density"]
    return Poured(grams(pour_ml, low, density=density), grams(pour_ml, high, density=density))


def bottles(pours: int, pour_ml: float, *, bottle_ml: float = 750.0) -> int:
    """Bottles needed for so many pours of one wine."""
    return math.ceil(pours / max(1, math.floor(bottle_ml / pour_ml)))


def make_plan(
    wines: Sequence[ListedWine], table: PlanTable, *, lexicon: Lexicon, wishes: Wishes = Wishes()
) -> Plan:
    """The plan of all wines of a list, each once."""
    placed = in_order(wines, table, lexicon=lexicon)
    groups = _sessions(placed, table)
    per_day = int(table.limits["sessions_a_day"])
    sessions: list[Session] = []
    start: float | None = wishes.start_min
    for index, group in enumerate(groups):
        number = index % per_day + 1
        if number == 1:
            start = wishes.start_min
        pours = len(group) + (number == 1)  # the warm-up of a morning takes as long as a wine
        end = None if start is None else start + pours * wishes.minutes_a_wine
        sessions.append(Session(index // per_day + 1, number, group, start, end))
        start = None if end is None else end + wishes.minutes_between
    by_day: list[Poured] = []
    for session in sessions:
        first = session.number == 1
        total = Poured(0.0, 0.0) if first else by_day.pop()
        for one in (*session.wines, *(session.wines[:1] if first else ())):
            total += poured(one, table, pour_ml=wishes.pour_ml)
        by_day.append(total)
    return Plan(tuple(sessions), wishes, tuple(by_day), (len(placed) + len(by_day)) * wishes.tasters)


def _sessions(placed: Sequence[Placed], table: PlanTable) -> list[tuple[Placed, ...]]:
    """As few sessions as the limits allow, about as full as each other. A session of dry wines and others is
    full when the shares of both limits add up to one."""
    dry, others = int(table.limits["dry_a_session"]), int(table.limits["others_a_session"])
    weights = [others if one.kind.wine_class.is_dry else dry for one in placed]
    full = dry * others
    fewest = len(_cut(weights, full))
    aims = range(max(weights, default=full), full + 1)
    even = bisect_left(aims, True, key=lambda aim: len(_cut(weights, aim)) <= fewest)
    sizes = _cut(weights, aims[even])
    bounds = [sum(sizes[:index]) for index in range(len(sizes) + 1)]
    return [tuple(placed[a:b]) for a, b in zip(bounds, bounds[1:], strict=False)]


def _cut(weights: Sequence[int], aim: int) -> list[int]:
    """How many wines each session takes when each is filled up to an aim."""
    sizes: list[int] = []
    held = 0
    for weight in weights:
        if not sizes or held + weight > aim:
            sizes.append(0)
            held = 0
        sizes[-1] += 1
        held += weight
    return sizes
