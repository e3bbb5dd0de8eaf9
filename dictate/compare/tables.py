"""A comparison as tables of text, for a terminal or a report. "–" stands for what was not said."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from typing import Final, TypeVar

from dictate.compare.reading import LEVELS, SCORE, SECONDS, TERMS, label
from dictate.compare.tasters import ALL_LEVELS, POINTS_OFF
from dictate.compare.values import (
    Agreement,
    Beside,
    Comparison,
    Glass,
    Held,
    LeftOut,
    Named,
    Repeats,
    Spread,
    Tasters,
    Told,
    Years,
)
from dictate.export import CLOCK_LINE, SCALE_LINE
from dictate.language.counted import counted

MISSING: Final = "–"
NO_NAME: Final = "no name said"
MISSING_LINE: Final = "–: not said."
OIV_LINE: Final = (
    f"Apart: more than {POINTS_OFF:g} of 100 points from the mean of all: OIV/CONCOURS 332A/2009, Art. 13, "
    "advised to remove such scores (history: replaced by OIV-OENO 671A-2025). Of scores out of 100 alone."
)
HOLES_LINE: Final = (
    "Agreement is over wines for which every taster gave the field; tasters who never gave it are left out "
    "of it. Means are of those who gave it. Of finishes, timed ones alone."
)
ISO_LINE: Final = (
    "s is the within-subject standard deviation (repeatability, also called technical error), pooled over "
    "wines; two pours differ by more than r = 2.8 s about once in twenty, in the sense of ISO 5725. Of "
    "finishes, timed ones alone."
)
_ROWS = 40  # of descriptors, on a terminal
_WORDS_UP_TO = 3  # wines beside each other of which the words said are shown
_SAID = 24  # letters of them
_Item = TypeVar("_Item")


@dataclass(frozen=True, slots=True)
class Table:
    """A table: its title, heads, rows of as many cells, and lines below it."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    foot: tuple[str, ...] = ()


def as_tables(comparison: Comparison, *, across: int = 8) -> tuple[Table, ...]:
    """The comparison as tables, with at most `across` wines beside each other in one. Nothing is
    escaped."""
    match comparison:
        case Beside():
            tables = _beside(comparison, across)
        case Years():
            tables = _years(comparison, across)
        case Tasters():
            tables = _tasters(comparison, across)
        case Repeats():
            tables = _repeats(comparison)
    return tuple(table for table in tables if table.rows or table.foot)


def number(value: float | None) -> str:
    """At most two decimals; "–" for None."""
    if value is None:
        return MISSING
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def held_seconds(held: Held | None) -> str:
    """Seconds of a finish as they are known: "13.42", "about 12", "at least 5.40", "–"."""
    if held is None or held.seconds is None:
        return MISSING
    exact = held.how in ("timed", "open") and "about" not in held.sign
    seconds = f"{held.seconds:.2f}" if exact else f"{held.seconds:.1f}".removesuffix(".0")
    return f"{held.sign} {seconds}".strip()


def numbered(title: str, number: str) -> str:
    """A title for behind its number: without its place in the flight where that is the same."""
    return NO_NAME if title == number else title.removeprefix(f"{number}, ")


def glass_title(glass: Glass, number: str) -> str:
    """A glass's title for behind its number; its place in the flight stands last where it is another."""
    if glass.position is None or str(glass.position) == number:
        return numbered(glass.title, number)
    return f"{numbered(glass.title, str(glass.position))} (number {glass.position} of its flight)"


def cut(text: str, letters: int) -> str:
    """Text of at most so many letters, an ellipsis at its end where more were there."""
    return text if len(text) <= letters else text[: letters - 1].rstrip(" ,") + "…"


def _batched(items: Iterable[_Item], size: int) -> Iterator[list[_Item]]:
    """itertools.batched, which Python 3.11 has not yet."""
    rest = iter(items)
    while batch := list(islice(rest, max(1, size))):
        yield batch


def _beside(found: Beside, across: int) -> list[Table]:
    glasses = found.glasses
    heads = [str(n) for n in range(1, len(glasses) + 1)]
    key = tuple((n, glass_title(told.glass, n)) for n, told in zip(heads, glasses, strict=True))
    return [
        Table("Wines", ("", "wine"), key),
        *_blocks(glasses, heads, across=across),
        Table("Spread", ("", "of", "mean", "range", "s"), tuple(_spread_rows(found))),
        _names(found.common, "Named in all", len(glasses)),
        _names(found.apart, "Named apart", len(glasses)),
        Table("", (), (), _closing([t.held for t in glasses], unspoken=found.unspoken)),
    ]


