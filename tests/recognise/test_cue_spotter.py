"""What the spotter may propose when: the part that needs no weights. The rest: test_whisper.py."""

from __future__ import annotations

import pytest

from dictate.cues import CUE_PHRASES, clock_after
from dictate.recognise.cue_spotter import CueSpotter
from dictate.recognise.listeners import Listeners


@pytest.mark.parametrize(
    ("text", "running", "after"),
    [
        ("Spitting now.", False, True),
        ("okay, swallowing now", False, True),
        ("spitting", False, True),
        ("I'm spitting feathers", False, False),
        ("still there, a bit saline", True, True),
        ("All gone.", True, False),
        ("and it's gone", True, False),
        ("yeah, all gone", True, False),
        ("it's gone a bit brown", True, True),
        ("Next wine, number two", True, False),
        ("lime again", False, False),
    ],
)
def test_the_clock_starts_and_stops(text: str, running: bool, after: bool) -> None:
    assert clock_after(text, running=running) is after


def test_a_stop_in_doubt_leaves_the_clock_running_for_the_spotter() -> None:
    assert clock_after("It's gone.", running=True, chance=0.7)
    assert not clock_after("It's gone.", running=True, chance=0.95)
    assert not clock_after("It's gone.", running=False, chance=0.7)
    assert not clock_after("Next wine.", running=True, chance=0.7)


@pytest.mark.parametrize(
    ("text", "is_cue", "is_open"),
    [
        ("All gone.", True, False),
        ("Okay, spitting now.", True, False),
        ("Lovely and fresh, spitting now.", True, False),
        ("Spinning now.", False, True),
        ("The fruit is gone.", False, True),  # one word alone at an end is none
        ("", False, False),  # nothing was written: no cue, and nothing that could hide one
    ],
)
def test_a_cue_was_written_or_may_hide_in_what_was(text: str, is_cue: bool, is_open: bool) -> None:
    spotter = CueSpotter(Listeners([]), CUE_PHRASES)
    assert (spotter.is_cue(text), spotter.is_open(text)) == (is_cue, is_open)
