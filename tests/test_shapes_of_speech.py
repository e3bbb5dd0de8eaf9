"""The same words as recognisers write them: without marks, cut anywhere, run together, in figures. Each shape
of a content gives the same values as the well written one. "/" parts breaths."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from dictate.note import as_document
from dictate.pipeline import notes_from_words
from dictate.settings import Settings
from dictate.values import Heard
from tests import build

PLAIN = {
    "palate": "On the palate, dry, medium acidity, high tannin, full body.",
    "nose": "On the nose, medium intensity. Plum, leather and black pepper.",
    "look": "Clear, deep ruby, with a garnet rim.",
    "finish": "The finish is long, medium plus acidity, twelve seconds.",
    "verdict": "Very good, ninety two points, drink from 2026 to 2030.",
    "score": "Seventeen and a half out of twenty.",
    "whole": "Deep ruby. / On the nose, plum. / On the palate, dry. / The acidity is high. / Very good.",
}
SHAPES = {
    "palate": [
        "on the palate dry medium acidity high tannin full body",
        "ON THE PALATE DRY MEDIUM ACIDITY HIGH TANNIN FULL BODY",
        "On the palate. Dry. Medium acidity. High tannin. Full body.",
        "on the palate / dry / medium acidity / high tannin / full body",
        "On the palate. / Dry. / Acidity is medium. / Tannin is high. / Body is full.",
        "palate dry acidity medium tannin high body full",
        "dry medium acidity high tannin full body",
        "Dry. Medium acidity. High tannin. Full body.",
        "dry / medium acidity / high tannin / full body",
        "On the palate, dry. Acidity, medium. Tannin, high. Body, full.",
        "On the palate dry. The acidity. Is medium. The tannin. Is high. The body. Is full.",
        "On the palate / dry / the acidity / is medium / the tannin / is high / the body / is full",
        "On the palate, dry, medium, acidity, high, tannin, full, body.",
        "On the palate, dry. Medium acidity high. Tannin full. Body.",
        "On the palate it is dry the acidity is medium the tannin is high and the body is full",
        "On the palate, um, dry, uh, medium acidity, er, high tannin, full body.",
        "On the palate: dry; medium acidity; high tannin; full body.",
        "On the palate... dry... medium acidity... high tannin... full body",
        "On the palate - dry - medium acidity - high tannin - full body",
        "So on the palate it's dry, medium acid, high tannins, full bodied.",
        "Medium acidity high tannin. Full body dry.",
    ],
    "nose": [
        "on the nose medium intensity plum leather black pepper",
        "on the nose plum leather and black pepper medium intensity",
        "On the nose medium. Intensity plum. Leather. Black pepper.",
        "On the nose / medium intensity / plum / leather / black pepper",
        "nose medium plum leather black pepper",
        "Nose: medium, plum, leather, black pepper.",
        "The nose is medium. / Plum / leather / and black pepper",
    ],
    "look": [
        "clear deep ruby with a garnet rim",
        "Clear. Deep ruby. Garnet rim.",
        "clear / deep ruby / garnet rim",
        "Clear, the colour is deep ruby and the rim is garnet",
        "Clear. / The colour. / Is deep ruby. / Garnet rim.",
    ],
    "finish": [
        "finish long medium plus acidity 12 seconds",
        "Finish. / Long. / Medium+ acidity. / 12 seconds.",
        "the finish / is long / acidity medium + / twelve seconds",
        "The finish is long. Medium-plus acidity. 12 sec.",
        "the finish is long acidity is medium plus 12s",
    ],
    "verdict": [
        "very good 92 points drink from 2026 to 2030",
        "Very good, 92, drink 2026-2030.",
        "Very good. / 92/100. / Drink from 2026 to 2030.",
        "very good ninety two points drink from twenty twenty six to twenty thirty",
        "very good / ninety points / no, 92 / drink 2026 to 2030",
    ],
    "score": ["17.5/20", "17.5 out of 20", "seventeen point five out of 20", "17.5 on 20"],
    "whole": [
        "deep ruby / on the nose / plum / palate / dry / acidity / is high / very good",
        "Deep ruby. On the nose, plum. On the palate, dry. The acidity is high. Very good.",
        "deep ruby / nose plum / palate dry high acidity / very good",
    ],
}  # fmt: skip
_PLACES = frozenset(["said", "at", "confidence", "source"])


def _values(value: Any) -> Any:
    """A part of a note without the words it came from; of lists, in no order."""
    if isinstance(value, dict):
        return {name: _values(v) for name, v in value.items() if name not in _PLACES}
    if isinstance(value, list):
        return sorted((_values(v) for v in value), key=str)
    return value


def note_of(text: str, *, naming: str = "Next wine, number four, a Syrah.") -> dict[str, Any]:
    """The values of the note of some breaths behind a wine's name."""
    words = build.breaths([naming, *text.split(" / ")])
    heard = Heard(words, words[-1].end_s + 1, "typed")
    document = as_document(notes_from_words(heard, settings=Settings(), recording=build.RECORDING)[-1])
    parts = ("wine", "appearance", "nose", "palate", "finish", "verdict", "faults")
    return {name: _values(document[name]) for name in parts if document.get(name)}


