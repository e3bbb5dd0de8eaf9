"""What is to be seen at the bench, as one frozen value. Pure: the views draw it.

The places are where the taster has the wine: eye, nose, mouth, after, verdict. Within a place the words
stand in alphabetical order, and they are everyday words: the board copies no form's names or sequence.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final, Literal

from dictate.export import clean, headed_parts, wine_title
from dictate.note import Change, Note, finish_seconds

ClockState = Literal["idle", "running", "stopped"]
Mode = Literal["listening", "paused", "private", "catching_up", "ended"]

PLACES: Final = ("wine", "eye", "nose", "mouth", "after", "verdict")
MODE_WORDS: Final[dict[Mode, str]] = {
    "listening": "listening",
    "paused": "paused",
    "private": "off the record",
    "catching_up": "catching up",
    "ended": "ended",
}
NO_WINE: Final = "No wine yet"
HOW_TO_RESUME: Final = "nothing said now is noted; “resume the notes” goes on"
HIDING: Final[tuple[Mode, ...]] = ("private", "catching_up")  # what was said is not shown: it may be private
QUIET_DB: Final = -60.0  # the foot of the sound bar; digital silence (-inf) is shown as this
_LONGEST = 240  # characters of a line that is shown: more can't be read at a glance

# the headings of export.py by place; "From list" is left to the note
_PLACE_OF_HEADING = {
    "Wine": "wine",
    "List differs": "wine",
    "Appearance": "eye",
    "Nose": "nose",
    "Palate": "mouth",
    "Finish": "after",
    "Verdict": "verdict",
    "Faults named": "faults",
    "Also said": "also said",
}
_PLACE_OF_STAGE = {
    "identity": "wine",
    "appearance": "eye",
    "nose": "nose",
    "palate": "mouth",
    "finish": "after",
    "verdict": "verdict",
}


@dataclass(frozen=True, slots=True)
class Clock:
    """The finish clock. `since_s`: the recording second of the away cue's onset, while it runs; `seconds`:
    what it stopped at; `sure` is False as long as the fast ear alone heard the cue."""

    state: ClockState = "idle"
    since_s: float | None = None
    seconds: float | None = None
    sure: bool = True


@dataclass(frozen=True, slots=True)
class Changed:
    """What a correction changed, in words: "mouth acidity", from "5" to "7.5"; "" where nothing stands."""

    what: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Board:
    """All that the bench view shows. In the modes of `HIDING` `last_heard` is emptied, whoever made the
    board."""

    number: int  # wines begun
    title: str
    stage: str | None  # where the taster is, a stage of the note
    clock: Clock
    filled: tuple[tuple[str, tuple[str, ...]], ...]  # place, short parts
    missing: tuple[str, ...]  # words of `MISSING_AT`
    last_heard: str
    problem: str  # one line that says what to do; "" when there is none
    mode: Mode
    at_s: float  # recording seconds now
    ask_missing: bool = False  # the taster just asked what is missing
    level_db: float | None = None  # of the microphone, dB below full scale
    changed: tuple[Changed, ...] = ()  # just now, by voice
    notice: str = ""  # what the program did by itself, one line
    to_hear: int = 0  # breath groups of an earlier session still to be heard anew

    def __post_init__(self) -> None:
        if self.mode in HIDING:  # also where a board is made by hand or by `replace`
            object.__setattr__(self, "last_heard", "")


@dataclass(frozen=True, slots=True)
class Row:
    """One place of the board: what is there, what is not yet, and whether the taster is there now."""

    place: str
    parts: tuple[str, ...]
    missing: tuple[str, ...]
    here: bool


def _has_name(note: Note) -> bool:
    wine = note.wine
    return any((wine.code, wine.producer, wine.name, wine.origin, wine.grapes))


def _always(note: Note) -> bool:  # noqa: ARG001
    return True


def _has_skins(note: Note) -> bool:
    """Tannin is looked for where the juice lay on skins; of an unknown colour it is not asked."""
    return note.wine.colour is not None and note.wine.colour.term in ("red", "orange")


def _is_sparkling(note: Note) -> bool:
    return note.wine.style is not None and note.wine.style.term == "sparkling"


def _held(note: Note) -> bool:
    return note.finish.seconds is not None or note.finish.length is not None


_Test = Callable[[Note], bool]
# place, word, of which wines it is asked, whether it is there
_ASKED: tuple[tuple[str, str, _Test, _Test], ...] = (
    ("wine", "name", _always, _has_name),
    ("eye", "clearness", _always, lambda n: n.appearance.clarity is not None),
    ("eye", "colour", _always, lambda n: n.appearance.hue is not None),
    ("eye", "depth", _always, lambda n: n.appearance.depth is not None),
    ("nose", "smells", _always, lambda n: bool(n.nose.aromas) or n.nose.intensity is not None),
    ("mouth", "acid", _always, lambda n: n.palate.acidity is not None),
    ("mouth", "bubbles", _is_sparkling, lambda n: n.palate.mousse is not None),
    ("mouth", "grip", _has_skins, lambda n: n.palate.tannin is not None or bool(n.palate.tannin_texture)),
    ("mouth", "sugar", _always, lambda n: n.palate.sweetness is not None),
    ("mouth", "tastes", _always, lambda n: bool(n.palate.flavours)),
    ("mouth", "warmth", _always, lambda n: n.palate.alcohol is not None),
    ("mouth", "weight", _always, lambda n: n.palate.body is not None),
    ("after", "how long", _always, _held),
    ("verdict", "how good", _always, lambda n: n.verdict.quality is not None or n.verdict.score is not None),
)
MISSING_AT: Final = {word: place for place, word, _, _ in _ASKED}


def _missing(note: Note, clock: Clock) -> tuple[str, ...]:
    """What a whole note of such a wine has and this one has not; what the clock measures is not asked."""
    timed = clock.state != "idle"
    return tuple(
        word
        for place, word, asked, there in _ASKED
        if asked(note) and not there(note) and not (timed and place == "after")
    )


def _filled(note: Note) -> tuple[tuple[str, tuple[str, ...]], ...]:
    by_place: dict[str, tuple[str, ...]] = {}
    for heading, parts in headed_parts(note):
        place = _PLACE_OF_HEADING.get(heading)
        if place == "also said":
            parts = parts[-1:]  # that it was kept is to be seen, not all of it
        if place is not None:
            shown = tuple(filter(None, (_short(p) for p in parts)))
            by_place[place] = by_place.get(place, ()) + shown
    return tuple((place, parts) for place, parts in by_place.items() if parts)


def _short(text: str) -> str:
    line = clean(text)
    return line if len(line) <= _LONGEST else line[: _LONGEST - 1].rstrip() + "…"


def _title(note: Note | None, number: int) -> str:
    if note is None:
        return NO_WINE
    if note.wine.position == number:  # the views say "Wine 4" already
        note = note.model_copy(update={"wine": note.wine.model_copy(update={"position": None})})
    return _short(wine_title(note))


def board_of(
    note: Note | None,
    *,
    number: int,
    clock: Clock,
    last_heard: str,
    stage: str | None,
    mode: Mode,
    at_s: float,
    problem: str = "",
    ask_missing: bool = False,
    level_db: float | None = None,
    changes: Sequence[Change] = (),
    notice: str = "",
    to_hear: int = 0,
) -> Board:
    """The board of the open note (None: no wine begun). Seconds are of the recording, unrounded.

    In the modes of `HIDING` nothing of `last_heard` is in it; the note's own fields were said on the record
    and stay. `problem` is the program's own line: a caller must not put into it what was said.
    """
    return Board(
        number=number,
        title=_title(note, number),
        stage=stage,
        clock=clock,
        filled=_filled(note) if note else (),
        missing=_missing(note, clock) if note else (),
        last_heard="" if mode in HIDING else _short(last_heard),
        problem=_short(problem),
        mode=mode,
        at_s=at_s,
        ask_missing=ask_missing,
        level_db=level_db,
        changed=tuple(map(_changed, changes)),
        notice=_short(notice),
        to_hear=to_hear,
    )


def _changed(change: Change) -> Changed:
    if change.field == "transcript":  # "strike that"
        return Changed("struck", f"“{_short(str(change.before))}”", "")
    section, _, name = change.field.rpartition(".")
    place = _PLACE_OF_STAGE.get(section) or ("wine" if section == "wine" else "")
    return Changed(f"{place} {name.replace('_', ' ')}".strip(), _told(change.before), _told(change.after))


def _told(value: Any) -> str:
    if value is None:
        return ""
    return f"{value:g}" if isinstance(value, float) else _short(str(value))


def change_line(changed: Changed, arrow: str = "→") -> str:
    """A change on one line: "mouth acidity: 5 → 7.5"."""
    if changed.what == "struck":
        return f"{changed.what}: {changed.before}"
    return f"{changed.what}: {changed.before or 'nothing'} {arrow} {changed.after or 'nothing'}"


def mode_words(board: Board) -> str:
    """The mode in words; how much there is to catch up with."""
    words = MODE_WORDS[board.mode]
    return f"{words}, {board.to_hear} to go" if board.mode == "catching_up" and board.to_hear else words


def rows_of(board: Board) -> tuple[Row, ...]:
    """The board by place: all of `PLACES`, empty or not, so that each keeps its spot; then what else is
    filled (faults, remarks)."""
    filled = dict(board.filled)
    here = _PLACE_OF_STAGE.get(board.stage or "")
    return tuple(
        Row(
            place,
            filled.get(place, ()),
            tuple(word for word in board.missing if MISSING_AT.get(word) == place),
            place == here,
        )
        for place in (*PLACES, *(p for p in filled if p not in PLACES))
    )


def is_moving(board: Board) -> bool:
    """Whether recording seconds go on, and with them a running clock."""
    return board.mode != "ended"


def clock_figures(clock: Clock, at_s: float) -> str:
    """The clock in figures at a recording second: tenths begun while it runs, hundredths when it has
    stopped (tenths as long as that is unsure), "" when idle."""
    if clock.state == "running" and clock.since_s is not None:
        return f"{math.floor(_finite(max(0.0, at_s - clock.since_s)) * 10 + 1e-6) / 10:.1f}"
    if clock.state == "stopped" and clock.seconds is not None:
        return f"{finish_seconds(_finite(clock.seconds)):.{2 if clock.sure else 1}f}"
    return ""


def clock_caption(clock: Clock) -> str:
    """What the figures mean, in words."""
    words = {
        "idle": "clock not running",
        "running": "seconds since it left the mouth",
        "stopped": "seconds until the taste was gone",
    }[clock.state]
    return words if clock.sure or clock.state == "idle" else f"{words}, not yet checked"


def wine_heading(board: Board) -> str:
    """ "Wine 3", "" before the first."""
    return f"Wine {board.number}" if board.number else ""


def sound_share(level_db: float | None) -> float | None:
    """The microphone's level as a share of the sound bar, 0 to 1; None where it is not known."""
    if level_db is None or math.isnan(level_db):
        return None
    return min(1.0, max(0.0, 1 - max(level_db, QUIET_DB) / QUIET_DB))


def as_json(board: Board) -> dict[str, Any]:
    """The board for the page, as plain JSON data: no infinite number, no control character."""
    clock = {key: _finite(v) if isinstance(v, float) else v for key, v in asdict(board.clock).items()}
    return {
        "heading": wine_heading(board),
        "title": clean(board.title),
        "clock": {**clock, "caption": clock_caption(board.clock)},
        "rows": [
            {
                "place": clean(row.place),
                "parts": [clean(part) for part in row.parts],
                "missing": list(row.missing),
                "here": row.here,
            }
            for row in rows_of(board)
        ],
        "last_heard": clean(board.last_heard),
        "problem": clean(board.problem),
        "mode": board.mode,
        "mode_words": mode_words(board),
        "paused": clean(HOW_TO_RESUME) if board.mode == "paused" else "",
        "changed": [clean(change_line(each)) for each in board.changed],
        "notice": clean(board.notice),
        "moving": is_moving(board),
        "at_s": _finite(board.at_s),
        "ask_missing": board.ask_missing,
        "sound": sound_share(board.level_db),
        "begun": board.number > 0,
    }


def _finite(value: float) -> float:
    return value if math.isfinite(value) else 0.0
