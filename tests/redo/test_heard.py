"""What notes still know of what was heard; what was off the record stays so, however it is heard now."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from dictate.note import Finish
from dictate.redo.heard import off_the_record, same_clock, with_clock, without, words_of
from dictate.values import Cue, Heard, Perhaps, Step, Word
from tests.build import WORD_S, words
from tests.redo.made import placed, worded


def test_words_come_back_in_order_once_parted_by_silence() -> None:
    first, second = worded(("lime and", 1.0), ("stone", 1.7), number=1), worded(("gone", 0.2), ("lime", 9.0))
    made = words_of([first, second, first])
    assert [(w.text, w.utterance) for w in made] == [
        ("gone", 0), ("lime", 1), ("and", 1), ("stone", 1), ("lime", 2)
    ]  # fmt: skip
    assert words_of([]) == ()


def test_silence_within_a_phrase_parts_no_breath_group() -> None:
    note = worded(("lime and stone", 1.0))
    (phrase,) = note.transcript
    late = [
        w.model_copy(update={"at": (w.at[0] + 0.5 * n, w.at[1] + 0.5 * n)})
        for n, w in enumerate(phrase.words)
    ]
    paused = note.model_copy(update={"transcript": [phrase.model_copy(update={"words": late})]})
    assert {word.utterance for word in words_of([paused])} == {0}


def cue(kind: str, text: str, at: float) -> Cue:
    own = words(text, at=at)
    return Cue(kind, own, own[0].start_s)  # type: ignore[arg-type]


ON, OFF = cue("private_on", "off the record", 10.0), cue("private_off", "back on the record", 20.0)


def heard(*breaths: tuple[str, float], **more: tuple[Step, ...]) -> Heard:
    made = tuple(w for n, (text, at) in enumerate(breaths) for w in words(text, at=at, utterance=n))
    return Heard(made, 60.0, "r", **more)  # type: ignore[arg-type]


def test_a_misheard_cue_lets_nothing_out() -> None:
    now = heard(("peach right", 9.3), ("of the wreck", 10.0), ("he owes me money", 12.0), ("back on the rack",
    20.0), ("lime", 23.0))  # fmt: skip
    told = without(now, off_the_record([ON, OFF]))
    assert " ".join(w.text for w in told.words) == "peach right off the record back on the record lime"
    cues = {w.utterance for w in told.words if w.text == "record"}
    assert len(cues) == 2
    assert not cues & {w.utterance for w in now.words}


def test_where_nothing_ended_it_all_behind_is_off_the_record() -> None:
    told = without(heard(("peach", 9.0), ("lime", 30.0)), off_the_record([ON]))
    assert [w.text for w in told.words] == ["peach", "off", "the", "record"]
    assert off_the_record([OFF]) == ()
    assert len(off_the_record([ON, ON, OFF, OFF, ON])) == 2
    assert without(now := heard(("peach", 9.0)), ()) is now


def test_steps_of_the_second_hearing_go_with_their_words() -> None:
    now = heard(("a sailing nose", 1.0), ("he owes money", 12.0), ("wet wool", 30.0))
    steps = (
        Step(1, 2, ("sailing",), ("saline",), 0.9, "sound"),
        Step(4, 6, ("owes", "money"), ("oak",), 0.9, "sound"),
        Step(6, 8, ("wet", "wool"), ("wool",), 0.9, "sound"),
    )
    told = without(replace(now, again=steps), off_the_record([ON, OFF]))
    assert [(s.first, s.last) for s in told.again] == [(1, 2), (10, 12)]
    for step in told.again:
        assert tuple(w.text for w in told.words[step.first : step.last]) == step.before


def test_no_other_reading_of_what_was_off_the_record_is_left() -> None:
    now = heard(("it's gone", 12.0), ("it's gone", 40.0))
    doubts = tuple(Perhaps(words("it's gone", at=at), words("he's gone", at=at), 0.5) for at in (12.0, 40.0))
    told = without(replace(now, perhaps=doubts), off_the_record([ON, OFF]))
    assert told.perhaps == doubts[1:]


@given(st.lists(st.tuples(st.sampled_from("lime gone record he".split()), st.floats(0, 40)), max_size=20))
def test_law_no_word_within_is_told_and_every_other_is(said: list[tuple[str, float]]) -> None:
    made = tuple(
        Word(text, at, at + WORD_S, utterance=n)
        for n, (text, at) in enumerate(sorted(said, key=lambda s: s[1]))
    )
    shut = off_the_record([ON, OFF])
    told = without(Heard(made, 60.0, "r"), shut).words
    cues = [*ON.words, *OFF.words]
    free = [w for w in made if w.end_s <= ON.words[0].start_s or w.start_s >= OFF.words[-1].end_s]
    kept = [w for w in told if (w.text, w.start_s) not in {(c.text, c.start_s) for c in cues}]
    assert all(w in kept for w in free)
    assert not [w for w in kept if w.end_s > ON.words[-1].end_s and w.start_s < OFF.words[0].start_s]
    assert [w.start_s for w in told] == sorted(w.start_s for w in told)


def clocked(from_s: float, to_s: float, confidence: float = 0.9) -> Finish:
    return Finish(seconds=to_s - from_s, how="timed", from_s=from_s, to_s=to_s, confidence=confidence)


def test_the_clock_between_the_same_words_stays_as_the_sound_told_it() -> None:
    sound = placed(0, 60, finish=clocked(10.02, 25.31))
    by_words = placed(0, 60, finish=clocked(10.3, 25.2, 1.0))
    assert same_clock(by_words, sound)
    assert with_clock(by_words, sound).finish == sound.finish
    other = placed(0, 60, finish=clocked(10.3, 29.2, 1.0))
    assert not same_clock(other, sound)
    told = with_clock(other, sound).finish
    assert (told.seconds, told.to_s, told.confidence) == (18.9, 29.2, 0.4)
    bare = placed(0, 60)
    assert with_clock(bare, sound) == bare
    assert not same_clock(bare, bare)
