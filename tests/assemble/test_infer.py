"""Colour and style inferred: where they follow, where not, and never over what was said."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.assemble.draft import Draft
from dictate.assemble.infer import infer_wine
from dictate.note import Term
from tests import build

LEXICON = build.small_lexicon()
SAYINGS: dict[str, tuple[str, str]] = {
    "barolo": ("wine.origin", "barolo"),
    "champagne": ("wine.origin", "champagne"),
    "margaret river": ("wine.origin", "margaret river"),
    "riesling": ("wine.grapes", "riesling"),
    "syrah": ("wine.grapes", "syrah"),
    "pinot gris": ("wine.grapes", "pinot gris"),
    "invented": ("wine.grapes", "invented grape"),
    "ruby": ("appearance.hue", "ruby"),
    "amber": ("appearance.hue", "amber"),
    "lemon": ("appearance.hue", "lemon"),
    "unheard": ("appearance.hue", "unheard hue"),
    "still": ("wine.style", "still"),
    "sparkling": ("wine.style", "sparkling"),
    "rosé": ("wine.colour", "rosé"),
}


def inferred(*names: str) -> dict[str, Any]:
    phrases = [build.phrase(name, "identity", at=i) for i, name in enumerate(names)]
    draft = Draft(phrases)
    for i, name in enumerate(names):
        field, value = SAYINGS[name]
        draft.fold(build.reading(field, value, phrase=i, last=len(phrases[i].words)))
    infer_wine(draft, LEXICON)
    return {k.partition(".")[2]: draft.values.get(k) for k in ("wine.colour", "wine.style")}


@pytest.mark.parametrize(
    ("names", "colour", "said"),
    [
        (["barolo"], "red", "barolo"),
        (["ruby"], "red", "ruby"),
        (["lemon"], "white", "lemon"),
        (["riesling"], "white", "riesling"),
        (["pinot gris"], "white", "pinot gris"),
        (["riesling", "pinot gris"], "white", "riesling, pinot gris"),
        (["syrah"], "red", "syrah"),
        (["amber"], "orange", "amber"),
        (["amber", "riesling"], "white", "riesling"),
        (["barolo", "lemon"], "red", "barolo"),
        (["champagne", "ruby"], "red", "ruby"),
        (["margaret river", "syrah"], "red", "syrah"),
        (["still", "syrah"], "red", "syrah"),
    ],
)
def test_colour_hits(names: list[str], colour: str, said: str) -> None:
    found = inferred(*names)["colour"]
    assert (found.term, found.said, found.source) == (colour, said, "inferred")


@pytest.mark.parametrize(
    "names",
    [
        [],
        ["champagne"],
        ["champagne", "syrah"],
        ["sparkling", "syrah"],
        ["margaret river"],
        ["riesling", "syrah"],
        ["invented"],
        ["riesling", "invented"],
        ["unheard"],
        ["still"],
        ["amber", "riesling", "syrah"],
    ],
)
def test_colour_negatives(names: list[str]) -> None:
    assert inferred(*names)["colour"] is None


@pytest.mark.parametrize(("names", "style"), [(["champagne"], "sparkling")])
def test_style_hits(names: list[str], style: str) -> None:
    found = inferred(*names)["style"]
    assert (found.term, found.source) == (style, "inferred")


@pytest.mark.parametrize("names", [[], ["barolo"], ["margaret river"], ["syrah"], ["ruby"]])
def test_style_negatives(names: list[str]) -> None:
    assert inferred(*names)["style"] is None


@given(st.lists(st.sampled_from(sorted(SAYINGS)), max_size=8))
def test_never_over_what_was_said(names: list[str]) -> None:
    found = inferred(*names)
    for path, spoken in (("colour", {"rosé"}), ("style", {"still", "sparkling"})):
        said = [n for n in names if n in spoken]
        value: Term | None = found[path]
        if said:
            assert value is not None
            assert (value.term, value.source) == (said[0], "spoken")
        elif value is not None:
            assert value.source == "inferred"
            assert value.said


def test_a_taster_s_own_hue_gives_no_colour() -> None:
    own = LEXICON.with_entries([build.entry("hue", "partridge eye", family="own words")])
    draft = Draft([build.phrase("partridge eye", "appearance")])
    draft.fold(build.reading("appearance.hue", "partridge eye", last=2))
    infer_wine(draft, own)
    assert "wine.colour" not in draft.values
