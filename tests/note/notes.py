"""Notes for tests: one full note, and a hypothesis strategy for any note."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from dictate import note as n

TEXTS = st.text(max_size=30)
SECONDS = st.floats(0, 7200, allow_nan=False)
LEVELS = st.floats(0, 10, allow_nan=False)
SHARES = st.floats(0, 1, allow_nan=False)
SOURCES = st.sampled_from(["spoken", "stated later", "corrected", "typed", "listed", "inferred"])
SPANS = st.tuples(SECONDS, SECONDS).map(lambda pair: (min(pair), max(pair)))
SPOKEN: dict[str, Any] = {
    "said": TEXTS,
    "at": st.none() | SPANS,
    "confidence": SHARES,
    "source": SOURCES,
}


def spoken(model: type[Any], **fields: Any) -> st.SearchStrategy[Any]:
    """A value of one of the contract's kinds."""
    return st.builds(model, **SPOKEN, **fields)


def some(kind: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """A list of a few."""
    return st.lists(kind, max_size=2)


TERM = spoken(n.Term, term=TEXTS)
TEXT = spoken(n.Text, text=TEXTS)
LEVEL = spoken(n.Level, level=LEVELS)
_DESCRIPTOR: dict[str, Any] = {
    "term": TEXTS,
    "family": st.none() | TEXTS,
    "strength": st.none() | LEVELS,
    "known": st.booleans(),
}
DESCRIPTOR = spoken(n.Descriptor, **_DESCRIPTOR)
FAULT = spoken(n.Fault, **_DESCRIPTOR, certain=st.booleans())
OF_TYPE = {
    "Term": TERM,
    "Text": TEXT,
    "Level": LEVEL,
    "Descriptor": DESCRIPTOR,
    "Fault": FAULT,
    "Vintage": spoken(n.Vintage, year=st.integers(1700, 2099) | st.just("NV")),
    "Score": spoken(n.Score, points=st.floats(0, 100), out_of=st.none() | st.floats(1, 100)),
    "str": TEXTS,
    "int": st.integers(0, 3000),
}


def part(model: type[Any]) -> st.SearchStrategy[Any]:
    """A wine, an appearance, a nose ...: each field empty or filled, by its declared type."""
    fields = {}
    for name, info in model.model_fields.items():
        written = str(info.annotation)  # "list[dictate.note.Term]", "dictate.note.Level | None", "int | None"
        base = written.removeprefix("list[").removesuffix("]").removesuffix(" | None")
        kind = base.rpartition(".")[2]
        fields[name] = some(OF_TYPE[kind]) if written.startswith("list") else st.none() | OF_TYPE[kind]
    return st.builds(model, **fields)


TIMED = st.builds(
    n.Finish,
    seconds=SECONDS,
    how=st.just("timed"),
    from_s=SECONDS,
    to_s=SECONDS,
    confidence=SHARES,
    length=st.none() | LEVEL,
    flavours=some(DESCRIPTOR),
)
DESCRIBED = st.builds(n.Finish, how=st.none() | st.just("described"), length=st.none() | LEVEL)
PHRASE = st.builds(
    n.TranscriptPhrase,
    text=TEXTS,
    at=SPANS,
    stage=st.sampled_from(["identity", "nose", "palate", "cue", "aside"]),
    words=some(st.builds(n.TranscriptWord, text=TEXTS, at=SPANS, confidence=SHARES, heard=st.none() | TEXTS)),
)
NOTE = st.builds(
    n.Note,
    id=TEXTS,
    wine=part(n.Wine),
    appearance=part(n.Appearance),
    nose=part(n.Nose),
    palate=part(n.Palate),
    finish=TIMED | DESCRIBED,
    verdict=part(n.Verdict),
    faults=some(FAULT),
    remarks=some(TEXT),
    asides=some(TEXT),
    transcript=some(PHRASE),
    recording=st.none() | st.builds(n.Recording, path=TEXTS, sha256=TEXTS, start_s=SECONDS, end_s=SECONDS),
    made_with=st.none() | st.builds(n.MadeWith, program=TEXTS, model=TEXTS, lexicon=TEXTS),
    history=some(
        st.builds(
            n.Change,
            when=TEXTS,
            field=TEXTS,
            before=st.none() | TEXTS | LEVELS,
            after=st.none() | TEXTS,
            by=st.sampled_from(["voice", "hand"]),
            said=TEXTS,
        )
    ),
)


def full_note() -> n.Note:
    """A note with a value in most fields, as a taster might have given it."""
    return n.Note(
        id="test-1",
        wine=n.Wine(
            position=4,
            code="741",
            producer=n.Text(text="copper ladle"),
            origin=n.Text(text="margaret river"),
            grapes=[n.Term(term="chardonnay")],
            vintage=n.Vintage(year=2020),
            colour=n.Term(term="white"),
        ),
        appearance=n.Appearance(
            clarity=n.Term(term="clear"), depth=n.Level(level=5, said="medium"), hue=n.Term(term="gold")
        ),
        nose=n.Nose(
            aromas=[n.Descriptor(term="peach"), n.Descriptor(term="vanilla")],
            absent=[n.Descriptor(term="butter")],
        ),
        palate=n.Palate(
            sweetness=n.Level(level=0.5, said="dry"),
            acidity=n.Level(level=5, said="medium acidity"),
            body=n.Level(level=8, said="full"),
        ),
        finish=n.Finish(seconds=13.4213, how="timed", from_s=1.0, to_s=14.4213),
        verdict=n.Verdict(quality=n.Level(level=8, said="very good"), drink_to=2031),
        faults=[n.Fault(term="volatile acidity", certain=False)],
        remarks=[n.Text(text="one for the list")],
    )
