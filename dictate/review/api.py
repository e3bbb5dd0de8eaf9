"""What the page's script asks for: changes as JSON, and the document that describes them. Pure."""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from dictate.form import Accept, Add, Amend, Amendment, Move, Onsets, Put, Remove
from dictate.form.amend import KINDS

Revision = Annotated[int, Field(ge=1, le=10**9)]
Path = Annotated[str, Field(max_length=60)]
Index = Annotated[int, Field(ge=0, le=10**6)]
Words = Annotated[str, Field(max_length=400)]
Strength = Annotated[float, Field(ge=0, le=10)]
Seconds = Annotated[float, Field(ge=0, le=10**7)]


class RequestError(ValueError):
    """A request that is none, in one line."""


class _Body(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)

    revision: Revision


class _Put(_Body):
    do: Literal["put"]
    path: Path
    text: Words


class _Add(_Body):
    do: Literal["add"]
    path: Path
    text: Words
    strength: Strength | None = None


class _Amend(_Body):
    do: Literal["amend"]
    path: Path
    index: Index
    text: Words
    strength: Strength | None = None
    certain: bool = True


class _Remove(_Body):
    do: Literal["remove"]
    path: Path
    index: Index


class _Move(_Body):
    do: Literal["move"]
    path: Path
    index: Index
    to: Path


class _Onsets(_Body):
    do: Literal["onsets"]
    from_s: Seconds
    to_s: Seconds


class _Accept(_Body):
    do: Literal["accept"]
    path: Path = ""
    index: Index | None = None


class _Undo(_Body):
    do: Literal["undo"]


_Any = _Put | _Add | _Amend | _Remove | _Move | _Onsets | _Accept | _Undo
_BODY: Final[TypeAdapter[_Any]] = TypeAdapter(Annotated[_Any, Field(discriminator="do")])


def read_change(body: bytes) -> tuple[int, Amendment | None]:
    """The revision that was seen, and the change asked for; None: to undo the last. Raises RequestError."""
    try:
        asked = _BODY.validate_json(body)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"][1:])
        raise RequestError(f"{where or 'the request'}: {first['msg']}"[:200]) from error
    match asked:
        case _Put():
            made: Amendment | None = Put(asked.path, asked.text)
        case _Add():
            made = Add(asked.path, asked.text, asked.strength)
        case _Amend():
            made = Amend(asked.path, asked.index, asked.text, asked.strength, asked.certain)
        case _Remove():
            made = Remove(asked.path, asked.index)
        case _Move():
            made = Move(asked.path, asked.index, asked.to)
        case _Onsets():
            made = Onsets(asked.from_s, asked.to_s)
        case _Accept():
            made = Accept(asked.path, asked.index)
        case _Undo():
            made = None
    return asked.revision, made


def openapi() -> dict[str, Any]:
    """The description of what the script asks for, as OpenAPI 3.1."""
    body = _BODY.json_schema(ref_template="#/components/schemas/{model}")
    schemas = body.pop("$defs")
    for schema in schemas.values():
        schema["description"] = "A change of a note that was seen at a revision."
    lines = {"type": "array", "items": {"type": "string"}}
    schemas["Error"] = _object({"error": {"type": "string"}})
    schemas["Conflict"] = _object({"error": {"type": "string"}, "theirs": lines})
    schemas["Saved"] = _object({"revision": {"type": "integer"}, "told": lines, "meanwhile": lines})
    schemas["Terms"] = _object({"terms": lines})
    schemas["Onset"] = _object({"onset_s": {"type": "number"}, "confidence": {"type": "number"}})
    number = _parameter("number", "path", {"type": "integer", "minimum": 1, "maximum": 10**9})
    near = _parameter("near", "query", {"type": "number", "minimum": 0, "maximum": 10**7})
    path = _parameter("path", "query", {"type": "string", "enum": sorted(KINDS)})
    text = _parameter("text", "query", {"type": "string", "maxLength": 80})
    asked = {"required": True, "content": {"application/json": {"schema": body}}}
    gone = {"404": _answer("there is no such note, or it has no sound", "Error")}
    wrong = {"400": _answer("the request is none", "Error")}
    wave: dict[str, Any] = {"audio/wav": {}}
    return {
        "openapi": "3.1.0",
        "info": {"title": "dictate review", "version": "1"},
        "paths": {
            "/note/{number}/change": {"post": {
                "parameters": [number], "requestBody": asked,
                "responses": {
                    "200": _answer("saved", "Saved"), **wrong, **gone,
                    "409": _answer("the same was changed elsewhere meanwhile", "Conflict"),
                    "413": _answer("too large", "Error"), "415": _answer("no JSON", "Error"),
                },
            }},
            "/note/{number}/peaks": {"get": {
                "parameters": [number],
                "responses": {"200": {"description": "a byte each 5 ms",
                                      "content": {"application/octet-stream": {}}}, **gone},
            }},
            "/note/{number}/sound.wav": {"get": {
                "parameters": [number],
                "responses": {
                    "200": {"description": "all", "content": wave},
                    "206": {"description": "a part", "content": wave},
                    "416": {"description": "not there", "content": wave}, **gone,
                },
            }},
            "/note/{number}/onset": {"get": {
                "parameters": [number, near],
                "responses": {"200": _answer("where the sound rises", "Onset"), **wrong, **gone},
            }},
            "/words": {"get": {
                "parameters": [path, text],
                "responses": {"200": _answer("terms of the field", "Terms"), **wrong},
            }},
        },
        "components": {"schemas": schemas},
    }  # fmt: skip


def _object(properties: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object", "properties": properties, "required": [*properties], "additionalProperties": False,
    }  # fmt: skip


def _answer(description: str, schema: str) -> dict[str, Any]:
    content = {"application/json": {"schema": {"$ref": f"#/components/schemas/{schema}"}}}
    return {"description": description, "content": content}


def _parameter(name: str, place: str, schema: dict[str, Any]) -> dict[str, Any]:
    return {"name": name, "in": place, "required": True, "schema": schema}
