"""A plan as lines to read, and as a wine list in the planned order. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from dictate.csvtext import csv_text
from dictate.language.counted import counted
from dictate.plan.day import DAY_MIN, Plan, Poured, Session, bottles, poured
from dictate.plan.kinds import PlanTable
from dictate.plan.order import Placed
from dictate.values import ListedWine

SOURCE = (
    "Order, wines a day, temperatures, room, glasses, warm-up: OIV/CONCOURS 332A/2009, since replaced by "
    "OIV-OENO 671A-2025. Which end comes first within a class (youngest, driest, no oak), the minutes and "
    "the rests: common practice, no source."
)
COLUMNS = ("position", "code", "producer", "name", "origin", "grapes", "vintage", "colour", "style",
           "alcohol", "sugar", "oak")  # fmt: skip


def listed_name(wine: ListedWine) -> str:
    """A listed wine on one line, of what the list says."""
    vintage = [] if wine.vintage is None else [str(wine.vintage)]
    parts = [wine.producer, wine.name, " and ".join(wine.grapes), wine.origin, *vintage]
    return ", ".join(part for part in parts if part) or (
        f"glass {wine.code}" if wine.code else "a wine without a name"
    )


def plan_lines(plan: Plan, table: PlanTable) -> Iterator[str]:
    """The plan as lines: each session, each wine with why it stands there, glasses, alcohol, the rules."""
    place = 0
    for session in plan.sessions:
        if session.number == 1:
            yield f"Day {session.day}" if plan.days > 1 else "The day"
            first = listed_name(session.wines[0].wine)
            yield f"  Warm-up: one glass more, like the first ({first}), served as it is; it is not judged"
        yield _headed(session, plan)
        for one in session.wines:
            place += 1
            yield f"  {place:>3}  {listed_name(one.wine)}{_listed(one, place)}"
            yield f"       {'; '.join(_told(one, plan, table))}"
        yield ""
    yield from _glasses(plan, table)
    yield from _alcohol(plan)
    low, high = table.room
    yield f"Room: quiet, well lit, without smells, {low} to {high} °C; preferably in the morning."
    yield SOURCE


def _headed(session: Session, plan: Plan) -> str:
    times = ""
    if session.start_min is not None and session.end_min is not None:
        times = f", {_clock(session.start_min)} to {_clock(session.end_min)}"
        times += " (past midnight: begin earlier)" if session.end_min >= DAY_MIN else ""
    rest = f", after {plan.wishes.minutes_between:g} minutes' rest" if session.number > 1 else ""
    return f"  Session {session.number}{times}{rest}: {counted(len(session.wines), 'wine')}"


def _clock(minutes: float) -> str:
    whole = round(minutes)
    return f"{whole // 60 % 24:02d}:{whole % 60:02d}"


def _listed(one: Placed, place: int) -> str:
    before = one.wine.position if one.wine.position is not None else one.listed
    return f" (listed as {before})" if before != place else ""


def _told(one: Placed, plan: Plan, table: PlanTable) -> Iterator[str]:
    serve = one.kind.wine_class.serve
    yield one.why
    yield f"{serve[0]} to {serve[1]} °C" if serve else "no temperature in the source"
    yield f"{_grams(poured(one, table, pour_ml=plan.wishes.pour_ml))} of alcohol"
    if one.wine.alcohol is None:
        low, high = one.kind.wine_class.strength
        yield f"{low:g} to {high:g} % vol taken, none is listed"
    if one.kind.assumed:
        yield f"taken as {', '.join(one.kind.assumed)}" if one.kind.wine_class.style else one.kind.assumed[0]


def _grams(amount: Poured) -> str:
    return f"{amount.low:.1f} to {amount.high:.1f} g" if amount.is_assumed else f"{amount.low:.1f} g"


def _glasses(plan: Plan, table: PlanTable) -> Iterator[str]:
    wishes = plan.wishes
    each = bottles(wishes.tasters, wishes.pour_ml, bottle_ml=table.alcohol["bottle"])
    who = "one taster" if wishes.tasters == 1 else f"{wishes.tasters} tasters"
    yield (
        f"Glasses: {plan.glasses} for {who}, a fresh one for every sample, warm-up included; "
        f"{wishes.pour_ml:g} mL in each (ISO 3591: 50 mL). Bottles of 750 mL: {each} of each wine, "
        "more where one may be faulty."
    )


def _alcohol(plan: Plan) -> Iterator[str]:
    amounts = ", ".join(
        (f"day {day}: " if plan.days > 1 else "") + _grams(amount)
        for day, amount in enumerate(plan.poured, 1)
    )
    missing = sum(one.wine.alcohol is None for one in plan.wines)
    taken = (
        f" {missing} of {len(plan.wines)} wines have no strength listed, so a range is given."
        if missing
        else ""
    )
    yield (
        f"Alcohol poured a taster, warm-up included: {amounts} (mL x % vol / 100 x 0.789 g/mL).{taken} That "
        "is what is in the glasses; what of it gets into you is not counted here, and nothing here is a "
        "measure for driving."
    )


def planned_wines(plan: Plan) -> tuple[ListedWine, ...]:
    """The wines in the planned order, numbered from 1: as `dictate listen --list` reads them back."""
    return tuple(replace(one.wine, position=place) for place, one in enumerate(plan.wines, 1))


def as_list(plan: Plan) -> str:
    """A wine list (CSV) in the planned order, numbered from 1; no cell is taken for a formula."""
    return csv_text([COLUMNS, *map(_cells, planned_wines(plan))])


def _cells(wine: ListedWine) -> Iterator[str]:
    yield str(wine.position)
    yield from (wine.code, wine.producer, wine.name, wine.origin)
    yield ", ".join(wine.grapes)
    yield "" if wine.vintage is None else str(wine.vintage)
    yield from (wine.colour, wine.style)
    yield "" if wine.alcohol is None else f"{wine.alcohol:g}"
    yield "" if wine.sugar is None else f"{wine.sugar:g}"
    yield "" if wine.oak is None else "yes" if wine.oak else "no"
