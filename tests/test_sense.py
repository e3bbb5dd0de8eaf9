"""Sense checks: each with a note on which it speaks and one on which it is silent; none changes a note."""

from __future__ import annotations

import os
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from dictate.cli import main
from dictate.export import as_markdown, as_summary
from dictate.note import Note
from dictate.sense import PRACTICE, sense_checks


def term(text: str) -> dict[str, str]:
    return {"term": text, "said": text}


def level(value: float, said: str) -> dict[str, Any]:
    return {"level": value, "said": said}


def spoken(*lines: tuple[str, str]) -> list[dict[str, Any]]:
    made = []
    for stage, text in lines:
        words = [{"text": w, "at": [i, i + 1]} for i, w in enumerate(text.split())]
        made.append({"text": text, "at": [0, len(words)], "stage": stage, "words": words})
    return made


def told(note: dict[str, Any], year: int | None = None) -> list[str]:
    return [c.text for c in sense_checks(Note.model_validate({"id": "x", **note}), year)]


WHITE, RED = {"colour": term("white")}, {"colour": term("red")}
YOUNG, MATURE = {"age": term("young")}, {"age": term("mature")}
SPEAKS: list[tuple[str, dict[str, Any], int | None]] = [
    ("amber in a young white", {"wine": WHITE, "nose": YOUNG, "appearance": {"hue": term("amber")}}, None),
    ("purple in an old red", {"wine": RED, "nose": MATURE, "appearance": {"hue": term("purple")}}, None),
    (
        "brick in a young red",
        {"wine": {**RED, "vintage": {"year": 2025}}, "appearance": {"hue": term("brick")}},
        2026,
    ),
    (
        "hazy, a young still wine, and no fault named",
        {"nose": YOUNG, "appearance": {"clarity": term("hazy")}},
        None,
    ),
    (
        "bubbles in a young still wine, and no fault named",
        {"nose": YOUNG, "appearance": {"bubbles": {"text": "fine bubbles"}}},
        None,
    ),
    (
        "tannin in a white, and no skin contact spoken of",
        {"wine": WHITE, "palate": {"tannin": level(6, "tannin")}},
        None,
    ),
    (
        "“dry” beside 30 g/L of sugar",
        {
            "palate": {"sweetness": level(0.8, "dry")},
            "transcript": spoken(("palate", "dry, thirty grams residual")),
        },
        None,
    ),
    ("“long” beside 2 s", {"finish": {"seconds": 2, "how": "stated", "length": level(7.5, "long")}}, None),
    ("drink by 2020: that year has passed", {"verdict": {"drink_to": 2020}}, 2026),
    (
        "drink from 2030 to 2028: ends before it begins",
        {"verdict": {"drink_from": 2030, "drink_to": 2028}},
        None,
    ),
    (
        "drink by 2009, before the vintage of 2019",
        {"wine": {"vintage": {"year": 2019}}, "verdict": {"drink_to": 2009}},
        None,
    ),
    (
        "not spoken of: appearance, finish, verdict",
        {"transcript": spoken(("nose", "plum"), ("palate", "plum, high acid"))},
        None,
    ),
]
SILENT: list[tuple[dict[str, Any], int | None]] = [
    ({"wine": WHITE, "nose": MATURE, "appearance": {"hue": term("amber")}}, 2026),
    ({"wine": RED, "nose": YOUNG, "appearance": {"hue": term("purple")}}, 2026),
    (
        {
            "wine": {**RED, "style": term("fortified")},
            "nose": YOUNG,
            "appearance": {"hue": term("tawny")},
        },
        2026,
    ),
    ({"nose": YOUNG, "appearance": {"clarity": term("hazy")}, "faults": [{"term": "refermentation"}]}, None),
    ({"nose": MATURE, "appearance": {"clarity": term("hazy")}}, None),
    (
        {
            "wine": {"style": term("sparkling")},
            "nose": YOUNG,
            "appearance": {"bubbles": {"text": "fine bubbles"}},
        },
        None,
    ),
    ({"wine": RED, "palate": {"tannin": level(9, "tannic")}}, None),
    (
        {
            "wine": WHITE,
            "palate": {"tannin": level(6, "tannin")},
            "transcript": spoken(("nose", "two weeks on the skins")),
        },
        None,
    ),
    (
        {
            "palate": {"sweetness": level(0.8, "dry")},
            "transcript": spoken(("palate", "dry, seven grams residual")),
        },
        None,
    ),
    (
        {
            "wine": {"style": term("sparkling")},
            "palate": {"sweetness": level(0.8, "dry")},
            "transcript": spoken(("palate", "dry, thirty grams residual")),
        },
        None,
    ),
    ({"finish": {"seconds": 20, "how": "stated", "length": level(2.2, "short")}}, None),
    ({"verdict": {"drink_from": 2026, "drink_to": 2030}}, 2026),
    ({"verdict": {"drink_to": 2020}}, None),
    ({"transcript": spoken(("nose", "plum"))}, None),
]


@pytest.mark.parametrize(("text", "note", "year"), SPEAKS, ids=[s[0] for s in SPEAKS])
def test_a_check_speaks(text: str, note: dict[str, Any], year: int | None) -> None:
    assert told(note, year) == [text]


@pytest.mark.parametrize(("note", "year"), SILENT)
def test_a_check_is_silent(note: dict[str, Any], year: int | None) -> None:
    assert told(note, year) == []


@pytest.mark.parametrize(("text", "note", "year"), SPEAKS, ids=[s[0] for s in SPEAKS])
def test_checks_name_their_source_and_change_nothing(
    text: str, note: dict[str, Any], year: int | None
) -> None:
    made = Note.model_validate({"id": "x", **note})
    before = made.model_dump_json()
    assert all(c.source == PRACTICE or len(c.source) > 10 for c in sense_checks(made, year))
    assert made.model_dump_json() == before


def test_checks_are_shown_with_the_note_with_their_source() -> None:
    note = Note.model_validate({"id": "x", "verdict": {"drink_from": 2030, "drink_to": 2028}})
    shown = "drink from 2030 to 2028: ends before it begins (common practice, no source)."
    assert f"**Worth a look.** {shown}" in as_markdown(note)
    assert f"Worth a look: {shown}" in as_summary(note)
    assert "Worth a look" not in as_markdown(Note.model_validate({"id": "x"}))


def test_the_year_of_the_tasting_reaches_the_checks(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By the file's date, from the command to both shown texts."""
    source = tmp_path / "a.vtt"
    source.write_text(
        "WEBVTT\n\n00:00.000 --> 00:03.000\nnext wine, number four, a Riesling, two thousand and twelve\n\n"
        "00:04.000 --> 00:07.000\nvery good, drink until twenty twenty\n"
    )
    for year, speaks in ((2024, True), (2018, False)):
        stamp = datetime(year, 7, 1).astimezone().timestamp()
        os.utime(source, (stamp, stamp))
        out = tmp_path / str(year)
        assert main(["note", str(source), "--to", str(out)]) == 0
        (page,) = out.glob("*.md")
        told_so = "drink by 2020: that year has passed"
        assert (told_so in page.read_text(encoding="utf-8")) is speaks
        assert (told_so in capsys.readouterr().out.replace("\n", " ")) is speaks
