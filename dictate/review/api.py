"""What the page's script asks for: changes as JSON, and the document that describes them. Pure."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Annotated, Any, Final, Literal, TypeVar, get_args

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from dictate.form import Accept, Add, Amend, Amendment, Move, Onsets, Put, Remove
from dictate.form.amend import KINDS
from dictate.review.spoken import Do

Revision = Annotated[int, Field(ge=1, le=10**9)]
Path = Annotated[str, Field(max_length=60)]
Index = Annotated[int, Field(ge=0, le=10**6)]
Words = Annotated[str, Field(max_length=400)]
Strength = Annotated[float, Field(ge=0, le=10)]
Seconds = Annotated[float, Field(ge=0, le=10**7)]
DOES: Final = (*get_args(Do), "change", "nothing")
MOST_CHANGES: Final = 20  # at once
T = TypeVar("T")


class RequestError(ValueError):
    """A request that is none, in one line."""


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)


class _Body(_Strict):
    revision: Revision


class _Put(_Strict):
    do: Literal["put"]
    path: Path
    text: Words


class _Add(_Strict):
    do: Literal["add"]
    path: Path
    text: Words
    strength: Strength | None = None
    certain: bool = True


class _Amend(_Strict):
    do: Literal["amend"]
    path: Path
    index: Index
    text: Words
    strength: Strength | None = None
    certain: bool = True


class _Remove(_Strict):
    do: Literal["remove"]
    path: Path
    index: Index


class _Move(_Strict):
    do: Literal["move"]
    path: Path
    index: Index
    to: Path


class _Onsets(_Strict):
    do: Literal["onsets"]
    from_s: Seconds
    to_s: Seconds


class _Accept(_Strict):
    do: Literal["accept"]
    path: Path = ""
    index: Index | None = None


_One = _Put | _Add | _Amend | _Remove | _Move | _Onsets | _Accept
_Each = Annotated[_One, Field(discriminator="do")]


class _Change(_Body):
    """Changes of a note that was seen at a revision, made together or not at all; `said`: what was said to
    ask for them, "" where a hand did."""

    do: Literal["change"]
    changes: Annotated[list[_Each], Field(min_length=1, max_length=MOST_CHANGES)]
    said: Words = ""


class _Undo(_Body):
    """The last change taken back of a note that was seen at a revision."""

    do: Literal["undo"]


_BODY: Final[TypeAdapter[_Change | _Undo]] = TypeAdapter(
    Annotated[_Change | _Undo, Field(discriminator="do")]
)


class Here(_Strict):
    """A window of the page: its name, the note that it shows and of which revision, the value looked at,
    which of its messages it has done last and which state of all it knows; whether it plays, and was used
    just now."""

    window: Annotated[str, Field(min_length=1, max_length=40)]
    note: Annotated[int, Field(ge=1, le=10**9)]
    revision: Revision
    key: Path = ""
    seen: Annotated[int, Field(ge=0, le=10**9)] = 0
    state: Annotated[int, Field(ge=0, le=10**9)] = 0
    playing: bool = False
    used: bool = False


class Turn(_Strict):
    """Listening turned on or off."""

    on: bool


@dataclass(frozen=True, slots=True)
class Asked:
    """What a request asks for; no `changes`: to undo the last. `said`: the words, where it was said."""

    revision: int
    changes: tuple[Amendment, ...] = ()
    said: str = ""


def read_change(body: bytes) -> Asked:
    """The revision that was seen, and the changes asked for. Raises RequestError."""
    asked = read_as(_BODY, body)
    if isinstance(asked, _Undo):
        return Asked(asked.revision)
    return Asked(asked.revision, tuple(map(_amendment, asked.changes)), asked.said)


def read_as(kind: TypeAdapter[T], body: bytes) -> T:
    """A request's body as a kind of it. Raises RequestError."""
    try:
        return kind.validate_json(body)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"])
        raise RequestError(f"{where or 'the request'}: {first['msg']}"[:200]) from error


def _amendment(asked: _One) -> Amendment:
    match asked:
        case _Put():
            return Put(asked.path, asked.text)
        case _Add():
            return Add(asked.path, asked.text, asked.strength, asked.certain)
        case _Amend():
            return Amend(asked.path, asked.index, asked.text, asked.strength, asked.certain)
        case _Remove():
            return Remove(asked.path, asked.index)
        case _Move():
            return Move(asked.path, asked.index, asked.to)
        case _Onsets():
            return Onsets(asked.from_s, asked.to_s)
        case _Accept():
            return Accept(asked.path, asked.index)


