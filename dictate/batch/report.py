"""What came of a batch, as lines for the terminal and as data for the page. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from dictate.batch.manifest import Line, NoteMade
from dictate.batch.repaired import together
from dictate.batch.run import Result
from dictate.export import clean
from dictate.language.counted import counted

PAGE: Final = "batch.html"
_FEW, _MANY = 10, 500  # of each list: on the terminal, on the page
_FIELDS = 3  # doubtful values that are told of a note


def speed(result: Result) -> str:
    """How fast sound was heard: "2:05:00 of sound in 0:06:15: 20.0 times as fast as it was said"."""
    if not result.sound_s or not result.wall_s:
        return ""
    times = result.sound_s / result.wall_s
    heard = f"{clock(result.sound_s)} of sound in {clock(result.wall_s)}"
    return f"{heard}: {times:.1f} times as fast as it was said"


def clock(seconds: float) -> str:
    """Hours, minutes, seconds."""
    whole = round(seconds)
    return f"{whole // 3600}:{whole % 3600 // 60:02d}:{whole % 60:02d}"


def told(result: Result) -> list[str]:
    """The report as lines of text; spaces at their beginning belong to them."""
    lines = [_first_line(result)]
    lines += [line for line in (speed(result), _of_others(result)) if line]
    if result.left:
        lines.append(f"stopped; {counted(result.left, 'file')} left: the same command goes on")
    lines += _listed("Same recording twice, done once:", [f"{b} is {a}" for a, b in result.twins])
    lines += _listed("Not done:", [f"{f.path}: {f.reason}" for f in result.failures], most=_MANY)
    doubtful = [f"{clean(n.title)} ({n.file}): {_values(n)}" for n in _by_doubt(result.lines)]
    lines += _listed("To look at first (dictate review):", doubtful)
    repaired = together(line.repaired for line in result.lines)
    lines += _listed(
        "Most often put right:",
        [f"“{r.heard}” to “{r.written}”, {r.times} ×" for r in repaired if r.times > 1],
    )
    if result.problem:
        lines.append(f"Not in the library, but in files: {result.problem}; the same command tries again")
    return lines


def page_of(result: Result) -> dict[str, Any]:
    """The report as plain data for the template `batch.html.j2`; nothing in it is escaped."""
    doubtful = _by_doubt(result.lines)
    repaired = together(line.repaired for line in result.lines)
    return {
        "facts": [line for line in (_first_line(result), speed(result), _of_others(result)) if line],
        "left": result.left,
        "problem": clean(result.problem),
        "failures": [{"path": clean(str(f.path)), "reason": clean(f.reason)} for f in result.failures],
        "twins": [[clean(str(a)), clean(str(b))] for a, b in result.twins],
        "doubtful": [
            {
                "title": clean(n.title),
                "file": clean(n.file),
                "values": [
                    {"field": d.field, "right": f"{d.right:.0%}", "reason": clean(d.reason)}
                    for d in n.doubtful
                ],
            }
            for n in doubtful[:_MANY]
        ],
        "more": max(0, len(doubtful) - _MANY),
        "repaired": [
            {"heard": clean(r.heard), "written": clean(r.written), "times": r.times} for r in repaired[:_MANY]
        ],
    }


def _first_line(result: Result) -> str:
    notes = sum(len(line.notes) for line in result.lines)
    sound_s = sum(line.sound_s for line in result.lines)
    before = f", {result.before} of them by an earlier run" if result.before else ""
    made = f"{counted(notes, 'note')} of {counted(len(result.lines), 'recording')}"
    return f"{made}{before}; {clock(sound_s)} of sound"


def _of_others(result: Result) -> str:
    parts = []
    if quiet := sum(not line.notes for line in result.lines):
        parts.append(f"{counted(quiet, 'recording')} without speech")
    if result.twins:
        parts.append(f"{counted(len(result.twins), 'recording')} there twice")
    if result.others:
        parts.append(f"{counted(result.others, 'file')} without sound left aside")
    if result.failures:
        parts.append(f"{len(result.failures)} not done")
    return "; ".join(parts)


def _by_doubt(lines: Sequence[Line]) -> list[NoteMade]:
    """Notes with doubtful values, the one with the likeliest mistake first."""
    notes = [note for line in lines for note in line.notes if note.doubtful]
    return sorted(notes, key=lambda note: min(d.right for d in note.doubtful))


def _values(note: NoteMade) -> str:
    shown = [f"{d.field} {d.right:.0%} ({d.reason})" for d in note.doubtful[:_FIELDS]]
    more = len(note.doubtful) - len(shown)
    return ", ".join(shown) + (f" and {more} more" if more > 0 else "")


def _listed(head: str, items: Sequence[str], *, most: int = _FEW) -> list[str]:
    if not items:
        return []
    shown = [f"  {clean(item)}" for item in items[:most]]
    more = len(items) - len(shown)
    return [head, *shown, *([f"  and {more} more, see {PAGE}"] if more else [])]
