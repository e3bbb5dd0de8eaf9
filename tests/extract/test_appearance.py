"""Hues of core and rim, similes of colour, and what is described in words."""

from __future__ import annotations

import pytest

from tests.extract.said import held, read

HUE, RIM = "appearance.hue", "appearance.rim"


def hues(text: str) -> tuple[str | None, str | None]:
    values = held(read(text, "appearance"))
    return values.get(HUE), values.get(RIM)


@pytest.mark.parametrize(
    ("text", "core", "rim"),
    [
        ("ruby", "ruby", None),
        ("ruby with a garnet rim", "ruby", "garnet"),
        ("garnet at the rim", None, "garnet"),
        ("the edge is garnet, the heart ruby", "ruby", "garnet"),
        ("the rim, well, garnet", None, "garnet"),
        ("a pale straw with a watery rim", "straw", None),
        ("purple right to the rim", "purple", None),
        ("ruby going to garnet at the edge", "ruby", "garnet"),
        ("straw, with a bit of green in it", "straw", None),
        ("straw, not gold", "straw", None),
        ("no ruby here", None, None),
    ],
)
def test_core_and_rim(text: str, core: str | None, rim: str | None) -> None:
    assert hues(text) == (core, rim)


def test_a_simile_is_the_hue_where_no_hue_is_named() -> None:
    reading = next(r for r in read("the colour of a wet spaniel", "appearance") if r.field == HUE)
    assert (reading.value, reading.known, reading.rule) == ("wet spaniel", False, "simile")
    assert hues("the colour of old gold, garnet")[0] != "old gold, garnet"


def test_two_hues_said_as_one_keep_both_words() -> None:
    def told(text: str) -> list[tuple[str, int, int]]:
        return [(str(r.value), r.first, r.last) for r in read(text, "appearance") if r.field == HUE]

    assert told("a black ruby") == [("ruby", 1, 3)]
    assert told("black, ruby") == [("black", 0, 1), ("ruby", 1, 2)]
    assert told("black and ruby") == [("black", 0, 1), ("ruby", 2, 3)]


@pytest.mark.parametrize(
    ("text", "field", "words"),
    [
        ("and fine bubbles in long chains", "appearance.bubbles", "fine bubbles in long chains"),
        ("there are slow legs", "appearance.tears", "slow legs"),
        ("some sediment at the bottom", "appearance.deposit", "sediment at the bottom"),
    ],
)
def test_what_is_described_is_kept_in_the_tasters_words(text: str, field: str, words: str) -> None:
    assert held(read(text, "appearance"))[field] == words


@pytest.mark.parametrize("text", ["no sediment", "no bubbles at all"])
def test_what_is_denied_is_not_described(text: str) -> None:
    assert held(read(text, "appearance")) == {}


@pytest.mark.parametrize("stage", ["nose", "palate", "verdict"])
def test_other_stages_see_no_hue(stage: str) -> None:
    assert not {HUE, RIM} & set(held(read("ruby with a garnet rim", stage)))  # type: ignore[arg-type]


@pytest.mark.parametrize("text", ["some fine sediment", "bits at the bottom", "a few crystals"])
def test_a_deposit_is_told_wherever_it_lies(text: str) -> None:
    assert "appearance.deposit" in held(read(text, "appearance"))
