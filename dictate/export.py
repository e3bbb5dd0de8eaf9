"""A note as text to read, and as a file name. Pure: `files.py` writes.

The layout is ours: a few short lines in the order of tasting, the taster's own words first and the
0-10 value behind them. It is no form and copies none.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Sequence

from dictate.language.tokens import fold
from dictate.note import (
    LISTED,
    NEVER_STOPPED,
    STATED_DIFFERS,
    UNCLEAR_BELOW,
    Descriptor,
    Fault,
    Finish,
    Level,
    Note,
    Term,
    Text,
)
from dictate.sense import sense_checks

SCALE_LINE = "Figures in brackets: 0 (none at all) to 10 (as much as can be imagined)."
CLOCK_LINE = (
    "Of the timed finish, 0.01 s is the resolution, not the accuracy: the last cue is a reaction, "
    "about 0.2 s late."
)
CAUTIONS = (
    "Alcohol is absorbed even when you spit. Do not drive after a tasting. "
    "Your local law, and the advice of those licensed to give it, come first."
)
NAMELESS = "A wine without a name"
# words that say by themselves which level is meant
_SPEAKS_FOR_ITSELF = {
    "sweetness": ("dry", "sweet", "sugar"),
    "depth": ("pale", "deep", "light", "dark", "opaque", "white", "depth"),
    "body": ("bodied", "body", "weight"),
    "tannin": ("tannin", "tannic"),
    "acidity": ("acid",),
    "bitterness": ("bitter",),
    "alcohol": ("alcohol", "hot", "warm"),
    "length": ("long", "short", "length", "finish", "lingering"),
    "quality": ("",),  # the line's own heading says it
}
_MAX_NAME = 80


def clean(text: str) -> str:
    """Text on one line without control characters: a transcript may hold anything."""
    kept = "".join(" " if unicodedata.category(c)[0] in "CZ" else c for c in text)
    return " ".join(kept.split())


def escape(text: str) -> str:
    """Text as Markdown that shows just this text, where it does not begin a line."""
    return re.sub(r"([\\`*_\[\]<>#|~&$^])", r"\\\1", clean(text))


def number(value: float) -> str:
    """A number as a reader wants it: two decimals at most."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _level(level: Level | None, name: str) -> list[str]:
    if level is None:
        return []
    said = clean(level.said).rstrip(" ,.;:")
    if not said:
        return [f"{name}: {number(level.level)} of 10"]
    alone = any(word in said.lower() for word in (name, *_SPEAKS_FOR_ITSELF.get(name, ())))
    return [f"{said if alone else f'{name}: {said}'} ({number(level.level)})"]


def _descriptors(items: Iterable[Descriptor]) -> list[str]:
    parts = []
    for item in items:
        sure = " perhaps" if isinstance(item, Fault) and not item.certain else ""
        parts.append(f"{item.term}{sure}" + (f" ({number(item.strength)})" if item.strength else ""))
    return [", ".join(parts)] if parts else []


def _terms(*items: Term | None) -> list[str]:
    return [item.term for item in items if item is not None]


def _inferred_or_said(item: Term) -> str:
    said = clean(item.said).strip(" ,.;:")
    return f"{item.term} (not said; from “{said}”)" if item.source == "inferred" and said else item.term


def _texts(*items: Text | None) -> list[str]:
    return [item.text for item in items if item is not None]


def _absent(items: Sequence[Descriptor]) -> list[str]:
    return [f"not there: {', '.join(d.term for d in items)}"] if items else []


def _from_list(note: Note) -> list[str]:
    """The names of the fields that a wine list filled in."""
    wine = note.wine
    kept = {name: getattr(wine, name) for name in ("producer", "name", "origin", "vintage")}
    kept["grapes"] = wine.grapes[0] if wine.grapes else None
    names = [name for name, value in kept.items() if value is not None and value.source == "listed"]
    return [", ".join(names)] if names else []


def list_differences(note: Note) -> list[str]:
    """In what a wine list says other than the taster: "vintage 2018 on the list, 2019 said"."""
    return [
        f"{c.field.partition('.')[2]} {c.before.removeprefix(LISTED)} on the list, {c.after} said"
        for c in note.history
        if isinstance(c.before, str) and c.before.startswith(LISTED)
    ]


