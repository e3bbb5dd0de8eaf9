"""Which ear is asked to hear what, with ears that only write down what they were asked."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from dictate.audio import Stretch, load_recording
from dictate.audio.cutter import LiveCutter
from dictate.listen.asking import Asking, Growing, Outcome, Said, same
from dictate.listen.ears import Reply, Task, Which
from dictate.recognise.recogniser import AROUND_S, HeardStretch
from dictate.values import Word

ROOT = Path(__file__).parents[2]
RATE = 16000
BLOCK = 800


@lru_cache(maxsize=1)
def sound() -> np.ndarray:
    return load_recording(ROOT / "audio_demo" / "after-lunch.flac").samples[: 16 * RATE]


def groups(from_s: float = 0.0) -> list[Stretch]:
    """The breath groups, as the cutter gives them by itself."""
    cutter = LiveCutter(from_s=from_s)
    ended = [s for at in range(0, len(sound()), BLOCK) for s in cutter.feed(sound()[at : at + BLOCK]).ended]
    return [*ended, *cutter.finish()]


class Ear:
    def __init__(self) -> None:
        self.tasks: list[Task] = []

    def hear(self, task: Task) -> None:
        self.tasks.append(task)


class Bench:
    """Feeds the sound; `answers`: the quick ear's words come with the next block."""

    def __init__(self, *names: Which, answers: bool = False, first: int = 0) -> None:
        self.ears: dict[Which, Ear] = {name: Ear() for name in names}
        self.asking = Asking(sound(), self.ears, first=first)
        self.known: list[Said | Outcome | Growing] = []
        self._answers = answers
        self._answered = 0

    def feed(self, *, running: bool = False) -> Bench:
        for at in range(0, len(sound()), BLOCK):
            self.known += self.asking.feed(sound()[at : at + BLOCK], running=running)
            if self._answers:
                self.answer()
        self.known += self.asking.finish(running=running)
        if self._answers:
            self.answer()
        return self

    def answer(self) -> None:
        tasks = self.ears["quick"].tasks
        for task in tasks[self._answered :]:
            self.tell("quick", task)
        self._answered = len(tasks)

    def tell(self, which: Which, task: Task, *, problem: str = "") -> None:
        outcome = self.asking.reply(Reply(which, task.number, words(task), problem))
        self.known += [outcome] if outcome is not None else []

    @property
    def said(self) -> list[Said]:
        return [k for k in self.known if isinstance(k, Said)]

    @property
    def outcomes(self) -> list[Outcome]:
        return [k for k in self.known if isinstance(k, Outcome)]


def words(task: Task) -> HeardStretch:
    return HeardStretch((Word(str(task.number), task.stretch.start_s, task.stretch.end_s),))


def test_each_breath_group_is_said_once_and_heard_with_care_in_its_order() -> None:
    bench = Bench("quick", "careful").feed()
    assert [(s.number, s.stretch) for s in bench.said] == list(enumerate(groups()))
    assert [t.stretch for t in bench.ears["careful"].tasks] == groups()
    assert {t.running for t in bench.ears["careful"].tasks} == {None}
    assert len({t.number for ear in bench.ears.values() for t in ear.tasks}) == sum(
        len(ear.tasks) for ear in bench.ears.values()
    )


def test_an_ear_gets_the_sound_of_its_stretch_and_what_stands_around_it() -> None:
    for task in Bench("careful").feed().ears["careful"].tasks:
        first = round(task.from_s * RATE)
        assert task.from_s == pytest.approx(max(0, task.stretch.start_s - AROUND_S), abs=1e-4)
        np.testing.assert_array_equal(task.samples, sound()[first : first + len(task.samples)])
        assert task.from_s + len(task.samples) / RATE >= min(16.0, task.stretch.end_s + AROUND_S) - 1e-3


def test_the_quick_ear_is_asked_before_the_breath_group_has_ended_and_not_again() -> None:
    bench = Bench("quick", "careful", answers=True).feed(running=True)
    quick = bench.ears["quick"].tasks
    assert {t.running for t in quick if not t.growing} == {True}
    for said in bench.said:
        assert (
            sum(same(t.stretch, said.stretch) for t in quick if not t.growing) == 1
        )  # a guess that was right is kept
        (outcome,) = [o for o in bench.outcomes if o.number == said.number]
        assert not outcome.sure
        assert bench.known.index(outcome) == bench.known.index(said) + 1  # known as soon as it has ended


def test_a_guess_whose_answer_is_late_counts_when_it_comes() -> None:
    bench = Bench("quick", "careful").feed()
    assert bench.outcomes == []
    bench.answer()
    assert sorted({o.number for o in bench.outcomes}) == [s.number for s in bench.said]


def test_a_guess_that_was_wrong_does_not_count() -> None:
    bench = Bench("quick", "careful").feed()
    wrong = [t for t in bench.ears["quick"].tasks if not any(same(t.stretch, g) for g in groups())]
    for task in wrong:
        bench.tell("quick", task)
    assert bench.outcomes == []