def _closing(held: Sequence[Held | None], unspoken: Iterable[str] = ()) -> tuple[str, ...]:
    nobody = [label(path) for path in unspoken]
    timed = any(h is not None and h.how == "timed" for h in held)
    return (
        *([f"Nobody spoke of: {', '.join(nobody)}."] if nobody else []),
        f"{MISSING_LINE} {SCALE_LINE.replace('Figures in brackets', 'Levels')}",
        *([CLOCK_LINE] if timed else []),
    )


def _blocks(glasses: Sequence[Told], heads: Sequence[str], *, across: int, title: str = "") -> list[Table]:
    """Fields down, wines across; fields that nobody spoke of left out."""
    tables = []
    terms = [path for path in TERMS if any(path in told.terms for told in glasses)]
    levels = [path for path in LEVELS if any(path in told.levels for told in glasses)]
    words = len(glasses) <= _WORDS_UP_TO
    for block in _batched(zip(glasses, heads, strict=True), across):
        tolds = [told for told, _ in block]
        rows = [(label(p), *(t.terms.get(p, MISSING) for t in tolds)) for p in terms]
        rows += [(label(p), *(_level(t, p, words=words) for t in tolds)) for p in levels]
        if any(t.held for t in glasses):
            rows.append((label(SECONDS), *(held_seconds(t.held) for t in tolds)))
            rows.append(("finish is", *(t.held.how if t.held else MISSING for t in tolds)))
        if any(t.score for t in glasses):
            rows.append((label(SCORE), *map(_score, tolds)))
        foot = [f"{head}: {t.held.beside}." for t, head in block if t.held and t.held.beside]
        tables.append(Table(title, ("", *(head for _, head in block)), tuple(rows), tuple(foot)))
    return tables


def _level(told: Told, path: str, *, words: bool) -> str:
    level = told.levels.get(path)
    if level is None:
        return MISSING
    return number(level.level) + (f" {cut(level.said, _SAID)}" if words and level.said else "")


def _score(told: Told) -> str:
    if told.score is None:
        return MISSING
    of = f" of {number(told.score.out_of)}" if told.score.out_of is not None else ""
    return number(told.score.points) + of


def _spread_rows(found: Beside) -> Iterable[tuple[str, ...]]:
    for path, of in found.spreads.items():
        yield _spread_row(label(path), of)
    if found.timed:
        yield _spread_row("finish, seconds timed", found.timed)
    if found.stated:
        yield _spread_row("finish, seconds stated", found.stated)


def _spread_row(name: str, of: Spread) -> tuple[str, ...]:
    return (name, str(of.n), number(of.mean), f"{number(of.lowest)} to {number(of.highest)}", number(of.sd))


def _names(names: Sequence[Named], title: str, glasses: int) -> Table:
    def where(numbers: Sequence[int]) -> str:
        return "all" if len(numbers) == glasses > 1 else cut(", ".join(map(str, numbers)), 40)

    rows = [(label(n.field), n.term, where(n.named), where(n.absent)) for n in names[:_ROWS]]
    more = len(names) - len(rows)
    foot = (f"and {more} more; --as json has all",) if more else ()
    return Table(title, ("", "", "named in", "said to be absent in"), tuple(rows), foot)


def _years(found: Years, across: int) -> list[Table]:
    tables: list[Table] = []
    for wine in found.wines:
        heads = [f"{y.vintage}, {MISSING if y.age is None else counted(y.age, 'year')}" for y in wine.years]
        tables += _blocks([y.told for y in wine.years], heads, across=across, title=wine.wine)
    held = [y.told.held for wine in found.wines for y in wine.years]
    age = "Age is the year of tasting less the vintage; –: the year of tasting is not known."
    closing = (age, *_closing(held)) if found.wines else ()
    return [*tables, Table("", (), (), closing), _left_out(found.left_out)]


def _left_out(notes: Sequence[LeftOut]) -> Table:
    return Table("Left out", ("wine", "why"), tuple((note.title, note.reason) for note in notes))


