"""Notes and boards for the board's tests. Producers are invented."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from dictate import note as n
from dictate.board.board import Board, Clock, board_of

RUNNING = Clock("running", since_s=100.0)


def level(value: float, said: str) -> n.Level:
    """A level as said."""
    return n.Level(level=value, said=said)


def term(text: str) -> n.Term:
    """A term."""
    return n.Term(term=text)


def named(*terms: str) -> list[n.Descriptor]:
    """Descriptors."""
    return [n.Descriptor(term=text) for text in terms]


def red() -> n.Note:
    """A red wine half described: no tannin, sweetness, alcohol, length or quality yet."""
    return n.Note(
        id="red",
        wine=n.Wine(
            position=3,
            producer=n.Text(text="Copper Ladle"),
            grapes=[term("cabernet franc")],
            origin=n.Text(text="chinon"),
            vintage=n.Vintage(year=2018),
            colour=term("red"),
        ),
        appearance=n.Appearance(clarity=term("clear"), depth=level(6, "medium to deep"), hue=term("ruby")),
        nose=n.Nose(aromas=named("raspberry", "pencil shavings", "green pepper", "violet")),
        palate=n.Palate(
            acidity=level(7.5, "fresh acidity"),
            body=level(5, "medium bodied"),
            flavours=named("red cherry", "graphite"),
        ),
    )


def whole(colour: str = "red", style: str = "still") -> n.Note:
    """A note of which nothing is missing."""
    note = red()
    return note.model_copy(
        update={
            "wine": note.wine.model_copy(update={"colour": term(colour), "style": term(style)}),
            "palate": note.palate.model_copy(
                update={
                    "sweetness": level(0.5, "dry"),
                    "tannin": level(6, "grippy tannin"),
                    "alcohol": level(5, "warm"),
                    "mousse": level(7, "lively mousse"),
                }
            ),
            "finish": n.Finish(seconds=13.42, how="timed", from_s=100, to_s=113.42),
            "verdict": n.Verdict(quality=level(8, "very good")),
        }
    )


def of(note: n.Note | None, **changes: Any) -> Board:
    """The board of a note, a listening moment unless told otherwise."""
    usual: dict[str, Any] = {
        "number": 3, "clock": Clock(), "last_heard": "", "stage": None, "mode": "listening", "at_s": 108.4,
    }  # fmt: skip
    return board_of(note, **{**usual, **changes})


def board(**changes: Any) -> Board:
    """The board of the red wine while the clock runs, with fields changed by hand."""
    made = of(red(), clock=RUNNING, last_heard="spitting now", stage="finish", level_db=-22.0)
    return replace(made, **changes)
