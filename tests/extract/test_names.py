"""Producers and names of wines; all invented."""

from __future__ import annotations

import pytest

from tests.extract.said import held, read


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
