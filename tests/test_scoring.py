"""The scorer itself: it must find what is wrong."""

from __future__ import annotations

from typing import Any

from tests.scoring import Scores, report, same, score_note

GOLD: dict[str, Any] = {
    "wine": {"position": 4, "vintage": 2018, "grapes": ["cabernet franc"]},
    "nose": {"aromas": ["raspberry", "pencil shavings|graphite"]},
    "palate": {"acidity": [7, 9.5]},
    "finish": {"timed": True},
    "verdict": {"score": [91, 100], "drink": [None, 2031]},
    "never": ["oak"],
}
RIGHT: dict[str, Any] = {
    "wine": {"position": 4, "vintage": {"year": 2018}, "grapes": [{"term": "cabernet franc"}]},
    "nose": {"aromas": [{"term": "raspberries"}, {"term": "graphite"}]},
    "palate": {"acidity": {"level": 8}},
    "finish": {"how": "timed", "seconds": 9.4},
    "verdict": {"score": {"points": 91}, "drink_to": 2031},
}


def scored(note: dict[str, Any]) -> Scores:
    scores = Scores()
    score_note("x", GOLD, note=note, scores=scores)
    return scores


def test_a_right_note_is_all_right() -> None:
    scores = scored(RIGHT)
    assert scores.total.f1 == 1.0, report(scores, verbose=True)
    assert not scores.never
    assert not scores.timed_missing


def test_an_empty_note_misses_all() -> None:
    scores = scored({})
    assert scores.total.right == 0
    assert scores.total.missing == 8
    assert scores.timed_missing == ["x"]


def test_each_wrong_value_is_found() -> None:
    wrong = RIGHT | {
        "nose": {"aromas": [{"term": "raspberry"}, {"term": "oak"}]},
        "palate": {"acidity": {"level": 2}, "tannin": {"level": 5}},
    }
    scores = scored(wrong)
    assert len(scores.never) == 1
    assert (scores.groups["lists"].extra, scores.groups["lists"].missing) == (1, 1)
    assert (scores.groups["levels"].extra, scores.groups["levels"].missing) == (2, 1)


def test_terms_match_by_words_not_by_letters() -> None:
    assert same("cherries", "red cherry|kirsch")
    assert not same("pear", "pearl barley")
