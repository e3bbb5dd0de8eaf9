"""The tasting note of `tasting-note/1`: what every part of the project agrees on.

The field names are fixed by the note contract (DEVELOPERS.md, "The note"). A change that an older
reader could not read bumps `SCHEMA`; `read_note` keeps the readers of older numbers. This is the one
place where seconds are rounded: spans to 0.001 s, the finish to 0.01 s.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Annotated, Any, Final, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from dictate.values import Source, Stage

SCHEMA: Final = "tasting-note/1"
LISTED: Final = "listed: "  # begins a change's `before`: what a wine list says where the taster said other
SECTIONS: Final = ("wine", "appearance", "nose", "palate", "finish", "verdict")  # of fields
# where a thing that is not there is listed, by the list that it would be in
ABSENT_IN: Final = {
    "nose.aromas": "nose.absent", "palate.flavours": "palate.absent", "finish.flavours": "palate.absent",
    "palate.texture": "palate.absent", "palate.tannin_texture": "palate.absent", "faults": "nose.absent",
}  # fmt: skip
_STAGES: Final = {"wine": "identity", "faults": "nose"}  # where a section is not called as its stage is
NEVER_STOPPED: Final = "never stopped"  # begins a change's `after`: a finish clock left running
STATED_DIFFERS: Final = "the length stated differs by "  # ends a change's `after`: a flag, with a percentage
UNCLEAR_BELOW: Final = 0.5  # a cue's onset of less confidence is too unclear for hundredths of a second

_DATED = re.compile(r"\d{4}-\d\d-\d\dT")  # ISO 8601


def _seconds(value: float) -> float:
    if not math.isfinite(value) or value < 0:
        raise ValueError("seconds must be finite and not negative")
    return round(value, 3)


def _span(value: tuple[float, float]) -> tuple[float, float]:
    if value[1] < value[0]:
        raise ValueError("a span must not end before it starts")
    return value


def finish_seconds(value: float) -> float:
    """Seconds of a finish as a note gives them: to 0.01 s, its resolution."""
    return round(value, 2)


Seconds = Annotated[float, AfterValidator(_seconds)]
Span = Annotated[tuple[Seconds, Seconds], AfterValidator(_span)]
Share = Annotated[float, Field(ge=0, le=1), AfterValidator(lambda v: round(v, 3))]
Scale = Annotated[float, Field(ge=0, le=10), AfterValidator(lambda v: round(v, 2))]


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Spoken(_Model):
    """What was said and where, so that it can be heard again and put right."""

    said: str = ""
    at: Span | None = None
    confidence: Share = 1.0
    source: Source = "spoken"


class Text(Spoken):
    """Spoken, kept as words."""

    text: str


class Vintage(Spoken):
    """A year, or "NV"."""

    year: int | Literal["NV"]


class Term(Spoken):
    """One term out of the lexicon."""

    term: str


class Level(Spoken):
    """0 (none at all) to 10 (as much as can be imagined): a 0-10 response scale, in the sense of
    ISO 4121."""

    level: Scale


class Descriptor(Spoken):
    """What it smells, tastes or feels of. `known` is false when the term is not in the lexicon."""

    term: str
    family: str | None = None
    strength: Scale | None = None
    known: bool = True


class Fault(Descriptor):
    """A fault named by the taster: a taster's word, never proof of a concentration."""

    certain: bool = True


class Score(Spoken):
    """Points, and out of how many."""

    points: float
    out_of: float | None = None


class Wine(_Model):
    position: int | None = None
    code: str | None = None
    producer: Text | None = None
    name: Text | None = None
    origin: Text | None = None
    grapes: list[Term] = []
    vintage: Vintage | None = None
    colour: Term | None = None
    style: Term | None = None


class Appearance(_Model):
    clarity: Term | None = None
    depth: Level | None = None
    hue: Term | None = None
    rim: Term | None = None
    bubbles: Text | None = None
    tears: Text | None = None
    deposit: Text | None = None


class Nose(_Model):
    intensity: Level | None = None
    age: Term | None = None
    aromas: list[Descriptor] = []
    absent: list[Descriptor] = []


class Palate(_Model):
    sweetness: Level | None = None
    acidity: Level | None = None
    tannin: Level | None = None
    alcohol: Level | None = None
    body: Level | None = None
    bitterness: Level | None = None
    intensity: Level | None = None
    mousse: Level | None = None
    tannin_texture: list[Descriptor] = []
    texture: list[Descriptor] = []
    balance: Term | None = None
    flavours: list[Descriptor] = []
    absent: list[Descriptor] = []


