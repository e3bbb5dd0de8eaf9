"""Producers and names of wines; all invented."""

from __future__ import annotations

import pytest

from dictate.extract import read_fields
from dictate.values import Reading
from tests.build import entry
from tests.extract.said import LEXICON, RULES, held, phrase, read

OWN = LEXICON.with_entries(
    [
        entry("producer", "Tin Whistle", said=["the whistle"]),
        entry("producer", "Heron & Rake", said=["Heron and Rake"]),
        entry("producer", "Chinon"),
        entry("wine", "Three Herons"),
        entry("descriptor", "aunt's cupboard", family="own words", said=["old cupboard"],
              own={("old", "cupboard"): "aunt's cupboard"}),
    ]
)  # fmt: skip


def read_own(text: str, stage: str = "identity") -> tuple[Reading, ...]:
    return read_fields([phrase(text, stage)], OWN, rules=RULES)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "producer"),
    [
        ("from Tollbury Estate", "Tollbury Estate"),
        ("made by Tollbury Estate in Kent", "Tollbury Estate"),
        ("a Chinon from Domaine Vesselhart, 2019", "Domaine Vesselhart"),
        ("the producer, Heron and Rake", "Heron and Rake"),
        ("Bodega Aranzil, Rioja", "Bodega Aranzil"),
        ("Possum Ladder, Riesling", "Possum Ladder"),
        ("the grower is Jonas Marchlehner", "Jonas Marchlehner"),
    ],
)
def test_a_producer_is_named(text: str, producer: str) -> None:
    assert held(read(text, "identity"))["wine.producer"] == producer


@pytest.mark.parametrize(
    "text",
    [
        "from the Mosel",
        "a Riesling, 2019",
        "next wine",
        "Gran Reserva, Rioja",
        "number four",
        "Cabernet Franc",
    ],
)
def test_places_grapes_and_labels_are_no_producers(text: str) -> None:
    assert "wine.producer" not in held(read(text, "identity"))


def test_a_wine_is_called_by_its_own_name() -> None:
    assert held(read("a Soave called Three Herons", "identity"))["wine.name"] == "Three Herons"
    assert "wine.name" not in held(read("a Soave", "identity"))


@pytest.mark.parametrize("stage", ["nose", "palate", "verdict"])
def test_other_stages_name_no_producer(stage: str) -> None:
    assert "wine.producer" not in held(read("from Tollbury Estate", stage))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "producer", "name"),
    [
        ("from tin whistle", "Tin Whistle", None),
        ("tin whistle, a Riesling", "Tin Whistle", None),
        ("a Riesling of the whistle", "Tin Whistle", None),
        ("number four, heron and rake, three herons, 2019", "Heron & Rake", "Three Herons"),
        ("from Possum Ladder, three herons", "Possum Ladder", "Three Herons"),
        ("a Soave called Old Slope from tin whistle", "Tin Whistle", "Old Slope"),
    ],
)
def test_known_names_are_spelt_as_known(text: str, producer: str, name: str | None) -> None:
    values = held(read_own(text))
    assert (values.get("wine.producer"), values.get("wine.name")) == (producer, name)
    assert {r.source for r in read_own(text)} == {"spoken"}


@pytest.mark.parametrize(
    ("text", "stage"),
    [
        ("it is not from tin whistle", "identity"),
        ("could be tin whistle", "identity"),
        ("a tin of whistles", "identity"),
        ("Chinon, 2019", "identity"),  # a place before a producer of the same words
        ("tin whistle", "palate"),
        ("three herons", "nose"),
    ],
)
def test_known_names_denied_guessed_or_elsewhere_name_nothing(text: str, stage: str) -> None:
    values = held(read_own(text, stage))
    assert not {"wine.producer", "wine.name"} & set(values)


def test_an_own_descriptor_is_known_and_gives_the_term_told_with_it() -> None:
    (reading,) = [r for r in read_own("old cupboard", "nose") if r.field == "nose.aromas"]
    assert (reading.value, reading.known, reading.family) == ("aunt's cupboard", True, "own words")
    (shaped,) = [r for r in read("smells of old cupboard", "nose") if r.field == "nose.aromas"]
    assert (shaped.value, shaped.known) == ("old cupboard", False)
