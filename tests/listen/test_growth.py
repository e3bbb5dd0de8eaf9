"""Words while they are being said: what two hearings agree on, and nothing that was off the record."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.audio.speech import Stretch
from dictate.listen.asking import Growing
from dictate.listen.growth import AGAIN_S, GROWING_S, Growth
from dictate.listen.saying import Saying
from dictate.values import Word
from tests.listen.test_story import Teller, heard


def said(text: str, from_s: float = 0.0) -> tuple[Word, ...]:
    return heard(text, from_s).words


def agreed(*hearings: str) -> str:
    growth = Growth(0.0)
    for second, hearing in enumerate(hearings, 1):
        growth.hear(said(hearing), float(second))
    return " ".join(w.text for w in growth.words)


@pytest.mark.parametrize(
    ("hearings", "sure"),
    [
        (["pale ruby"], ""),
        (["pale", "pale ruby"], "pale"),
        (["Pale ruby,", "pale ruby with"], "pale ruby"),  # marks and capitals are no difference
        (["pale room", "pale ruby with", "pale ruby with a rim"], "pale ruby with"),
        (["pale ruby", "tail ruby"], ""),
        (["pale ruby", "pale ruby", "tail", "tail"], "pale ruby"),  # what was taken stays
        (["pale ruby", "", "pale ruby"], ""),
    ],
)
def test_what_two_hearings_in_a_row_share_is_sure(hearings: list[str], sure: str) -> None:
    assert agreed(*hearings) == sure


@given(st.lists(st.lists(st.sampled_from("abc"), max_size=6), max_size=8))
def test_what_is_sure_stays_and_was_heard(hearings: list[list[str]]) -> None:
    growth = Growth(0.0)
    before: tuple[str, ...] = ()
    for second, hearing in enumerate(hearings, 1):
        more = growth.hear(said(" ".join(hearing)), float(second))
        now = tuple(w.text for w in growth.words)
        assert more == (len(now) > len(before))
        if more:
            assert now == tuple(hearing[: len(now)])
        else:
            assert now == before
        before = now


def test_it_is_heard_when_it_is_long_and_again_a_second_later() -> None:
    growth = Growth(10.0)
    asked = [at for at in (x / 20 for x in range(200, 320)) if growth.due(at)]
    assert asked[0] == pytest.approx(10 + GROWING_S)
    gaps = [b - a for a, b in zip(asked, asked[1:], strict=False)]
    assert gaps
    assert all(gap == pytest.approx(AGAIN_S, abs=0.051) for gap in gaps)


def test_the_same_sound_twice_is_one_hearing() -> None:
    growth = Growth(0.0)
    assert not growth.hear(said("pale ruby"), 3.0)
    assert not growth.hear(said("pale ruby"), 3.1)
    assert growth.words == ()
    assert growth.hear(said("pale ruby"), 4.0)


def test_a_guess_from_where_it_begins_is_one_hearing_more() -> None:
    growth = Growth(10.0)
    assert growth.asked(Stretch(10.0, 12.4))
    assert growth.due(12.6) is None  # a second behind that is soon enough
    assert growth.due(13.4) == Stretch(10.0, 13.4)
    assert not growth.asked(Stretch(10.5, 13.0))
    assert growth.due(14.3) is None


def test_of_a_long_one_the_end_is_heard_and_no_word_twice() -> None:
    """Twenty seconds of numbers: what is asked for stays short, and all of them are sure."""
    growth = Growth(0.0)
    longest = 0.0
    for end in range(3, 21):
        stretch = growth.due(float(end))
        assert stretch is not None
        longest = max(longest, stretch.end_s - stretch.start_s)
        assert (
            stretch.end_s - stretch.start_s > 2.0
        )  # never so short that it could be a cue that stands alone
        first = round(stretch.start_s * 2) - (stretch.start_s > 0)  # the one before comes through once more
        growth.hear([Word(str(n), n / 2, n / 2 + 0.5) for n in range(first, end * 2)], float(end))
    assert longest <= 9.0
    assert [w.text for w in growth.words] == [str(n) for n in range(38)]


def seen_of(teller: Teller, text: str) -> Saying:
    saying = Saying(teller.story)
    start_s = 1.0 + 5 * (teller.number + 1)
    saying.grow(Growing(teller.number + 1, said(text, start_s)))
    return saying


def test_phrases_are_seen_while_the_taster_goes_on_talking_and_nothing_is_derived_from_them() -> None:
    teller = Teller()
    teller.say("next wine, number four, Chinon, 2018")
    before = teller.story.now
    seen = seen_of(teller, "pale ruby with a pink rim").seen()
    assert seen.note is not None
    assert seen.note.appearance.hue is not None
    assert seen.words == ("pale", "ruby", "with", "a", "pink", "rim")
    assert seen.stage == "appearance"
    assert teller.story.now is before
    assert teller.story.open is not None
    assert teller.story.open.appearance.hue is None


def test_when_it_is_heard_the_story_tells() -> None:
    teller = Teller()
    teller.say("next wine, number four")
    saying = seen_of(teller, "pale room")
    assert saying.seen().words == ("pale", "room")
    start_s = teller.add()
    assert saying.seen().words == ("pale", "room")  # ended, not yet heard: what was seen stays
    teller.story.hear(teller.number, heard("pale ruby", start_s), sure=False)
    saying.heard(teller.number)
    assert saying.seen().words == ("pale", "ruby")


def test_what_was_no_breath_group_is_seen_no_more() -> None:
    teller = Teller()
    teller.say("pale ruby")
    saying = seen_of(teller, "cough cough")
    saying.grow(Growing(teller.number + 1))
    assert saying.seen().words == ("pale", "ruby")


@pytest.mark.parametrize(
    ("before", "growing"),
    [
        ("pale ruby", "on the nose cherry off the record the buyer is late"),
        ("off the record", "the buyer is late"),
        ("off the record", "the buyer is late back on the record pale"),
        ("off the record the buyer", "is late again and"),
    ],
)
def test_nothing_that_is_off_the_record_is_seen(before: str, growing: str) -> None:
    teller = Teller()
    teller.say("next wine, number four")
    teller.say(before)
    seen = seen_of(teller, growing).seen()
    assert seen.private
    assert seen.words == ()
    assert seen.note is not None
    assert "buyer" not in seen.note.model_dump_json()


def test_nothing_is_seen_before_all_that_came_before_was_heard() -> None:
    """It may have been "off the record"."""
    teller = Teller()
    teller.say("pale ruby")
    teller.add()
    seen = seen_of(teller, "the buyer is late").seen()
    assert seen.words == ("pale", "ruby")
    assert teller.story.as_though(teller.number + 1, said("the buyer", 20.0)) is None
    teller.story.add(teller.number + 1, Stretch(30, 31), withheld=True)
    assert teller.story.as_though(teller.number + 2, said("the buyer", 40.0)) is None


def test_no_wine_is_closed_by_what_is_only_seen() -> None:
    teller = Teller()
    teller.say("next wine, number one")
    teller.say("pale ruby")
    seen = seen_of(teller, "next wine number two and it is").seen()
    assert seen.wines == 2
    assert teller.story.closed == ()
    assert len(teller.story.now.notes) == 1


def test_a_growing_word_knows_its_breath_group() -> None:
    teller = Teller()
    teller.say("next wine, number one")
    words = tuple(dataclasses.replace(w, utterance=99) for w in said("spit it out now", 10.0))
    now = teller.story.as_though(1, words)
    assert now is not None
    assert {w.utterance for c in now.cues for w in c.words} <= {0, 1}
