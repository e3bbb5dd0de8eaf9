"""Lists denied as a whole by what closes them, and those that are not."""

from __future__ import annotations

import pytest

from tests.extract.said import read

DENIED = [
    "any vanilla, any coconut, no",
    "any smoke? none. any toast? no",
    "vanilla, coconut, toast, none of that",
    "of leather, of tar, nothing",
    "smoke or toast, rubber, nothing of those",
]
SAID = [
    "vanilla, coconut, yes, all of that",
    "it is plum, it is cherry, none of that is new",
    "notes of plum, of cherry, nothing stands out",
    "plum, cherry, no fig",
]


@pytest.mark.parametrize("text", DENIED)
def test_the_whole_list_is_denied(text: str) -> None:
    readings = [r for r in read(text, "nose") if r.field == "nose.aromas"]
    assert len(readings) >= 2
    assert {(r.scope, r.rule) for r in readings} == {("denied", "answered-list")}


@pytest.mark.parametrize("text", SAID)
def test_the_list_stays(text: str) -> None:
    readings = [r for r in read(text, "nose") if r.field == "nose.aromas"]
    assert [r.value for r in readings if r.scope == "said"] == [
        r.value for r in readings if r.value in ("plum", "cherry", "vanilla", "coconut")
    ]


@pytest.mark.parametrize("tag", ["wouldn't you say", "don't you think", "isn't it", "can't you"])
def test_a_tag_question_denies_nothing(tag: str) -> None:
    assert [r.scope for r in read(f"lemon, {tag}", "nose")] == ["said"]