def _held(finish: Finish, seconds: float) -> str:
    if finish.how != "timed":
        return f"about {number(seconds)} s, as stated"
    if finish.confidence is not None and finish.confidence < UNCLEAR_BELOW:
        return f"held about {seconds:.1f} s, timed by cue, but where a cue begins is unclear in the sound"
    return f"held {seconds:.2f} s, timed by cue"


def held_line(note: Note) -> str:
    """How long a timed finish held, in words, "" where no clock ran: "held 13.42 s, timed by cue"."""
    finish = note.finish
    return _held(finish, finish.seconds) if finish.how == "timed" and finish.seconds is not None else ""


def beside_clock(note: Note) -> list[str]:
    """What the history tells of the clock: a length stated beside the timed one, a clock left running."""
    timed_s = note.finish.seconds if note.finish.how == "timed" else None
    parts = []
    for change in note.history:
        before, after = change.before, str(change.after)
        if change.field != "finish.seconds":
            continue
        if timed_s is None and after.startswith(NEVER_STOPPED):
            parts.append(f"clock {after}")
        elif timed_s is not None and isinstance(before, int | float):
            _, differs, share = after.partition(STATED_DIFFERS)
            if differs or change.after == timed_s:
                parts.append(
                    f"stated as {number(before)} s" + (f", which differs by {share}" if differs else "")
                )
    return parts


def _finish(note: Note) -> list[str]:
    finish = note.finish
    held = [_held(finish, finish.seconds)] if finish.seconds is not None else []
    told = [*held, *beside_clock(note)]
    return [*told, *_level(finish.length, "length"), *_descriptors(finish.flavours)]


def _verdict(note: Note) -> list[str]:
    verdict = note.verdict
    points = number(verdict.score.points) if verdict.score else None
    from_points = points and verdict.quality and points in verdict.quality.said  # then said once is enough
    parts = [] if from_points else _level(verdict.quality, "quality")
    if verdict.score is not None:
        of = f" out of {number(verdict.score.out_of)}" if verdict.score.out_of is not None else " points"
        parts.append(number(verdict.score.points) + of)
    parts += _terms(verdict.readiness)
    return [*parts, *([window] if (window := drink_window(note)) else [])]


def drink_window(note: Note) -> str:
    """The years to drink it in, "" where none was named: "drink 2028 to 2040"."""
    start, end = note.verdict.drink_from, note.verdict.drink_to
    if start and end:
        return f"drink {start} to {end}"
    return f"drink from {start}" if start else f"drink by {end}" if end else ""


def headed_parts(note: Note) -> list[tuple[str, list[str]]]:
    """What the note says, a heading and its parts a line, in order; lines that say nothing left out."""
    wine, eye, nose, mouth = note.wine, note.appearance, note.nose, note.palate
    levels = ("sweetness", "acidity", "tannin", "alcohol", "body", "bitterness", "intensity", "mousse")
    palate = [part for name in levels for part in _level(getattr(mouth, name), name)]
    palate += _descriptors(mouth.tannin_texture) and [f"tannin: {_descriptors(mouth.tannin_texture)[0]}"]
    palate += [*_descriptors(mouth.texture), *_descriptors(mouth.flavours), *_terms(mouth.balance)]
    rim = [f"{eye.rim.term} at the rim"] if eye.rim else []
    smelt = [*_level(nose.intensity, "intensity"), *_descriptors(nose.aromas), *_terms(nose.age)]
    seen = [*_terms(eye.clarity), *_level(eye.depth, "depth"), *_terms(eye.hue), *rim]
    lines = [
        ("Wine", [_inferred_or_said(t) for t in (wine.colour, wine.style) if t]),
        ("From list", _from_list(note)),
        ("List differs", list_differences(note)),
        ("Appearance", [*seen, *_texts(eye.bubbles, eye.tears, eye.deposit)]),
        ("Nose", smelt + _absent(nose.absent)),
        ("Palate", palate + _absent(mouth.absent)),
        ("Finish", _finish(note)),
        ("Faults named", _descriptors(note.faults)),
        ("Verdict", _verdict(note)),
        ("Also said", [f"“{clean(t.text)}”" for t in note.remarks]),
    ]
    return [(heading, parts) for heading, parts in lines if parts]


