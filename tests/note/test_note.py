"""The note against its contract, its shipped schema and an outside validator."""

from __future__ import annotations

import json
from importlib import resources
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from pydantic import ValidationError

from dictate.note import Note, as_document, json_schema, read_note
from tests.note.notes import NOTE, full_note

SCHEMA: dict[str, Any] = json.loads(
    (resources.files("dictate") / "tasting-note-1.schema.json").read_text(encoding="utf-8")
)
PARTS = ("wine", "appearance", "nose", "palate", "finish", "verdict")


def test_the_shipped_schema_is_the_code_s() -> None:
    assert json_schema() == SCHEMA


def test_the_shipped_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


def test_field_names_are_the_contract_s() -> None:
    contract = set((Path(__file__).parent / "contract_fields.txt").read_text().split())
    ours = {name for name in Note.model_fields if name not in PARTS} - {"schema_"}
    for part in PARTS:
        model: Any = Note.model_fields[part].annotation
        ours |= {f"{part}.{name}" for name in model.model_fields}
    # ours beyond the contract's table: how sure the clock is of its two onsets
    assert ours - {"finish.confidence"} == contract


@settings(max_examples=30, deadline=None)
@given(note=NOTE)
def test_any_note_validates_and_comes_back_the_same(note: Note) -> None:
    document = json.loads(json.dumps(as_document(note)))
    jsonschema.validate(document, SCHEMA, cls=jsonschema.Draft202012Validator)
    assert read_note(document) == note


def test_the_schema_refuses_a_field_it_does_not_know() -> None:
    document = as_document(full_note()) | {"smell": "good"}
    with pytest.raises(jsonschema.ValidationError, match="smell"):
        jsonschema.validate(document, SCHEMA)


def test_another_schema_number_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="tasting-note/9"):
        read_note({"schema": "tasting-note/9", "id": "x"})


def test_a_level_above_ten_is_refused() -> None:
    with pytest.raises(ValidationError, match="less than or equal to 10"):
        read_note({"schema": "tasting-note/1", "id": "x", "palate": {"acidity": {"level": 10.5}}})


def test_a_timed_finish_without_its_onsets_is_refused() -> None:
    with pytest.raises(ValidationError, match="from_s and to_s"):
        read_note({"schema": "tasting-note/1", "id": "x", "finish": {"how": "timed", "seconds": 3}})


def test_seconds_are_rounded_once_the_finish_to_a_hundredth() -> None:
    assert full_note().finish.seconds == 13.42
    assert full_note().finish.to_s == 14.421
