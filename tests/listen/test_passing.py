"""What is to be seen for a while: an answer until the next phrase, changes while they stand."""

from __future__ import annotations

from typing import Any

from dictate.listen.passing import SHOWN_S, Passing
from dictate.note import LISTED, NEVER_STOPPED, STATED_DIFFERS, Change, Note


def change(field: str, before: Any, after: Any, **more: Any) -> Change:
    return Change(when="1.00 s into the recording", field=field, before=before, after=after, **more)


HIGH = change("palate.acidity", 5.0, 7.5)
MEDIUM = change("palate.acidity", 7.5, 5.0)
SCRAPPED = change("nose.aromas", "violet", None)


def note(*history: Change, number: int = 1) -> Note:
    return Note(id=f"tasting-{number}", history=list(history))


def test_an_answer_stays_until_the_next_phrase_or_eight_seconds() -> None:
    passing = Passing()
    assert not passing.asks(0.0)
    passing.ask(3, 100.0)
    passing.heard(3, spoke=True)  # the careful ear hears the question itself
    passing.heard(2, spoke=True)  # ... and what was said before
    passing.heard(4, spoke=False)  # a cough
    assert passing.asks(100.0 + SHOWN_S - 0.1)
    assert not passing.asks(100.0 + SHOWN_S)
    passing.heard(5, spoke=True)
    assert not passing.asks(101.0)


def test_a_question_that_was_none_is_no_longer_answered() -> None:
    passing = Passing()
    passing.ask(3, 100.0)
    passing.unask(2)
    assert passing.asks(101.0)
    passing.unask(3)
    assert not passing.asks(101.0)


def test_a_change_is_seen_for_a_while_and_once() -> None:
    passing = Passing()
    passing.change([note()], 10.0)
    passing.change([note(HIGH)], 11.0)
    passing.change([note(HIGH)], 12.0)  # the next phrase changes nothing
    assert passing.changes(11.0 + SHOWN_S - 0.1) == (HIGH,)
    assert passing.changes(11.0 + SHOWN_S) == ()
    passing.change([note(HIGH, SCRAPPED)], 30.0)
    assert passing.changes(31.0) == (SCRAPPED,)


def test_there_and_back_again_and_there_are_three_changes() -> None:
    passing = Passing()
    for number, history in enumerate(([HIGH], [HIGH, MEDIUM], [HIGH, MEDIUM, HIGH])):
        at_s = 100.0 * (number + 1)
        passing.change([note(*history)], at_s)
        assert passing.changes(at_s) == (history[-1],)


def test_what_the_careful_ear_takes_back_is_seen_no_more() -> None:
    passing = Passing()
    passing.change([note(HIGH, SCRAPPED)], 10.0)
    passing.change([note(HIGH)], 11.0)
    assert passing.changes(11.0) == (HIGH,)


def test_each_note_has_its_own_changes_and_what_is_known_is_no_news() -> None:
    passing = Passing()
    passing.knows([note(HIGH)])
    passing.change([note(HIGH)], 10.0)
    assert passing.changes(10.0) == ()
    passing.change([note(HIGH, number=2)], 20.0)
    assert passing.changes(20.0) == (HIGH,)
    passing.change([note(HIGH)], 21.0)  # the quick ear was wrong: it is the first wine still
    assert passing.changes(21.0 + SHOWN_S) == ()
    passing.change([], 22.0)
    assert passing.changes(22.0) == ()


def test_what_no_voice_changed_is_no_correction() -> None:
    passing = Passing()
    passing.change(
        [
            note(
                change("finish.seconds", "clock running", NEVER_STOPPED + ": at least 5.40 s"),
                change("finish.seconds", 12.0, f"9.00 s timed; {STATED_DIFFERS}33%"),
                change("wine.origin", LISTED + "Chinon", "Bourgueil"),
                change("palate.body", 5.0, 6.0, by="hand"),
            )
        ],
        10.0,
    )
    assert passing.changes(10.0) == ()


def test_a_notice_goes_after_a_while() -> None:
    passing = Passing()
    assert passing.notice(0.0) == ""
    passing.say("The pause is over.", 5.0)
    assert passing.notice(6.0) == "The pause is over."
    assert passing.notice(5.0 + SHOWN_S) == ""


def test_a_change_of_the_wine_before_is_seen_while_the_careful_ear_is_behind() -> None:
    passing = Passing()
    passing.change([note(), note(number=2)], 10.0)
    passing.change([note(HIGH), note(number=2)], 11.0)
    assert passing.changes(11.0) == (HIGH,)
