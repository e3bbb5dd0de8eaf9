"""What a session keeps while it goes on: little for each breath group, and no more for the tenth wine."""

from __future__ import annotations

import gc
import tracemalloc
from collections import Counter
from collections.abc import Callable, Iterator

import numpy as np
import pytest

from dictate.audio import Stretch, load_recording
from dictate.audio import cutter as cutter_module
from dictate.listen.asking import Asking, Outcome
from dictate.listen.ears import Reply, Task, Which
from dictate.listen.saying import Saying
from dictate.listen.story import Story
from dictate.recognise.recogniser import HeardStretch
from dictate.settings import Settings
from dictate.values import Word
from tests.listen.test_asking import ROOT
from tests.listen.test_story import heard

RATE = 16000
WINE = (
    "next wine, number {number}, Chinon",
    "pale ruby with a pink rim",
    "red cherry and raspberry on the nose",
    "dry, high acidity, light body, low tannin",
    "spitting now",
    "it's gone",
    "good wine, ready now",
)


def growth(step: Callable[[int], None], *, warm: int, rounds: int) -> float:
    """Bytes that are kept more a round, behind the first `warm` ones."""
    tracemalloc.start()
    try:
        for number in range(warm):
            step(number)
        gc.collect()
        before = tracemalloc.get_traced_memory()[0]
        for number in range(warm, warm + rounds):
            step(number)
        gc.collect()
        return (tracemalloc.get_traced_memory()[0] - before) / rounds
    finally:
        tracemalloc.stop()


def test_of_a_wine_that_is_done_its_words_and_its_note_are_kept() -> None:
    """20 kB a breath group would be 20 MB in three hours."""
    story = Story(Settings(), np.zeros(RATE * 10, np.float32), identity="long", recogniser="test")
    saying = Saying(story)

    def wine(number: int) -> None:
        for place, line in enumerate(WINE):
            group = number * len(WINE) + place
            start_s = 5.0 * group
            words = heard(line.format(number=number + 1), start_s)
            story.add(group, Stretch(start_s, start_s + 3))
            for sure in (False, True):
                story.hear(group, words, sure=sure)
                saying.heard(group)
                saying.seen()

    kept = growth(wine, warm=4, rounds=6) / len(WINE)
    assert len(story.closed) == 9
    assert 500 < kept < 20_000  # some, or it was not measured


class Ears:
    """Two ears that answer at once."""

    def __init__(self) -> None:
        self.replies: list[Reply] = []

    def of(self, which: Which) -> Ears.One:
        return Ears.One(self, which)

    class One:
        def __init__(self, ears: Ears, which: Which) -> None:
            self._ears, self._which = ears, which

        def hear(self, task: Task) -> None:
            word = Word("word", task.stretch.start_s, task.stretch.end_s)
            self._ears.replies.append(Reply(self._which, task.number, HeardStretch((word,))))

    def take(self) -> Iterator[Reply]:
        taken, self.replies = self.replies, []
        yield from taken


def test_of_sound_that_was_heard_nothing_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cutter_module, "_LEARN", 3000)
    monkeypatch.setattr(cutter_module, "_SPARE", 1000)
    sound = load_recording(ROOT / "audio_demo" / "after-lunch.flac").samples[: 20 * RATE]
    ears = Ears()
    asking = Asking(sound, {"quick": ears.of("quick"), "careful": ears.of("careful")})
    count = Counter[str]()

    def round_of_sound(_: int) -> None:
        for at in range(0, len(sound), 1600):
            asking.feed(sound[at : at + 1600], running=False)
            for reply in ears.take():
                found = asking.reply(reply)
                count["outcomes"] += isinstance(found, Outcome)

    kept = growth(round_of_sound, warm=4, rounds=6)
    assert count["outcomes"] > 30
    assert kept < 4_000
