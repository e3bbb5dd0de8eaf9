"""What has been heard so far: notes grow with each breath group, whichever ear heard it first."""

from __future__ import annotations

import numpy as np

from dictate.audio.speech import Stretch
from dictate.listen.story import News, Story
from dictate.note import Recording
from dictate.recognise.recogniser import HeardStretch
from dictate.settings import Settings
from dictate.values import ListedWine, Word

SILENCE = np.zeros(16000 * 120, np.float32)


def heard(text: str, start_s: float) -> HeardStretch:
    """A breath group in which each word takes 0.3 s."""
    words = text.split()
    return HeardStretch(
        tuple(Word(w, start_s + 0.3 * n, start_s + 0.3 * (n + 1)) for n, w in enumerate(words))
    )


class Teller:
    """Says lines to a story, five seconds apart."""

    def __init__(self) -> None:
        self.story = Story(Settings(), SILENCE, identity="tasting", recogniser="test")
        self.number = -1

    def add(self) -> float:
        self.number += 1
        start_s = 1.0 + 5 * self.number
        self.story.add(self.number, Stretch(start_s, start_s + 3))
        return start_s

    def say(self, text: str, quick: str | None = None) -> list[News]:
        start_s = self.add()
        news = list(self.story.hear(self.number, heard(quick or text, start_s), sure=False))
        return news + list(self.story.hear(self.number, heard(text, start_s), sure=True))


def in_the_log(story: Story, number: int) -> str | None:
    """What may be written of a breath group."""
    public = story.public(number)
    return None if public is None else " ".join(w.text for w in public.words)


def kinds(news: list[News]) -> list[tuple[str, bool]]:
    return [(n.kind, n.sure) for n in news]


def test_a_note_grows_while_the_taster_talks() -> None:
    teller = Teller()
    assert teller.story.open is None
    assert kinds(teller.say("next wine, number four, Chinon, 2018")) == [("begin", False), ("begin", True)]
    assert teller.story.open is not None
    assert teller.story.open.wine.position == 4
    teller.say("pale ruby")
    assert teller.story.open.appearance.hue is not None
    assert [w.text for w in teller.story.last_words] == ["pale", "ruby"]


def test_the_careful_ear_has_the_last_word() -> None:
    teller = Teller()
    teller.say("next wine, number one")
    start_s = teller.add()
    teller.story.hear(1, heard("high astringency of limes", start_s), sure=False)
    teller.story.hear(1, heard("lime on the nose", start_s), sure=True)
    teller.story.hear(1, heard("nothing of the kind", start_s), sure=False)  # too late: it counts no more
    assert teller.story.open is not None
    assert [a.term for a in teller.story.open.nose.aromas] == ["lime"]
    assert teller.story.settled


def test_a_clock_that_the_quick_ear_alone_heard_is_taken_back() -> None:
    teller = Teller()
    teller.say("next wine, number one")
    start_s = teller.add()
    assert kinds(list(teller.story.hear(1, heard("spitting now", start_s), sure=False))) == [("away", False)]
    assert teller.story.now.away is not None
    news = list(teller.story.hear(1, heard("fitting well", start_s), sure=True))
    assert kinds(news) == [("revoked", True)]
    assert teller.story.now.away is None


def test_started_and_stopped_are_told_once_by_each_ear() -> None:
    teller = Teller()
    teller.say("next wine, number one")
    assert kinds(teller.say("spitting now")) == [("away", False), ("away", True)]
    assert teller.say("salty, a bit of lime") == []
    assert kinds(teller.say("all gone")) == [("gone", False), ("gone", True)]
    assert teller.story.open is not None
    assert teller.story.open.finish.seconds == 10.0


def test_gone_without_a_running_clock_stops_nothing() -> None:
    teller = Teller()
    teller.say("next wine, number one")
    assert kinds(teller.say("all gone")) == []


def test_a_wine_closes_when_the_next_begins_and_all_was_heard_with_care() -> None:
    teller = Teller()
    teller.say("next wine, number one, Riesling")
    first = teller.add()
    begun = teller.add()
    teller.story.hear(2, heard("next wine, number two, Gamay", begun), sure=True)
    assert teller.story.closed == ()  # the breath group before is not heard with care yet
    teller.story.hear(1, heard("lime on the nose", first), sure=True)
    (note,) = teller.story.closed
    assert note.id == "tasting-1"
    assert [a.term for a in note.nose.aromas] == ["lime"]
    assert teller.story.open is not None
    assert (teller.story.open.id, teller.story.open.wine.position) == ("tasting-2", 2)


