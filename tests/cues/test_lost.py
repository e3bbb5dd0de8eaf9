"""A clock that ran while sound was lost gives "about", not hundredths."""

from __future__ import annotations

import pytest

from dictate.cues import doubt_lost
from dictate.export import as_summary
from dictate.note import UNCLEAR_BELOW
from dictate.pipeline import derive
from dictate.settings import Settings
from dictate.values import Cue, CueKind, Heard
from tests import build


def cue(kind: CueKind, onset_s: float) -> Cue:
    return Cue(kind, build.words(kind, at=onset_s), onset_s)


CLOCK = (cue("begin", 1.0), cue("away", 10.0), cue("holding", 15.0), cue("gone", 20.0))


def unsure(cues: tuple[Cue, ...], *gaps: tuple[float, float]) -> list[float]:
    """Onsets of the cues that are in doubt; nothing else of a cue is touched."""
    doubted = doubt_lost(cues, gaps)
    assert [(c.kind, c.words, c.onset_s) for c in doubted] == [(c.kind, c.words, c.onset_s) for c in cues]
    return [c.onset_s for c in doubted if c.confidence < UNCLEAR_BELOW]


@pytest.mark.parametrize(
    ("gap", "doubted"),
    [
        ((16.0, 17.0), [20.0]),
        ((12.0, 12.0), [15.0, 20.0]),  # broken off there and gone on
        ((9.0, 11.0), [15.0, 20.0]),
        ((19.0, 21.0), [20.0]),
        ((5.0, 10.0), []),
        ((20.0, 25.0), []),
        ((20.0, 20.0), []),
    ],
)
def test_what_the_clock_ran_across_puts_its_end_in_doubt(
    gap: tuple[float, float], doubted: list[float]
) -> None:
    assert unsure(CLOCK, gap) == doubted


def test_a_clock_started_again_behind_the_loss_is_sure() -> None:
    assert unsure((*CLOCK[:2], cue("away", 14.0), CLOCK[3]), (12.0, 13.0)) == []


def test_each_wine_has_a_clock_of_its_own() -> None:
    assert unsure((*CLOCK[:2], cue("begin", 14.0), CLOCK[3]), (12.0, 13.0)) == []


def test_a_gone_cue_that_is_taken_back_leaves_the_next_one_in_doubt() -> None:
    assert unsure((*CLOCK, cue("take_back", 21.0), cue("gone", 25.0)), (22.0, 22.0)) == [25.0]


def test_the_note_says_about() -> None:
    words = build.breaths(("next wine, number one, a Riesling", "spitting now", "all gone"))
    heard = Heard(words, words[-1].end_s, "by hand")
    away_s = next(w.start_s for w in words if w.text == "spitting")

    def finish(*gaps: tuple[float, float]) -> str:
        (note,) = derive(heard, settings=Settings(), recording=build.RECORDING, gaps=gaps).notes
        return next(line for line in as_summary(note).splitlines() if "Finish" in line)

    assert "held 1.80 s" in finish((0.1, 0.2))
    assert "held about 1.8 s" in finish((away_s + 0.7, away_s + 0.9))
