"""What the spotter may propose when: the part that needs no weights. The rest: test_whisper.py."""

from __future__ import annotations

import pytest

from dictate.cues import clock_after


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