def test_words_in_front_of_the_cue_stay_with_the_wine_before() -> None:
    teller = Teller()
    teller.say("next wine, number one, Riesling")
    teller.say("the finish is long")
    teller.say("very good. Next wine, number two, Gamay")
    teller.say("cherry on the nose")
    teller.say("next wine, number three")
    one, two = teller.story.closed
    assert one.verdict.quality is not None
    assert two.verdict.quality is None
    assert [(n.id, n.wine.position) for n in (one, two)] == [("tasting-1", 1), ("tasting-2", 2)]
    assert teller.story.open is not None
    assert (teller.story.open.id, teller.story.open.wine.position) == ("tasting-3", 3)


def test_at_the_end_all_notes_are_those_that_were_told() -> None:
    teller = Teller()
    for line in (
        "next wine, number one, Riesling", "lime on the nose", "spitting now", "still there", "all gone",
        "very good. Next wine, number two, Gamay", "cherry", "no tannin", "next wine, number three",
        "end of tasting",
    ):  # fmt: skip
        teller.say(line)
    place = Recording(path="a.wav", sha256="0" * 64, start_s=0, end_s=120)
    final = teller.story.final(place)
    closed = teller.story.closed
    assert [n.id for n in final] == ["tasting-1", "tasting-2", "tasting-3"]
    for told, note in zip(closed, final, strict=False):
        assert told.model_copy(update={"recording": None}) == note.model_copy(update={"recording": None})
    assert {n.recording.sha256 for n in final if n.recording} == {"0" * 64}


def test_what_is_off_the_record_is_withheld_and_not_shown() -> None:
    teller = Teller()
    teller.say("next wine, number one")
    teller.say("off the record")
    assert teller.story.is_private
    teller.say("the buyer is a fool")
    assert in_the_log(teller.story, 2) == ""
    assert teller.story.private(2)
    assert teller.story.last_words == ()
    assert teller.story.open is not None
    assert "fool" not in teller.story.open.model_dump_json()
    teller.say("back on the record")
    assert not teller.story.is_private
    teller.say("lime on the nose")
    assert in_the_log(teller.story, 4) == "lime on the nose"
    assert not teller.story.private(4)
    assert teller.story.last_words[0].text == "lime"


def test_private_words_in_one_breath_with_the_next_wine_are_withheld_too() -> None:
    teller = Teller()
    teller.say("next wine, number one")
    teller.say("off the record")
    teller.say("he is a fool. Back on the record. Next wine, number two, Gamay")
    assert len(teller.story.closed) == 1
    assert in_the_log(teller.story, 2) == "Back on the record. Next wine, number two, Gamay"
    assert teller.story.private(2)
    assert teller.story.last_words == ()
    assert teller.story.open is not None
    assert teller.story.open.wine.position == 2
    assert "fool" not in teller.story.open.model_dump_json() + teller.story.closed[0].model_dump_json()


def test_speech_of_which_nothing_was_understood_is_told() -> None:
    teller = Teller()
    start_s = teller.add()
    assert teller.story.hear(0, HeardStretch(()), sure=False) == ()
    assert kinds(list(teller.story.hear(0, HeardStretch(()), sure=True))) == [("unheard", True)]
    assert start_s == 1.0


LINES = (
    "next wine, number one, Riesling", "lime on the nose", "spitting now", "all gone",
    "next wine, number two, Gamay", "cherry on the nose",
)  # fmt: skip


def told(*, without: tuple[int, ...] = ()) -> Story:
    """A session that went on: what its log tells, and breath groups whose words are withheld."""
    story = Story(Settings(), SILENCE, identity="tasting", recogniser="test")
    for number, line in enumerate(LINES):
        stretch = Stretch(1.0 + 5 * number, 4.0 + 5 * number)
        if number in without:
            story.add(number, stretch, withheld=True)
        else:
            story.tell(number, stretch, heard=heard(line, stretch.start_s))
    story.catch_up()
    return story


