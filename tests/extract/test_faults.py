"""Faults: certain, suspected, denied, excused as style."""

from __future__ import annotations

import pytest

from dictate.values import Reading, Stage
from tests.extract.said import read


def faults(text: str, stage: Stage = "nose") -> list[Reading]:
    return [r for r in read(text, stage) if r.field == "faults"]


@pytest.mark.parametrize(
    ("text", "fault", "certain"),
    [
        ("this is corked", "cork taint", True),
        ("maybe corked", "cork taint", False),
        ("I suspect a bit of TCA", "cork taint", False),
        ("there might be some brett", "brettanomyces", False),
        ("I think it's oxidised, definitely", "oxidation", True),
        ("volatile acidity, I wouldn't swear to it", "volatile acidity", False),
    ],
)
def test_a_fault_is_certain_or_suspected(text: str, fault: str, certain: bool) -> None:
    assert [(r.value, r.scope, r.certain) for r in faults(text)] == [(fault, "said", certain)]


@pytest.mark.parametrize(
    "text",
    [
        "no cork taint",
        "not corked",
        "is it corked? I don't think so",
        "some brett, but I wouldn't call it a fault",
        "the bottle before was corked",
        "the last one was oxidised",
        "clean",
    ],
)
def test_no_fault_of_this_wine(text: str) -> None:
    assert [r.value for r in faults(text) if r.scope == "said"] == []


def test_an_excused_fault_is_denied() -> None:
    assert [r.scope for r in faults("some brett, but I wouldn't call it a fault")] == ["denied"]


@pytest.mark.parametrize("stage", ["identity", "aside", "cue"])
def test_stages_that_find_no_faults(stage: Stage) -> None:
    assert faults("this is corked", stage) == []
