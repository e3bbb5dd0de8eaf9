"""What is said to the page: each rule acts on its examples and not on its counter examples; any text is a
command, a correction or nothing."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dictate import note as n
from dictate.form import Add, Amend, Amendment, Move, Put, Remove, Vocabulary, amended
from dictate.lexicon import load_table
from dictate.note import Note, read_note
from dictate.pipeline import remark_in
from dictate.recognise.recogniser import HeardStretch
from dictate.review.corrected import IN_PASSING, NOT_THERE, SAYS_SO, Correction, Nothing
from dictate.review.doubts import doubtful
from dictate.review.sayings import plain, saying
from dictate.review.sheet import Value, sheet_of
from dictate.review.spoken import (
    NOT_UNDERSTOOD,
    OFF_RECORD,
    Command,
    SpokenTableError,
    Understood,
    command_in,
    spoken_table,
    understood,
)
from dictate.settings import Settings
from dictate.values import Word
from tests.review.made import made

DATA = load_table("review")
TABLE = spoken_table(DATA)
AROMAS = [
    n.Descriptor(term="cedar", said="cedar", at=(5.0, 5.3), family="woods and resins"),
    n.Descriptor(term="sailing", said="sailing", at=(5.3, 5.6), confidence=0.2, known=False),
    n.Descriptor(term="violet", said="violets", at=(5.6, 5.9)),
]
NOTE = made(
    wine=n.Wine(producer=n.Text(text="Tin Wistle"), grapes=[n.Term(term="merlot", said="merlot")]),
    appearance=n.Appearance(hue=n.Term(term="garnet")),
    nose=n.Nose(aromas=AROMAS),
    verdict=n.Verdict(readiness=n.Term(term="ready")),
)


@lru_cache(maxsize=1)
def vocabulary() -> Vocabulary:
    from dictate.vocabulary import vocabulary_of

    return vocabulary_of()


def values_of(note: Note) -> list[Value]:
    sheet = sheet_of(note, doubtful(note))
    return [v for section in sheet.sections for line in section.lines for v in line.values]


def heard(text: str) -> HeardStretch:
    words = enumerate(text.split())
    return HeardStretch(tuple(Word(w, i * 0.3, i * 0.3 + 0.28, 0.9) for i, w in words))


def said(text: str, *, key: str = "palate.acidity", note: Note = NOTE) -> Understood:
    """What is understood where the value of this key is looked at."""
    return understood_of(heard(text), key=key, note=note)


def understood_of(words: HeardStretch, *, key: str, note: Note = NOTE) -> Understood:
    """The same of words as an ear gives them."""
    values = values_of(note)
    return understood(
        words,
        note,
        values=values,
        looked=next((v for v in values if v.key == key), None),
        table=TABLE,
        read=lambda words, before: remark_in(words, before=before, settings=Settings()),
        known=vocabulary(),
    )


def changes(text: str, *, key: str = "palate.acidity", note: Note = NOTE) -> tuple[Amendment, ...]:
    found = said(text, key=key, note=note)
    assert isinstance(found, Correction), found
    return found.changes


def cases(part: str) -> list[Any]:
    return [
        pytest.param(rule["do"], text, id=f"{rule['do']}: {text}")
        for rule in DATA["commands"]
        for text in rule[part]
    ]


@pytest.mark.parametrize(("do", "text"), cases("example"))
def test_a_command_is_its_examples(do: str, text: str) -> None:
    found = command_in(text, TABLE, values=values_of(NOTE))
    assert found is not None
    assert found.do == do


@pytest.mark.parametrize(("do", "text"), cases("counter"))
def test_a_command_is_not_its_counter_examples(do: str, text: str) -> None:
    found = command_in(text, TABLE, values=values_of(NOTE))
    assert found is None or found.do != do


@pytest.mark.parametrize("way", DATA["ways"], ids=lambda way: way["means"])
def test_another_way_to_say_it_is_its_examples_alone(way: dict[str, Any]) -> None:
    found = saying(way["phrases"])
    assert all(list(found.found(text)) for text in way["example"])
    assert not any(list(found.found(text)) for text in way["counter"])


@pytest.mark.parametrize("text", DATA["answers"]["example"])
def test_an_answer_is_of_the_value_looked_at(text: str) -> None:
    (change,) = changes(text)
    assert isinstance(change, Put)
    assert change.path == "palate.acidity"


@pytest.mark.parametrize("text", DATA["answers"]["counter"])
def test_what_is_no_answer_changes_nothing(text: str) -> None:
    assert isinstance(said(text), Nothing)


@pytest.mark.parametrize(
    "path", [p for p in DATA["says"] if p.split(".")[0] in ("palate", "nose", "appearance")]
)
def test_a_bare_level_is_of_the_field_looked_at(path: str) -> None:
    """Each way to name a field is read as that field, at the bench and here."""
    if path in ("appearance.hue", "appearance.clarity", "nose.age", "palate.balance"):
        text = {"appearance.hue": "ruby", "appearance.clarity": "hazy", "nose.age": "developed"}.get(
            path, "balanced"
        )
    else:
        text = "medium"
    section, _, name = path.partition(".")
    whole = {"nose": n.Nose, "palate": n.Palate, "appearance": n.Appearance}[section]
    held: Any = n.Level(level=1) if text == "medium" else n.Term(term="x")
    note = made(**{section: whole(**{name: held})}, transcript=[])
    (change,) = changes(text, key=path, note=note)
    assert isinstance(change, Put)
    assert change.path == path


MISSING = Nothing(NOT_UNDERSTOOD)
CORRECTIONS: list[tuple[str, str, list[Amendment] | Understood]] = [
    # what is said, the value looked at, what is to be changed
    ("acidity is high", "", [Put("palate.acidity", "8")]),
    ("acidity is high", "nose.aromas.0", [Put("palate.acidity", "8")]),
    ("Acidity is medium.", "", Nothing(SAYS_SO)),
    ("no, make the acidity high", "nose.aromas.1", [Put("palate.acidity", "8")]),
    ("set the acidity to seven and a half", "", [Put("palate.acidity", "7.5")]),
    ("acidity should be high", "", Nothing("said as something expected, not found")),
    ("no, high", "palate.acidity", [Put("palate.acidity", "8")]),
    ("eight and a half", "palate.acidity", [Put("palate.acidity", "8.5")]),
    ("scrap the acidity", "", [Put("palate.acidity", "")]),
    ("scrap the violets", "", [Remove("nose.aromas", 2)]),
    ("scrap the violets", "palate.acidity", [Remove("nose.aromas", 2)]),
    ("scrap the roses", "", Nothing("there is no “roses” in this note")),
    ("there's no violets", "palate.acidity", [Remove("nose.aromas", 2), Add("nose.absent", "violet")]),
    ("change the violets to roses", "", [Amend("nose.aromas", 2, "rose")]),
    ("make the violets roses", "palate.acidity", [Amend("nose.aromas", 2, "rose")]),
    ("change the violence to roses", "palate.acidity", Nothing(NOT_THERE)),
    ("It's a zero.", "palate.acidity", MISSING),  # "it's a Syrah", misheard
    ("move the violets to the palate", "", [Move("nose.aromas", 2, "palate.flavours")]),
    ("add tobacco to the nose", "", [Add("nose.aromas", "tobacco")]),
    ("add tobacco to the nose", "palate.acidity", [Add("nose.aromas", "tobacco")]),
    ("smells of tobacco", "nose.aromas.1", [Add("nose.aromas", "tobacco")]),
    ("that's sailing", "nose.aromas.1", MISSING),  # misheard again
    ("tobacco", "nose.aromas.1", [Add("nose.aromas", "tobacco")]),  # nothing like "sailing"
    ("saline", "nose.aromas.1", [Amend("nose.aromas", 1, "saline")]),
    ("that's saline", "nose.aromas.1", [Amend("nose.aromas", 1, "saline")]),
    ("saline", "nose.aromas.0", [Add("nose.aromas", "saline")]),  # "cedar" stands in no doubt
    ("no, tobacco", "nose.aromas.0", [Amend("nose.aromas", 0, "tobacco")]),
    ("the cedar is strong", "palate.acidity", [Amend("nose.aromas", 0, "cedar", 8.0)]),
    ("it smells of cedar", "", Nothing(SAYS_SO)),
    ("it's a Syrah", "", [Amend("wine.grapes", 0, "syrah")]),
    ("it's a Syrah", "palate.acidity", [Amend("wine.grapes", 0, "syrah")]),
    ("add Syrah", "", [Add("wine.grapes", "syrah")]),
    ("it's ruby", "palate.acidity", [Put("appearance.hue", "ruby")]),  # at the bench the first would hold
    ("the vintage is 2019", "", [Put("wine.vintage", "2019")]),
    ("the producer is Tin Whistle", "", [Put("wine.producer", "Tin Whistle")]),
    ("no, Tin Whistle", "wine.producer", [Put("wine.producer", "Tin Whistle")]),
    ("the finish was twelve seconds", "", [Put("finish.seconds", "12")]),
    ("seventeen and a half out of twenty", "", [Put("verdict.score", "17.5 of 20")]),
    ("corked perhaps", "", [Add("faults", "cork taint", None, False)]),
    ("acidity is high and the body is full", "", [Put("palate.acidity", "8"), Put("palate.body", "8")]),
    # said to somebody, not to the note
    ("It's spitting with rain outside.", "palate.acidity", MISSING),
    ("high time we left", "palate.acidity", MISSING),
    ("eight of us are here", "palate.acidity", MISSING),
    ("medium rare please", "palate.acidity", MISSING),
    ("All gone to tobacco and leather now.", "", Nothing(IN_PASSING)),
    ("I keep a record of every bottle.", "", Nothing(IN_PASSING)),
    ("All gone into the blend, that old Grenache.", "", Nothing(IN_PASSING)),
    ("Next wine we did was a Chenin.", "", Nothing(IN_PASSING)),
    ("Still, there is charm in it.", "", MISSING),
    # what is denied, remembered, expected, of another wine or no statement at all is no value
    ("the acidity is not high", "", Nothing("said as something that is not so")),
    ("it had tobacco last year", "", Nothing("said of another time")),
    ("the last wine had tobacco", "", Nothing("said of another wine")),
    ("I would have said tobacco", "", Nothing("said as something expected, not found")),
    ("did you bring the tobacco", "", MISSING),
    ("could you pass the water please", "palate.acidity", MISSING),
    ("thank you", "palate.acidity", MISSING),
    ("number four", "palate.acidity", MISSING),
    ("spitting now", "finish.seconds", MISSING),
    ("<script>alert(1)</script>", "palate.acidity", MISSING),
    ("...", "", Nothing("nothing was heard")),
    ("Off the record. This one smells of tobacco.", "", Nothing(OFF_RECORD)),
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "key", "wanted"), CORRECTIONS, ids=[f"{t} [{k}]" for t, k, _ in CORRECTIONS]
)
def test_a_correction_is_the_changes_it_asks_for(
    text: str, key: str, wanted: list[Amendment] | Understood
) -> None:
    found = said(text, key=key)
    assert (list(found.changes) if isinstance(found, Correction) else found) == wanted


def test_what_a_hand_changed_stays_where_other_words_are_said() -> None:
    hand = amended(NOTE, Put("palate.acidity", "2"), known=vocabulary(), when="2026-11-28T10:00:00+00:00")
    assert changes("scrap the violets", note=hand) == (Remove("nose.aromas", 2),)
    assert changes("acidity is medium", note=hand) == (Put("palate.acidity", "5"),)


def test_a_value_is_named_by_what_it_is_or_by_itself() -> None:
    values = values_of(NOTE)
    named = {"the acidity": "palate.acidity", "the cedar": "nose.aromas.0", "the violets": "nose.aromas.2"}
    for name, key in named.items():
        assert command_in(f"accept {name}", TABLE, values=values) == Command("accept", key)
    assert command_in("accept the tannin", TABLE, values=values) is None  # there is none in the note
    assert command_in("accept", TABLE, values=values) == Command("accept")


texts = st.one_of(
    st.text(max_size=60),
    st.lists(
        st.sampled_from(
            "accept all next undo that play scrap the acidity is high no make it not violets saline cedar add"
            " to nose palate Syrah it's 2019 seven of twenty was last year , . ? off record strike spitting"
            " now <b> '; DROP -- =1+1 ../..".split(" ")
        ),
        max_size=9,
    ).map(" ".join),
)  # fmt: skip


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(texts, st.sampled_from(["", *(v.key for v in values_of(NOTE))]))
def test_any_text_is_a_command_a_correction_or_nothing(text: str, key: str) -> None:
    found = said(text, key=key)
    assert isinstance(found, Command | Correction | Nothing)
    if isinstance(found, Nothing):
        assert found.why
        assert "\n" not in found.why
    if isinstance(found, Correction):
        note = NOTE
        for change in found.changes:
            note = amended(note, change, known=vocabulary(), when="2026-11-28T10:00:00+00:00")
        assert found.changes
        assert read_note(note.model_dump(mode="json", by_alias=True)) == note
        assert len(note.history) > len(NOTE.history)


@given(st.text(max_size=40))
def test_plain_words_stay_as_they_are(text: str) -> None:
    assert plain(plain(text)) == plain(text)
    assert command_in(text, TABLE) == command_in(plain(text), TABLE)


@pytest.mark.parametrize(
    "broken",
    [
        {},
        {**DATA, "commands": [{"do": "dance", "phrases": ["dance"]}]},
        {**DATA, "commands": [{"do": "accept", "phrases": "accept"}]},
        {**DATA, "ways": 3},
        {**DATA, "answers": {"leads": []}},
    ],
)
def test_a_table_that_cannot_be_used_is_told(broken: dict[str, Any]) -> None:
    with pytest.raises(SpokenTableError, match=r"review\.toml"):
        spoken_table(broken)