class Finish(_Model):
    """`seconds` is from the away cue to the gone cue, onset to onset. 0.01 s is its resolution; the
    gone cue is a reaction, about 0.2 s late, and is not corrected."""

    seconds: Annotated[float, Field(ge=0), AfterValidator(finish_seconds)] | None = None
    how: Literal["timed", "stated", "described"] | None = None
    from_s: Seconds | None = None
    to_s: Seconds | None = None
    confidence: Share | None = None
    length: Level | None = None
    flavours: list[Descriptor] = []


class Verdict(_Model):
    quality: Level | None = None
    score: Score | None = None
    readiness: Term | None = None
    drink_from: int | None = None
    drink_to: int | None = None


class TranscriptWord(_Model):
    text: str
    at: Span
    confidence: Share = 1.0
    heard: str | None = None


class TranscriptPhrase(_Model):
    text: str
    at: Span
    stage: Stage
    words: list[TranscriptWord]


class Recording(_Model):
    path: str
    sha256: str
    start_s: Seconds
    end_s: Seconds


class MadeWith(_Model):
    program: str
    model: str
    lexicon: str


class Change(_Model):
    """One change of the note: by voice while it was made (`when` is a place in the recording), by hand, or by
    voice at the review (`when` is a time of day, `said` what was said to the page)."""

    when: str
    field: str
    before: Any = None
    after: Any = None
    by: Literal["voice", "hand"] = "voice"
    said: str = ""

    @property
    def later(self) -> bool:
        """Whether the taster made it of a note that was there already: by hand, or by voice at the review."""
        return self.by == "hand" or _DATED.match(self.when) is not None


def of_list(change: Change) -> bool:
    """Whether a change is a wine list's: by a hand, for the list is somebody's, but told at the second of the
    recording at which the words were said, as changes by voice are; a hand's own has a date."""
    return change.by == "hand" and change.when.endswith(" s into the recording")


class Note(_Model):
    """One tasting note."""

    schema_: Literal["tasting-note/1"] = Field(SCHEMA, alias="schema")
    id: str
    wine: Wine = Wine()
    appearance: Appearance = Appearance()
    nose: Nose = Nose()
    palate: Palate = Palate()
    finish: Finish = Finish()
    faults: list[Fault] = []
    verdict: Verdict = Verdict()
    remarks: list[Text] = []
    asides: list[Text] = []
    transcript: list[TranscriptPhrase] = []
    recording: Recording | None = None
    made_with: MadeWith | None = None
    history: list[Change] = []

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)

    @model_validator(mode="after")
    def _finish_is_whole(self) -> Note:
        finish = self.finish
        if finish.how == "timed" and None in (finish.seconds, finish.from_s, finish.to_s):
            raise ValueError("a timed finish needs seconds, from_s and to_s")
        return self


def stage_of(path: str) -> str:
    """The stage at which a field is spoken of: "identity" of "wine.origin"."""
    section = path.partition(".")[0]
    return _STAGES.get(section, section)


def fields_of(note: Note) -> Iterator[tuple[str, Any]]:
    """Each field of a tasting by its path ("palate.acidity", "faults") and what it holds, None and empty
    lists too; no remarks, no asides."""
    for section in SECTIONS:
        part = getattr(note, section)
        for name in type(part).model_fields:
            yield f"{section}.{name}", getattr(part, name)
    yield "faults", note.faults


def as_document(note: Note) -> dict[str, Any]:
    """The note as plain JSON data, fields that hold nothing left out (but never `transcript`)."""
    data = note.model_dump(mode="json", by_alias=True, exclude_none=True)
    for name, value in data.items():
        if isinstance(value, dict):
            data[name] = {k: v for k, v in value.items() if v != []}
    return {k: v for k, v in data.items() if v not in ({}, []) or k == "transcript"}


def read_note(document: dict[str, Any]) -> Note:
    """A note from JSON data of any schema number known.

    Raises ValueError (pydantic's ValidationError) with the field at fault.
    """
    number = document.get("schema")
    if number != SCHEMA:
        raise ValueError(f"schema {number!r} is not known; this program reads {SCHEMA}")
    return Note.model_validate(document)


def json_schema() -> dict[str, Any]:
    """The JSON Schema of a note, as shipped in `dictate/tasting-note-1.schema.json`."""
    return Note.model_json_schema(by_alias=True, mode="serialization")