def as_asked(amendment: Amendment) -> dict[str, Any]:
    """A change as the page's script asks for it: what `read_change` reads."""
    return {"do": type(amendment).__name__.lower(), **asdict(amendment)}


def openapi() -> dict[str, Any]:
    """The description of what the script asks for, as OpenAPI 3.1."""
    body = _BODY.json_schema(ref_template="#/components/schemas/{model}")
    schemas = body.pop("$defs")
    for name, schema in schemas.items():
        schema.setdefault("description", f"{name.strip('_')} one value.")
    lines = {"type": "array", "items": {"type": "string"}}
    schemas["Error"] = _object({"error": {"type": "string"}})
    schemas["Conflict"] = _object({"error": {"type": "string"}, "theirs": lines})
    schemas["Saved"] = _object({"revision": {"type": "integer"}, "told": lines, "meanwhile": lines})
    schemas["Terms"] = _object({"terms": lines})
    schemas["Onset"] = _object({"onset_s": {"type": "number"}, "confidence": {"type": "number"}})
    schemas |= _of_voice(schemas["_Change"]["properties"]["changes"]["items"])
    return {
        "openapi": "3.1.0",
        "info": {"title": "dictate review", "version": "1"},
        "paths": {**_posts(body), **_gets()},
        "components": {"schemas": schemas},
    }


_NUMBER: Final = ("number", "path", {"type": "integer", "minimum": 1, "maximum": 10**9})


def _posts(change: dict[str, Any]) -> dict[str, Any]:
    """What changes something. `change`: the schema of a change of a note."""
    bad = {
        "400": _answer("the request is none", "Error"), "413": _answer("too large", "Error"),
        "415": _answer("no JSON", "Error"),
    }  # fmt: skip
    off = {"404": _answer("the microphone is off", "Error")}
    return {
        "/note/{number}/change": {"post": {
            "parameters": [_parameter(*_NUMBER)],
            "requestBody": {"required": True, "content": {"application/json": {"schema": change}}},
            "responses": {
                "200": _answer("saved", "Saved"), "404": _answer("there is no such note", "Error"),
                "409": _answer("the same was changed elsewhere meanwhile", "Conflict"), **bad,
            },
        }},
        "/voice/next": {"post": {
            "requestBody": _body("Here"),
            "responses": {"200": _answer("what is new for the window", "News"), **off, **bad},
        }},
        "/voice/listen": {"post": {
            "requestBody": _body("Turn"),
            "responses": {"200": _answer("whether it listens", "Turn"), **off, **bad},
        }},
    }  # fmt: skip


def _gets() -> dict[str, Any]:
    """What is only looked at."""
    number = _parameter(*_NUMBER)
    near = _parameter("near", "query", {"type": "number", "minimum": 0, "maximum": 10**7})
    path = _parameter("path", "query", {"type": "string", "enum": sorted(KINDS)})
    text = _parameter("text", "query", {"type": "string", "maxLength": 80})
    gone = {"404": _answer("there is no such note, or it has no sound", "Error")}
    wrong = {"400": _answer("the request is none", "Error")}
    wave: dict[str, Any] = {"audio/wav": {}}
    return {
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
    }  # fmt: skip


def _of_voice(change: dict[str, Any]) -> dict[str, Any]:
    """What a window tells and is told. `change`: one change of a note."""
    message = _object({
        "number": {"type": "integer"}, "heard": {"type": "string"}, "do": {"enum": [*DOES]},
        "key": {"type": "string"}, "changes": {"type": "array", "items": change}, "why": {"type": "string"},
    })  # fmt: skip
    news = _object({
        "state": {"type": "integer"}, "on": {"type": "boolean"}, "microphone": {"type": "string"},
        "problem": {"type": "string"}, "own": {"type": "boolean"}, "open": {"type": "integer"},
        "message": {"anyOf": [message, {"type": "null"}]},
    })  # fmt: skip
    return {"News": news, "Here": Here.model_json_schema(), "Turn": Turn.model_json_schema()}


def _body(schema: str) -> dict[str, Any]:
    content = {"application/json": {"schema": {"$ref": f"#/components/schemas/{schema}"}}}
    return {"required": True, "content": content}


def _object(properties: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object", "properties": properties, "required": [*properties], "additionalProperties": False,
    }  # fmt: skip


def _answer(description: str, schema: str) -> dict[str, Any]:
    content = {"application/json": {"schema": {"$ref": f"#/components/schemas/{schema}"}}}
    return {"description": description, "content": content}


def _parameter(name: str, place: str, schema: dict[str, Any]) -> dict[str, Any]:
    return {"name": name, "in": place, "required": True, "schema": schema}
