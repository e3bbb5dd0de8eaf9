"""`dictate plan`: a wine list in the order of tasting: sessions, glasses, the alcohol poured. EDGE."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from dictate.commands import DONE, FAILED
from dictate.commands.note import wines_on
from dictate.export import CAUTIONS
from dictate.files import write_file
from dictate.lexicon import load_lexicon, load_table
from dictate.show import show_lines, tell


def add_plan_command(commands: argparse._SubParsersAction[Any]) -> None:
    """The options of `dictate plan`."""
    plan = commands.add_parser("plan", help="a wine list in the order of tasting", allow_abbrev=False)
    plan.add_argument("list", type=Path, metavar="LIST", help="a wine list (CSV), as for note --list")
    plan.add_argument("--start", type=_time, metavar="HH:MM", help="when the first session begins")
    plan.add_argument(
        "--pour", type=_number(1, 250), default=50.0, metavar="ML", help="in each glass (50, by ISO 3591)"
    )
    plan.add_argument("--tasters", type=_tasters, default=1, metavar="N", help="how many taste (1)")
    plan.add_argument(
        "--minutes", type=_number(0.5, 60), default=4.0, metavar="M", help="for each wine (4; no source)"
    )
    plan.add_argument(
        "--rest",
        type=_number(0, 600),
        default=30.0,
        metavar="M",
        help="minutes between sessions (30; no source)",
    )
    plan.add_argument(
        "--to", type=Path, metavar="FILE", help="write the list in that order, for listen --list"
    )
    plan.set_defaults(run=run_plan)


def _time(text: str) -> int:
    """Minutes from midnight. Raises ArgumentTypeError."""
    found = re.fullmatch(r"(\d{1,2})[:.](\d{2})", text.strip())
    if not found or int(found.group(1)) > 23 or int(found.group(2)) > 59:
        raise argparse.ArgumentTypeError(f"{text!r} is no time; write it like 09:30")
    return int(found.group(1)) * 60 + int(found.group(2))


def _number(least: float, most: float) -> Callable[[str], float]:
    def read(text: str) -> float:
        try:
            number = float(text.replace(",", "."))
        except ValueError:
            number = float("nan")
        if not least <= number <= most:
            raise argparse.ArgumentTypeError(f"{text!r} is no number from {least:g} to {most:g}")
        return number

    return read


def _tasters(text: str) -> int:
    if not text.isascii() or not text.isdecimal() or not 1 <= int(text) <= 1000:
        raise argparse.ArgumentTypeError(f"{text!r} is no number of tasters from 1 to 1000")
    return int(text)


def run_plan(options: argparse.Namespace) -> int:
    """Plans the list; returns the exit code. Raises SheetError where the list cannot be read, OSError where
    the new one cannot be written."""
    from dictate.plan import Wishes, as_list, make_plan, plan_lines, plan_table

    wines = wines_on(options.list)
    if not wines:
        return FAILED
    if options.to is not None and options.to.resolve() == options.list.resolve():
        tell(f"{options.to}: that is the list itself; give another name with --to")
        return FAILED
    table = plan_table(load_table("plan"))
    wishes = Wishes(
        start_min=options.start,
        pour_ml=options.pour,
        tasters=options.tasters,
        minutes_a_wine=options.minutes,
        minutes_between=options.rest,
    )
    plan = make_plan(wines, table, lexicon=load_lexicon(), wishes=wishes)
    show_lines([*plan_lines(plan, table), CAUTIONS], keep_spaces=True)
    if options.to is not None:
        write_file(as_list(plan).encode("utf-8-sig", "replace"), options.to)
        show_lines([f"written: {options.to}"])
    return DONE