def test_the_careful_ear_s_word_is_sure_and_one_that_broke_is_told() -> None:
    bench = Bench("quick", "careful").feed()
    first, second, *_ = bench.ears["careful"].tasks
    bench.tell("careful", first)
    bench.tell("careful", second, problem="the careful ear broke down")
    assert [(o.number, o.sure, o.broken) for o in bench.outcomes] == [(0, True, False), (1, True, True)]


def test_without_a_quick_ear_only_the_careful_one_is_asked() -> None:
    bench = Bench("careful").feed()
    assert len(bench.ears["careful"].tasks) == len(bench.said) == len(groups())


def test_breath_groups_of_an_earlier_session_are_heard_with_care_before_those_of_this() -> None:
    bench = Bench("quick", "careful", first=2)
    earlier = [Stretch(1.0, 2.0), Stretch(3.0, 4.0)]
    for number, stretch in enumerate(earlier):
        bench.asking.again(number, stretch)
    assert bench.ears["quick"].tasks == []
    bench.feed()
    assert [s.number for s in bench.said] == list(range(2, 2 + len(groups())))
    tasks = bench.ears["careful"].tasks
    assert [t.stretch for t in tasks] == [*earlier, *groups()]
    for task in tasks:
        bench.tell("careful", task)
    assert [(o.number, o.stretch) for o in bench.outcomes] == list(enumerate([*earlier, *groups()]))


@pytest.mark.parametrize("running", [True, False, None])
def test_the_careful_ear_is_told_once_whether_the_clock_runs(running: bool | None) -> None:
    """It was started in an earlier session, which the ear has not heard."""
    ears: dict[Which, Ear] = {"quick": Ear(), "careful": Ear()}
    asking = Asking(sound(), ears, first=1, running=running)
    asking.again(0, Stretch(1.0, 2.0))
    for at in range(0, len(sound()), BLOCK):
        asking.feed(sound()[at : at + BLOCK], running=False)
    first, *others = ears["careful"].tasks
    assert first.running is running
    assert {t.running for t in others} == {None}


def test_nothing_is_kept_of_breath_groups_that_were_heard() -> None:
    bench = Bench("quick", "careful", answers=True).feed()
    for task in bench.ears["careful"].tasks:
        bench.tell("careful", task)
    assert len(bench.said) > 3
    assert not bench.asking._stretches
    assert not bench.asking._asked


def growing(bench: Bench) -> list[Task]:
    return [t for t in bench.ears["quick"].tasks if t.growing]


def test_what_is_said_for_long_is_heard_before_it_ends_while_nothing_else_is_asked() -> None:
    bench = Bench("quick", "careful", answers=True).feed()
    long = [g for g in groups() if g.end_s - g.start_s > 3.6]
    assert long
    for group in long:
        asked = [t for t in bench.ears["quick"].tasks if abs(t.stretch.start_s - group.start_s) < 0.1]
        assert len(asked) >= 3  # with guesses where it seemed to end, which count as hearings
        assert asked[0].stretch.end_s - group.start_s < 2.6
        for before, task in pairwise(asked):
            assert task.stretch.end_s - before.stretch.end_s < 1.2
        for before, task in pairwise(asked):
            if task.growing:
                assert task.stretch.end_s - task.stretch.start_s >= 2.4
                assert task.stretch.end_s - before.stretch.end_s >= 0.99
    assert growing(bench)
    shown = [k for k in bench.known if isinstance(k, Growing)]
    assert not shown  # each hearing was another word: nothing is sure
    busy = Bench("quick", "careful").feed()  # the first is never answered: it is not asked again
    assert len(growing(busy)) <= 1


def test_what_two_hearings_agree_on_is_known_and_counts_for_nothing() -> None:
    class Same(Bench):
        def tell(self, which: Which, task: Task, *, problem: str = "") -> None:
            word = Word("same", task.stretch.start_s, task.stretch.end_s)
            outcome = self.asking.reply(Reply(which, task.number, HeardStretch((word,)), problem))
            self.known += [outcome] if outcome is not None else []

    bench = Same("quick", "careful", answers=True).feed()
    shown = [k for k in bench.known if isinstance(k, Growing)]
    assert {" ".join(w.text for w in g.words) for g in shown} == {"same"}
    assert {g.number for g in shown} <= {s.number for s in bench.said}
    for said in bench.said:
        assert sum(o.number == said.number for o in bench.outcomes) == 1


def test_sound_that_begins_later_has_later_seconds() -> None:
    whole = np.concatenate([np.zeros(5 * RATE, np.float32), sound()])
    ear = Ear()
    asking = Asking(whole, {"careful": ear}, from_s=5.0)
    for at in range(0, len(sound()), BLOCK):
        asking.feed(sound()[at : at + BLOCK], running=False)
    asking.finish(running=False)
    for task, true in zip(ear.tasks, groups(), strict=True):
        assert task.stretch.start_s == pytest.approx(true.start_s + 5.0)
        np.testing.assert_array_equal(
            task.samples[-100:], whole[round(task.from_s * RATE) :][: len(task.samples)][-100:]
        )