def _tasters(found: Tasters, across: int) -> list[Table]:
    key = tuple((str(n), numbered(title, str(n))) for n, title in enumerate(found.wines, 1))
    matched = {"position": "place in the flight", "code": "code of the glass", "wine": "producer and name"}
    foot = (f"Matched by {matched[found.matched_by]}.", *found.cautions)
    return [
        Table("Wines", ("", "wine"), key, foot),
        *_means(found, across),
        Table(
            "Agreement",
            ("", "tasters", "wines", "Kendall's W", "ICC(2,1)", "ICC(2,k)", ""),
            tuple(map(_agreement, found.agreement)),
            (HOLES_LINE,),
        ),
        _apart(found),
        _outlying(found),
        _cited(found),
        _left_out(found.left_out),
    ]


def _means(found: Tasters, across: int) -> list[Table]:
    cells = {(r.field, r.wine): r.spread for r in found.rated}
    fields = list(dict.fromkeys(r.field for r in found.rated))
    tables = []
    for block in _batched(range(1, len(found.wines) + 1), across):
        rows = [(label(f), *(_mean(cells.get((f, wine))) for wine in block)) for f in fields]
        tables.append(Table("Mean ± standard deviation", ("", *map(str, block)), tuple(rows)))
    return [*tables[:-1], *(replace(table, foot=(MISSING_LINE,)) for table in tables[-1:])]


def _mean(of: Spread | None) -> str:
    if of is None:
        return MISSING
    return number(of.mean) + (f" ± {number(of.sd)}" if of.sd is not None else " (one)")


def _agreement(one: Agreement) -> tuple[str, ...]:
    remarks = [one.why] if one.why else []
    if one.silent:
        remarks.append(f"never from {', '.join(one.silent)}")
    if one.incomplete:
        remarks.append(f"{counted(one.incomplete, 'wine')} incomplete")
    icc = one.icc
    return (
        label(one.field),
        str(len(one.tasters)),
        str(one.wines),
        _two(one.kendall_w),
        _with_interval(icc.single, icc.single_interval) if icc else MISSING,
        _with_interval(icc.average, icc.average_interval) if icc else MISSING,
        "; ".join(remarks),
    )


def _two(value: float | None) -> str:
    return MISSING if value is None else f"{value:.2f}"


def _with_interval(value: float | None, interval: tuple[float, float] | None) -> str:
    return _two(value) + (f" ({interval[0]:.2f} to {interval[1]:.2f})" if interval else "")


def _apart(found: Tasters) -> Table:
    shown = [a for a in found.apart if a.field == ALL_LEVELS or a.field.startswith((SECONDS, SCORE))]
    rows = [
        (
            a.taster,
            "all levels" if a.field == ALL_LEVELS else label(a.field),
            str(a.n),
            f"{a.difference:+.2f}",
            f"{a.distance:.2f}",
        )
        for a in shown
    ]
    foot = ("Against the mean of the others, farthest over all levels first; field by field: --as json.",)
    heads = ("taster", "of", "values", "mean difference", "mean distance")
    return Table("Who stands apart", heads, tuple(rows), foot if rows else ())


def _outlying(found: Tasters) -> Table:
    rows = [
        (
            str(o.wine),
            str(len(o.scores)),
            number(o.mean),
            ", ".join(f"{t} {number(o.scores[t])}" for t in o.named) or "nobody",
            number(o.mean_without),
        )
        for o in found.outlying
    ]
    heads = ("wine", "scores", "mean", "apart", "mean without")
    return Table("Scores out of 100", heads, tuple(rows), (OIV_LINE,) if rows else ())


def _cited(found: Tasters) -> Table:
    shared = [c for c in found.cited if len(c.tasters) > 1]
    rows = [
        (str(c.wine), label(c.field), c.term, f"{len(c.tasters)} of {len(found.tasters)}")
        for c in shared[:_ROWS]
    ]
    more = len(shared) - len(rows)
    foot = (f"and {more} more; --as json has all",) if more else ()
    return Table("Named by more than one taster", ("wine", "", "", "tasters"), tuple(rows), foot)


def _repeats(found: Repeats) -> list[Table]:
    pours = tuple((wine.wine, str(len(wine.pours))) for wine in found.wines)
    rows = tuple(
        (
            label(f.field),
            *(str(f.wines), str(f.pours), number(f.mean), number(f.sd), number(f.limit)),
            MISSING if f.relative is None else f"{f.relative:.0%}",
        )
        for f in found.fields
    )
    heads = ("", "wines", "pours", "mean", "s", "r", "s of mean")
    return [
        Table("Pours", ("wine", "pours"), pours),
        Table("Repeatability", heads, rows, (ISO_LINE,) if rows else ()),
        _left_out(found.left_out),
    ]
