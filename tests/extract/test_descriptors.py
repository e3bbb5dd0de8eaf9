"""Descriptors: known terms by their lexicon's name, unknown things by their shape, with strength."""

from __future__ import annotations

import pytest

from dictate.values import Reading, Stage
from tests.extract.said import held, read


def aromas(text: str, stage: Stage = "nose") -> list[Reading]:
    return [r for r in read(text, stage) if r.field in ("nose.aromas", "palate.flavours", "finish.flavours")]


@pytest.mark.parametrize(
    ("text", "field", "stage"),
    [
        ("cherry", "nose.aromas", "nose"),
        ("cherry", "palate.flavours", "palate"),
        ("cherry", "finish.flavours", "finish"),
    ],
)
def test_the_stage_decides_the_list(text: str, field: str, stage: Stage) -> None:
    assert held(read(text, stage)) == {field: ["cherry"]}


@pytest.mark.parametrize("stage", ["identity", "appearance", "verdict", "aside", "cue"])
def test_other_stages_list_nothing(stage: Stage) -> None:
    assert aromas("cherry", stage) == []


def test_a_known_term_has_its_family_and_an_unknown_none() -> None:
    known, unknown = aromas("cherry and tram depot")
    assert (known.value, known.known, known.family != "") == ("cherry", True, True)
    assert (unknown.value, unknown.known, unknown.family, unknown.rule) == ("tram depot", False, "", "shape")


@pytest.mark.parametrize(
    ("text", "thing"),
    [
        ("it smells of tram depot", "tram depot"),
        ("a waft of printer toner", "printer toner"),
        ("something like, I don't know, warm radiator", "warm radiator"),
        ("plum, ice rink and cherry", "ice rink"),
    ],
)
def test_an_unknown_thing_is_kept_as_said(text: str, thing: str) -> None:
    assert thing in [r.value for r in aromas(text) if not r.known]


@pytest.mark.parametrize(
    "text",
    [
        "I get what you mean",
        "there's a lot going on",
        "cherry, honestly",
        "cherry, you know",
        "cherry and then some",
        "cherry, says Marguerite Ollander",
        "cherry, acidity high",
        "like I said",
        "twelve of them, cherry",
    ],
)
def test_talk_is_no_thing(text: str) -> None:
    assert [r.value for r in aromas(text) if not r.known] == []


@pytest.mark.parametrize(
    ("text", "strength"),
    [
        ("heaps of cherry", 8),
        ("a hint of cherry", 2.5),
        ("a good bit of cherry", 6),
        ("cherry", None),
        ("heaps of plum, cherry", None),
    ],
)
def test_strength_is_worded_just_before(text: str, strength: float | None) -> None:
    assert [r.strength for r in aromas(text) if r.value == "cherry"] == [strength]


@pytest.mark.parametrize(
    ("text", "strength"),
    [
        ("cherry, faint", 2.5),
        ("cherry faint", 2.5),
        ("a bit of cherry, just the faintest hint", 1),
        ("cherry, loads of it", 8),
        ("cherry, a touch, plum, plenty", 2.5),
        ("plum, cherry, a lot", 8),
        ("cherry, very strong", 9.2),
        ("the cherry is quite strong", 6),
        ("cherry, loads of plum", None),
        ("cherry, a touch bitter", None),
        ("cherry, plum, loads", None),
        ("plum, cherry, faint", None),
        ("cherry, closed", None),
    ],
)
def test_strength_is_worded_behind_in_a_clause_of_nothing_else(text: str, strength: float | None) -> None:
    assert [r.strength for r in aromas(text) if r.value == "cherry"] == [strength]


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("chalky tannins", "palate.tannin_texture"),
        ("chalky, the tannins", "palate.tannin_texture"),
        ("tannins: chalky", "palate.tannin_texture"),
        ("a chalky texture", "palate.texture"),
        ("grainy tannin, and a chalky middle", "palate.texture"),
    ],
)
def test_a_texture_is_of_the_tannin_or_of_the_mouth(text: str, field: str) -> None:
    assert "chalky" in held(read(text))[field]


def test_words_too_ordinary_are_textures_of_tannin_alone() -> None:
    assert held(read("fine tannins"))["palate.tannin_texture"] == ["fine"]
    assert held(read("a fine plum")) == {"palate.flavours": ["plum"]}


@pytest.mark.parametrize("text", ["a cherry coloured wine", "wet slate after rain"])
def test_not_every_thing_named_is_smelt(text: str) -> None:
    assert not {"cherry", "rain"} & {r.value for r in aromas(text)}
