"""What may have been said in a short stretch, and whether the evidence is good enough."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.cues import CUE_PHRASES, Evidence, candidates, likeliest, plain, without_fillers
from dictate.cues.spotting import RIVALS, STARTING, STOPPING, Candidate, chance
from tests.cues.said import TABLE

CLEAR = Evidence(Candidate("all gone", "All gone."), -4.0, 2.0, first=True, seconds=0.55, silence=0.05)


def phrases(*texts: str, running: bool) -> set[str]:
    return {c.phrase for c in candidates(texts, CUE_PHRASES, running=running)}


STARTS = {"spitting now", "swallowing now"}


def test_what_the_clock_waits_for_is_always_tried() -> None:
    assert phrases("Go on.", running=True) == {"all gone", "it's gone", "gone"}
    assert phrases("Spigamin now.", running=False) == STARTS


def test_the_finish_ends_only_while_the_clock_runs() -> None:
    assert phrases("Go on.", "All gone.", "Still there.", running=False) == STARTS
    assert phrases("Next wine.", "Still there!", running=True) >= {"next wine", "still there"}
    assert phrases("Next wine.", running=False) == {"next wine", *STARTS}


@pytest.mark.parametrize(
    ("heard", "tried"),
    [
        ("Okay, spitting now.", "Okay, spitting now."),
        ("Right. So, spitting now", "Right so, spitting now."),
        ("White, spitting now.", "Right, spitting now."),  # another word in place of a filler
        ("it is all gone", "Yeah, all gone."),
        ("Spitting now on.", "Spitting now."),  # a breath taken for a word
    ],
)
def test_fillers_in_front_are_tried(heard: str, tried: str) -> None:
    assert tried in {c.text for c in candidates([heard], CUE_PHRASES, running=True)}


def test_a_sentence_in_front_is_no_filler() -> None:
    alone = candidates(["and"], CUE_PHRASES, running=True)
    found = candidates(["the whole case has still there"], CUE_PHRASES, running=True)
    assert {c.text for c in found} - {c.text for c in alone} == {"Still there."}


def test_what_goes_on_is_not_tried() -> None:
    found = candidates(["Still there were people.", "Still there."], CUE_PHRASES, running=True)
    assert "still there" not in {c.phrase for c in found}


def test_each_text_is_tried_once_and_holds_its_phrase() -> None:
    found = candidates(["okay, gone", "Okay gone", "gone"], CUE_PHRASES, running=True)
    assert len({c.text for c in found}) == len(found)
    assert all(plain(c.text).endswith(c.phrase) for c in found)


@pytest.mark.parametrize(
    ("said", "left"),
    [
        ("okay spitting now", "spitting now"),
        ("right so gone", "gone"),
        ("now", "now"),
        ("", ""),
        ("no", "no"),
    ],
)
def test_without_fillers(said: str, left: str) -> None:
    assert without_fillers(said) == left


def test_clear_evidence_is_a_cue() -> None:
    assert likeliest([CLEAR]) == CLEAR.candidate


@pytest.mark.parametrize(
    "poor",
    [
        replace(CLEAR, fit=-16.0, gain=-6.0, first=False),  # the sound does not fit
        replace(CLEAR, fit=-14.5, gain=12.8, seconds=0.15, silence=0.79),  # a clink
        replace(CLEAR, fit=-12.0, first=False, seconds=1.6),  # a sentence
    ],
)
def test_poor_evidence_is_none(poor: Evidence) -> None:
    assert likeliest([poor]) is None


def test_common_talk_that_sounds_like_a_cue_is_none_where_it_fits_better() -> None:
    cue = replace(CLEAR, candidate=Candidate("next wine", "Next wine."), gain=-3.5, seconds=0.7, first=1.0)
    assert chance(replace(cue, free="Next one.")) > 0.5  # the machine's own slip: no rival
    assert chance(replace(cue, free="Nice wine.")) == 0
    assert chance(replace(cue, free="Okay, nice wine!")) == 0
    assert chance(replace(cue, free="Nice wine.", gain=-0.5)) > 0.5  # neither fits much better


def test_rivals_are_of_cue_phrases_and_are_no_cues() -> None:
    spoken = {plain(phrase) for phrases in TABLE.spoken.values() for phrase in phrases}
    for phrase, rivals in RIVALS.items():
        assert phrase in CUE_PHRASES
        assert not rivals & spoken
        assert all(plain(rival) == rival for rival in rivals)


@pytest.mark.parametrize("behind", ["on", "huh"])
def test_a_breath_taken_for_a_word_hides_no_cue(behind: str) -> None:
    assert "still there" in phrases(f"Still there {behind}.", running=True)
    assert "still there" not in phrases("Still there underneath.", running=True)


def test_nothing_to_weigh_is_no_cue() -> None:
    assert likeliest([]) is None


@given(st.floats(-60, 0), st.floats(-60, 60), st.booleans(), st.floats(0, 30), st.floats(0, 1))
def test_chance_is_a_probability_that_grows_with_the_fit(
    fit: float, gain: float, first: bool, seconds: float, silence: float
) -> None:
    one = Evidence(CLEAR.candidate, fit, gain, first, seconds, silence)
    assert 0 <= chance(one) <= 1
    assert chance(replace(one, fit=0.0)) >= chance(one)
    assert chance(replace(one, first=True)) >= chance(replace(one, first=False))


def test_what_is_spotted_by_its_sound_is_a_cue_of_the_table() -> None:
    """The sound's weights were fitted on these few; the table (`lexicon/rules/cues.toml`) has them all."""
    spoken = {plain(phrase) for phrases in TABLE.spoken.values() for phrase in phrases}
    assert set(CUE_PHRASES) <= spoken
    assert set(STARTING) == {p for p in CUE_PHRASES if p in map(plain, TABLE.spoken["away"])}
    assert set(STOPPING) == {p for p in CUE_PHRASES if p in map(plain, TABLE.spoken["gone"])}