def wine_title(note: Note) -> str:
    """The wine on one line, of what is known: "3, Copper Ladle, Chardonnay, Margaret River, 2020"."""
    wine = note.wine
    place = [str(wine.position)] if wine.position is not None else []
    code = [f"glass {wine.code}"] if wine.code else []
    parts = [*place, *code, *_name_parts(note)]
    return clean(", ".join(p for p in parts if p.strip())) or NAMELESS


def wine_name(note: Note) -> str:
    """The wine without its place in the flight: "Copper Ladle, Chardonnay, Margaret River, 2020"."""
    return clean(", ".join(p for p in _name_parts(note) if p.strip())) or NAMELESS


def _name_parts(note: Note) -> list[str]:
    wine = note.wine
    vintage = [str(wine.vintage.year)] if wine.vintage else []
    grapes = [" and ".join(_titled(g.term) for g in wine.grapes)] if wine.grapes else []
    names = [capitals(t) for t in _texts(wine.producer, wine.name)]
    origin = [capitals(t) for t in _texts(wine.origin)]
    return [*names, *grapes, *origin, *vintage]


def capitals(text: str) -> str:
    """A name with capitals, where it has none of its own."""
    return _titled(text) if text.islower() else text


def _titled(text: str) -> str:
    """Each word with a capital, but none behind an apostrophe ("Heron's Rake"), save "D'" and "L'"."""
    return re.sub(r"(?<![\w'’])\w|(?<=\b[dlDL]['’])\w", lambda m: m.group().upper(), text)


def is_timed(note: Note) -> bool:
    """Whether two cues timed the finish."""
    return note.finish.how == "timed" and note.finish.seconds is not None


def _page(
    note: Note, year: int | None, *, heading: Callable[[str], str], line: Callable[[str, str], str]
) -> list[str]:
    body = [line(name, "; ".join(parts) + ".") for name, parts in headed_parts(note)]
    checks = [f"{c.text} ({c.source})" for c in sense_checks(note, year)]
    look = [line("Worth a look", "; ".join(checks) + ".")] if checks else []
    return [heading(wine_title(note)), *(body or [line("", "Nothing was said of this wine.")]), *look]


def as_markdown(note: Note, year: int | None = None) -> str:
    """The note as a Markdown page; whatever the taster said is escaped. `year` is that of the tasting,
    where it is known, for the sense checks."""

    def line(name: str, text: str) -> str:
        return f"**{name}.** {escape(text)}" if name else escape(text)

    page = _page(note, year, heading=lambda title: f"# {escape(title)}", line=line)
    foot = [f"*{escape(SCALE_LINE)}*"] + ([f"*{escape(CLOCK_LINE)}*"] if is_timed(note) else [])
    return "\n\n".join([*page, *foot]) + "\n"


def as_summary(note: Note, year: int | None = None) -> str:
    """The note as plain lines for a terminal: the title first, then a line a stage; `year` as above."""
    page = _page(
        note, year, heading=str, line=lambda name, text: f"  {name + ':':<13} {clean(text)}".rstrip()
    )
    return "\n".join(page)


def closing_lines(notes: Sequence[Note]) -> tuple[str, ...]:
    """What is said once below all summaries: the scale, the clock's truth, the cautions."""
    clock = [CLOCK_LINE] if any(is_timed(note) for note in notes) else []
    return (SCALE_LINE, *clock, CAUTIONS) if notes else (CAUTIONS,)


def file_name(note: Note) -> str:
    """A file name without ending, of a-z, 0-9 and "-": position, code, then the wine; at most 80 long."""
    wine = note.wine
    place = f"{wine.position:02d}" if wine.position is not None else "note"
    grapes = [g.term for g in wine.grapes[:2]]
    vintage = str(wine.vintage.year) if wine.vintage else ""
    names = [place, wine.code or "", *_texts(wine.producer, wine.name), *grapes]
    names += [*_texts(wine.origin), vintage]
    return re.sub(r"[^a-z0-9]+", "-", fold(" ".join(names))).strip("-")[:_MAX_NAME].rstrip("-")
