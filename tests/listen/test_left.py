"""What a log tells of a session that was broken off, and what has to be heard anew."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictate.audio import Stretch, find_speech, load_recording
from dictate.listen.eventlog import (
    Began,
    EarEvent,
    Ended,
    Event,
    GapEvent,
    HeardEvent,
    Log,
    WrittenEvent,
)
from dictate.listen.left import to_hear, what_was_left
from dictate.recognise.recogniser import HeardStretch
from dictate.values import Step, Word

ROOT = Path(__file__).parents[2]
RATE = 16000
WHEN = "2026-11-27T10:12:00+01:00"
BEGAN = Began(when=WHEN, program="0.1", identity="0123456789abcdef")


def heard(start_s: float, end_s: float, text: str = "lime") -> HeardEvent:
    word = Word(text, start_s, end_s, 0.5)
    step = Step(0, 1, ("lame",), (text,), 0.75, "sound")
    return HeardEvent.of(Stretch(start_s, end_s), HeardStretch((word,), (step,)))


def withheld(start_s: float, end_s: float) -> HeardEvent:
    return HeardEvent(start_s=start_s, end_s=end_s, withheld=True)


@lru_cache(maxsize=1)
def sound() -> np.ndarray:
    return load_recording(ROOT / "audio_demo" / "after-lunch.flac").samples


@lru_cache(maxsize=1)
def groups() -> tuple[Stretch, ...]:
    return find_speech(sound())


def logged(*groups: Stretch) -> tuple[Event, ...]:
    return (BEGAN, *(heard(g.start_s, g.end_s) for g in groups))


def end_s() -> float:
    return len(sound()) / RATE


def alike(found: tuple[Stretch, ...], true: tuple[Stretch, ...]) -> bool:
    """The same breath groups, edges within 0.1 s: the cutter learns its levels from what it is fed."""
    return len(found) == len(true) and all(
        abs(a.start_s - b.start_s) < 0.1 and abs(a.end_s - b.end_s) < 0.1
        for a, b in zip(found, true, strict=True)
    )


def test_words_come_back_as_they_were_heard() -> None:
    stretch = Stretch(1.25, 2.5)
    said = HeardStretch(
        (Word("Spätlese,", 1.25, 2.0, 0.5, heard="spade lazy"), Word("dry", 2.0, 2.5)),
        again=(Step(0, 1, ("a", "b"), ("c",), 0.5, "sound"),),
        refused=(Step(1, 2, ("dry",), ("rye",), 0.25, "sound"),),
    )
    line = HeardEvent.of(stretch, said).model_dump_json()
    event = HeardEvent.model_validate_json(line)
    assert (event.stretch, event.heard) == (stretch, said)


def test_an_empty_log_tells_nothing() -> None:
    left = what_was_left(Log(()))
    assert (left.told, left.untold, left.reached_s, left.identity, left.ended) == ((), (), 0.0, "", "")


def test_the_session_s_own_facts() -> None:
    written = WrittenEvent(note="0123456789abcdef-1", files=("notes/01.json", "notes/01.md"))
    renamed = WrittenEvent(note="0123456789abcdef-1", files=("notes/01-a.json", "notes/01-a.md"))
    events = (BEGAN, EarEvent(model="whisper"), written, renamed, Ended(at_s=9, how="said"))
    left = what_was_left(Log(events))
    assert (left.identity, left.when, left.blind, left.ended) == ("0123456789abcdef", WHEN, False, "said")
    assert left.files == {written.note: renamed.files}
    again = Began(when="2026-11-27T11:00:00+01:00", program="0.1", from_s=9.0, identity="other", blind=True)
    left = what_was_left(Log((*events, again)))
    assert (left.identity, left.when, left.blind, left.ended) == ("0123456789abcdef", WHEN, True, "")


def test_gaps_are_lost_sound_and_where_it_went_on() -> None:
    gap = GapEvent(at_s=5.0, seconds=1.5, reason="the machine slept")
    again = Began(when=WHEN, program="0.1", from_s=20.0)
    assert what_was_left(Log((BEGAN, gap, again))).gaps == ((5.0, 6.5), (20.0, 20.0))


def test_told_and_withheld_are_in_order_of_time_and_the_last_word_holds() -> None:
    events = (
        BEGAN, heard(1, 2, "one"), withheld(3, 4), heard(5, 6, "three"), heard(3, 4, "two"), withheld(5, 6)
    )  # fmt: skip
    left = what_was_left(Log(events))
    assert [h.words[0].text for _, h in left.told] == ["one", "two"]
    assert left.untold == (Stretch(5, 6),)
    assert left.reached_s == 6


def test_without_a_log_all_is_heard_anew() -> None:
    assert alike(to_hear(what_was_left(Log(())), sound(), end_s=end_s()), groups())


@pytest.mark.parametrize("told", [1, 5, 9])
def test_what_the_log_tells_is_not_heard_again(told: int) -> None:
    left = what_was_left(Log(logged(*groups()[:told])))
    assert alike(to_hear(left, sound(), end_s=end_s()), groups()[told:])


def test_all_told_leaves_nothing() -> None:
    assert to_hear(what_was_left(Log(logged(*groups()))), sound(), end_s=end_s()) == ()


def test_what_is_withheld_is_heard_anew_with_its_own_edges() -> None:
    secret = groups()[3]
    events = [*logged(*groups())]
    events[4] = withheld(secret.start_s, secret.end_s)
    assert to_hear(what_was_left(Log(tuple(events))), sound(), end_s=end_s()) == (secret,)


def test_a_damaged_line_is_found_in_the_sound() -> None:
    kept = [g for n, g in enumerate(groups()) if n not in (2, 6)]
    log = Log(logged(*kept), damaged=(4,))
    assert alike(to_hear(what_was_left(log), sound(), end_s=end_s()), (groups()[2], groups()[6]))
    # a whole log that leaves something out has heard that nobody spoke there
    assert to_hear(what_was_left(Log(logged(*kept))), sound(), end_s=end_s()) == ()


def test_nothing_runs_from_one_session_into_the_next() -> None:
    middle_s = (groups()[4].start_s + groups()[4].end_s) / 2
    events = (BEGAN, Began(when=WHEN, program="0.1", from_s=middle_s))
    found = to_hear(what_was_left(Log(events)), sound(), end_s=end_s())
    assert all(not (s.start_s < middle_s - 0.02 and s.end_s > middle_s + 0.02) for s in found)
    assert sum(abs(s.end_s - middle_s) < 0.05 for s in found) == 1


@settings(max_examples=25)
@given(st.sets(st.integers(0, 12)), st.sets(st.integers(0, 12)), st.booleans())
def test_every_breath_group_is_told_or_heard_anew_and_none_twice(
    told: set[int], secret: set[int], damaged: bool
) -> None:
    events: list[Event] = [BEGAN]
    for number, group in enumerate(groups()):
        if number in secret:
            events.append(withheld(group.start_s, group.end_s))
        elif number in told:
            events.append(heard(group.start_s, group.end_s))
    left = what_was_left(Log(tuple(events), damaged=(99,) if damaged else ()))
    anew = to_hear(left, sound(), end_s=end_s())
    both = sorted([*anew, *(s for s, _ in left.told)], key=lambda s: s.start_s)
    assert all(a.end_s <= b.start_s + 1e-9 for a, b in zip(both, both[1:], strict=False))
    for number, group in enumerate(groups()):
        if damaged or number in told | secret or group.start_s > left.reached_s:
            covered = sum(max(0, min(s.end_s, group.end_s) - max(s.start_s, group.start_s)) for s in both)
            assert covered > 0.8 * (group.end_s - group.start_s)


def test_what_was_private_is_known_to_be_so_and_where_an_older_log_does_not_tell_it_is_taken_so() -> None:
    at = [Stretch(float(n), n + 0.5) for n in range(1, 5)]
    events = [
        HeardEvent(start_s=1, end_s=1.5, withheld=True, private=True),
        HeardEvent(start_s=2, end_s=2.5, withheld=True, private=False),  # the ear broke down
        HeardEvent(start_s=3, end_s=3.5, withheld=True),
        HeardEvent(start_s=4, end_s=4.5, private=True),  # nothing but private words in it
    ]
    left = what_was_left(Log((BEGAN, *events)))
    assert left.untold == (at[0], at[1], at[2])
    assert left.private == (at[0], at[2])
    assert left.told == ((at[3], HeardStretch(())),)