def test_what_a_log_tells_is_the_story_as_it_was() -> None:
    teller = Teller()
    for line in LINES:
        teller.say(line)
    story = told()
    assert story.closed == teller.story.closed
    assert story.open == teller.story.open
    assert story.settled


def test_what_went_before_is_no_news_when_the_session_goes_on() -> None:
    story = told()
    stretch = Stretch(60.0, 63.0)
    story.add(len(LINES), stretch)
    assert story.hear(len(LINES), heard("no tannin", 60.0), sure=True) == ()


def test_what_is_heard_anew_takes_its_place() -> None:
    story = told(without=(1,))
    assert not story.settled
    assert story.closed == ()  # a wine closes when all of it was heard with care
    story.hear(1, heard(LINES[1], 6.0), sure=True)
    assert story.closed == told().closed
    assert story.settled


def test_until_what_is_withheld_is_heard_anew_nothing_is_shown() -> None:
    """It may have begun private speech that goes on."""
    story = told(without=(5,))
    assert story.to_hear == 1
    assert not story.is_private  # that is not known
    story.add(6, Stretch(31.0, 34.0))
    story.hear(6, heard("smoke on the nose", 31.0), sure=False)
    assert "smoke" not in [w.text for w in story.last_words]
    story.hear(5, heard("cherry on the nose", 26.0), sure=True)
    assert story.to_hear == 0
    assert not story.is_private
    assert "smoke" in [w.text for w in story.last_words]
    story = told(without=(5,))
    story.hear(5, heard("off the record", 26.0), sure=True)
    assert story.is_private


def test_behind_what_is_withheld_nothing_is_told_before_that_is_heard_anew() -> None:
    story = told(without=(5,))
    story.add(6, Stretch(31.0, 34.0))
    assert story.hear(6, heard("smoke on the nose", 31.0), sure=False) == ()
    assert in_the_log(story, 6) is None
    assert story.open is not None
    assert "smoke" not in story.open.model_dump_json()
    place = Recording(path="a.wav", sha256="0" * 64, start_s=0, end_s=120)
    assert "smoke" not in "".join(note.model_dump_json() for note in story.final(place))
    story.hear(5, heard("off the record", 26.0), sure=True)
    assert story.private(6)
    assert "smoke" not in story.open.model_dump_json()
    story.hear(5, heard("cherry on the nose", 26.0), sure=True)
    assert "smoke" in story.open.model_dump_json()


def test_a_private_word_of_no_length_is_withheld_though_it_is_the_last() -> None:
    teller = Teller()
    teller.say("next wine, number one")
    teller.say("off the record")
    teller.add()
    lone = Word("fool", teller.story.now.private[-1][1] + 4.0, teller.story.now.private[-1][1] + 4.0)
    teller.story.hear(2, HeardStretch((lone,)), sure=True)
    assert in_the_log(teller.story, 2) in (None, "")


def test_tasted_blind_the_list_speaks_at_the_end_alone() -> None:
    wines = (ListedWine(1, producer="Otter Weir"),)
    story = Story(Settings(wines=wines, blind=True), SILENCE, identity="tasting", recogniser="test")
    story.add(0, Stretch(1.0, 4.0))
    story.hear(0, heard("next wine, number one, Riesling", 1.0), sure=True)
    assert story.open is not None
    assert story.open.wine.producer is None
    place = Recording(path="a.wav", sha256="0" * 64, start_s=0, end_s=120)
    (note,) = story.final(place)
    assert note.wine.producer is not None
    assert (note.wine.producer.text, note.wine.producer.source) == ("Otter Weir", "listed")


def secret(story: Story) -> bool:
    """Whether the secret is anywhere in what is told."""
    notes = (*story.closed, *((story.open,) if story.open else ()))
    return any("fool" in n.model_dump_json() for n in notes) or "fool" in repr(story.last_words)


def test_of_a_breath_partly_off_the_record_the_other_words_are_logged_and_tell_the_same() -> None:
    teller = Teller()
    lines = (
        "next wine, number one", "high acid. Off the record, he is a fool", "a fool indeed",
        "and broke. Back on the record, lime on the nose", "no tannin",
    )  # fmt: skip
    for line in lines:
        teller.say(line)
    assert not secret(teller.story)
    assert [in_the_log(teller.story, n) for n in range(1, 5)] == [
        "high acid. Off the record,", "", "Back on the record, lime on the nose", "no tannin",
    ]  # fmt: skip
    again = Story(Settings(), SILENCE, identity="tasting", recogniser="test")
    for number in range(len(lines)):
        public = teller.story.public(number)
        assert public is not None
        again.tell(number, Stretch(1.0 + 5 * number, 4.0 + 5 * number), heard=public)
    again.catch_up()
    assert again.open == teller.story.open
    assert again.settled