@pytest.mark.parametrize(("content", "shape"), [(c, s) for c, shapes in SHAPES.items() for s in shapes])
def test_each_shape_gives_the_values_of_the_plain_one(content: str, shape: str) -> None:
    assert note_of(shape) == note_of(PLAIN[content])


@pytest.mark.parametrize(
    "naming",
    [
        "next wine number 4 syrah",
        "Next wine. Number four. A Syrah.",
        "next wine / number four / Syrah",
        "Next wine, number 4. Syrah.",
    ],
)
def test_each_shape_of_the_name_gives_the_same_wine(naming: str) -> None:
    assert note_of(
        " / ".join([*naming.split(" / ")[1:], PLAIN["palate"]]), naming=naming.split(" / ")[0]
    ) == (note_of(PLAIN["palate"]))


def test_another_content_gives_other_values() -> None:
    notes = [str(note_of(text)) for text in PLAIN.values()]
    assert len(set(notes)) == len(notes)


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("medium alcohol, thirteen point five percent", "medium alcohol"),
        ("medium alcohol 13.5%", "medium alcohol"),
        ("alcohol about thirteen", ""),
        ("alcohol 13.5 per cent", ""),
    ],
)
def test_alcohol_by_volume_is_no_warmth_and_takes_none_away(text: str, plain: str) -> None:
    """The note has no field for it (`tests/note/contract_fields.txt`): it stays a remark."""
    assert note_of(f"on the palate, dry / {text}") == note_of(f"on the palate, dry / {plain or 'hmm'}")


CASES = json.loads((Path(__file__).parent / "cases" / "extract" / "notes.json").read_text(encoding="utf-8"))


def _plain(value: Any) -> Any:
    """A value of a note without its kind; a fault that is not certain has a question mark."""
    if isinstance(value, list):
        return sorted(map(_plain, value))
    if not isinstance(value, dict):
        return value
    kept = next(value[name] for name in ("level", "points", "year", "term", "text") if name in value)
    return f"{kept}?" if value.get("certain") is False else kept


def _held(note: dict[str, Any], path: str) -> Any:
    section, _, name = path.partition(".")
    return _plain(note.get(section, {}).get(name) if name else note.get(section, []))


def _fits(want: Any, got: Any) -> bool:
    if isinstance(want, list) and want and isinstance(want[0], int | float):
        return isinstance(got, int | float) and want[0] <= got <= want[1]
    return bool((got or []) == sorted(want) if isinstance(want, list) else got == want)


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['class']}: {c['text']}")
def test_a_note_holds_what_its_breaths_mean_together(case: dict[str, Any]) -> None:
    """`holds`: fields and what they hold, None and [] for nothing; of a level perhaps an interval."""
    note = note_of(case["text"])
    got = {path: _held(note, path) for path in case["holds"]}
    assert {path: got[path] for path, want in case["holds"].items() if not _fits(want, got[path])} == {}


def test_each_class_of_meaning_has_a_case_that_only_looks_like_it() -> None:
    assert {c["class"] for c in CASES} == {c["class"] for c in CASES if c["counter"]}