def test_off_the_record_when_the_session_broke_off_it_still_is_when_it_goes_on() -> None:
    teller = Teller()
    for line in ("next wine, number one", "high acid. Off the record, he is a fool"):
        teller.say(line)
    again = Story(Settings(), SILENCE, identity="tasting", recogniser="test")
    for number in range(2):
        public = teller.story.public(number)
        assert public is not None
        again.tell(number, Stretch(1.0 + 5 * number, 4.0 + 5 * number), heard=public)
    again.catch_up()
    assert again.is_private
    again.add(2, Stretch(11.0, 14.0))
    again.hear(2, heard("a fool indeed", 11.0), sure=True)
    assert in_the_log(again, 2) == ""
    assert not secret(again)


def test_what_was_known_to_be_private_stays_so_though_it_is_heard_otherwise() -> None:
    story = Story(Settings(), SILENCE, identity="tasting", recogniser="test")
    story.tell(0, Stretch(1.0, 4.0), heard=heard("next wine, number one", 1.0))
    story.add(1, Stretch(6.0, 9.0), withheld=True, private=True)
    story.add(2, Stretch(11.0, 14.0), withheld=True, private=True)
    story.add(3, Stretch(16.0, 19.0), withheld=True, private=True)
    story.add(4, Stretch(21.0, 24.0), withheld=True)  # the ear had broken down: nothing is known of it
    story.catch_up()
    story.hear(1, heard("of course the wreck heard he is a fool", 6.0), sure=True)
    story.hear(2, heard("a fool, back on the record, lime on the nose", 11.0), sure=True)
    story.hear(3, heard("off the record, a fool. Back on the record, smoke", 16.0), sure=True)
    story.hear(4, heard("no tannin", 21.0), sure=True)
    assert [in_the_log(story, n) for n in range(1, 5)] == [
        "", "back on the record, lime on the nose", "off the record, Back on the record, smoke", "no tannin",
    ]  # fmt: skip
    assert [story.private(n) for n in range(1, 5)] == [True, True, True, False]
    assert not secret(story)
    assert story.open is not None
    assert [a.term for a in story.open.nose.aromas] == ["lime", "smoke"]


def test_where_the_public_words_alone_tell_another_story_none_is_logged() -> None:
    """The recogniser ran the cue into what came behind it, so the word is private, and the cue with it."""
    teller = Teller()
    teller.say("next wine, number one")
    teller.say("off the record-he is a fool")
    assert in_the_log(teller.story, 1) in (None, "off the")
    assert teller.story.private(1)
    teller.say("a fool indeed")
    assert not secret(teller.story)
    if in_the_log(teller.story, 1) is not None:
        assert teller.story.is_private


def test_a_pause_is_told_and_ended_by_the_next_wine() -> None:
    teller = Teller()
    teller.say("next wine, number one, Riesling")
    assert kinds(teller.say("pause the notes")) == [("pause_on", False), ("pause_on", True)]
    assert teller.story.is_paused
    teller.say("high acidity")
    assert teller.story.open is not None
    assert teller.story.open.palate.acidity is None
    assert kinds(teller.say("resume the notes")) == [("pause_off", False), ("pause_off", True)]
    assert not teller.story.is_paused
    teller.say("pause the notes")
    news = teller.say("next wine, number two")
    assert [(n.kind, n.sure, n.first, n.ends_pause) for n in news] == [
        ("begin", False, True, True), ("begin", True, False, True),
    ]  # fmt: skip
    assert not teller.story.is_paused
    assert not any(n.ends_pause for n in teller.say("next wine, number three"))


def test_what_is_missing_is_asked_once_and_no_value() -> None:
    teller = Teller()
    teller.say("next wine, number one")
    news = teller.say("what's missing?")
    assert [(n.kind, n.sure, n.first) for n in news] == [("missing", False, True), ("missing", True, False)]
    assert teller.story.open is not None
    assert teller.story.open.remarks == []
