"""Doubts: every value of a note has a chance and a reason, what a hand settled has none; and what was not
read is pointed at."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictate.doubt import EVIDENCE, KINDS, Doubt, doubt_table, doubts_of, evidence_of, held_values, unread_of
from dictate.doubt.table import DoubtTableError
from dictate.doubt.unread import UNREAD_EVIDENCE
from dictate.form import by_hand
from dictate.form.layout import SECTIONS, path_of, with_values
from dictate.lexicon import load_table
from dictate.note import Change, Note
from dictate.pipeline import doubts_in, routine_chance, unread_in
from tests.note.notes import NOTE

REAL = doubt_table(load_table("doubt"))
# a table in which each piece of evidence speaks against a value, and alike
PLAIN: dict[str, Any] = {
    "routine": 0.9, "bias": 4.0,
    "weights": dict.fromkeys(EVIDENCE, -1.0), "usual": dict.fromkeys(EVIDENCE, 0.0),
    "kind": dict.fromkeys(KINDS, 0.0), "given": {"listed": 0.95, "typed": 0.99},
    "unread": {"bias": -4.0, "shown": 0.5, **dict.fromkeys(UNREAD_EVIDENCE, 0.0), "phrase": 1.6},
}  # fmt: skip
TABLE = doubt_table(PLAIN)


def phrase(stage: str, *words: str | tuple[str, float] | tuple[str, float, str], at: float = 0.0) -> Any:
    """A phrase whose words last a second; a word with its confidence and what was heard for it."""
    told = [(word, 1.0) if isinstance(word, str) else word for word in words]
    made = [
        {"text": one[0], "at": [at + n, at + n + 1], "confidence": one[1], "heard": (*one, None)[2]}
        for n, one in enumerate(told)
    ]
    return {
        "text": " ".join(one[0] for one in told), "at": [at, at + len(made)], "stage": stage, "words": made,
    }  # fmt: skip


def note(transcript: list[Any], **fields: Any) -> Note:
    return Note.model_validate({"id": "x", "transcript": transcript, **fields})


def smelt(term: str, first: int, last: int, **more: Any) -> dict[str, Any]:
    return {"term": term, "said": term, "at": [first, last], **more}


def doubts(made: Note) -> dict[str, Doubt]:
    return {each.field: each for each in doubts_of(made, TABLE)}


SAID = [phrase("nose", "lime", "and", "jasmine")]
TWO = {"aromas": [smelt("lime", 0, 1), smelt("jasmine", 2, 3)]}
# what speaks against a value: transcript, fields, its path, the reason
AGAINST: list[tuple[list[Any], dict[str, Any], str, str]] = [
    ([phrase("nose", ("lime", 0.4), "peel")], {"nose": {"aromas": [smelt("lime", 0, 1)]}}, "nose.aromas[0]",
     "heard unsurely"),
    ([phrase("palate", ("saline", 1.0, "sailing"))], {"palate": {"flavours": [smelt("saline", 0, 1)]}},
     "palate.flavours[0]", "put right from “sailing”"),
    ([phrase("nose", "maybe", "lime")], {"nose": {"aromas": [smelt("lime", 1, 2)]}}, "nose.aromas[0]",
     "said with a doubt"),
    (SAID, {"wine": {"colour": {"term": "white", "said": "lime", "source": "inferred"}}}, "wine.colour",
     "inferred"),
    (SAID, {"nose": {"aromas": [smelt("lime", 0, 1, source="stated later")]}}, "nose.aromas[0]",
     "put right while talking"),
    ([phrase("nose", "jumper")], {"nose": {"aromas": [smelt("jumper", 0, 1, known=False)]}},
     "nose.aromas[0]", "not a word that is known"),
    ([phrase("nose", "crushed", "jasmine")], {"nose": {"aromas": [smelt("flowers", 0, 2)]}},
     "nose.aromas[0]", "not said plainly"),
    ([phrase("verdict", "drink", "2030")],
     {"verdict": {"drink_from": 2030, "drink_to": 2020}}, "verdict.drink_from", "unlike the rest"),
    ([phrase("cue", ("gone", 1.0), at=9)],
     {"finish": {"how": "timed", "seconds": 9, "from_s": 0, "to_s": 9, "confidence": 0.3}},
     "finish.seconds", "heard unsurely"),
]  # fmt: skip


@pytest.mark.parametrize(("transcript", "fields", "path", "reason"), AGAINST, ids=lambda x: str(x)[:40])
def test_what_speaks_against_a_value_is_its_reason(
    transcript: list[Any], fields: dict[str, Any], path: str, reason: str
) -> None:
    found = doubts(note(transcript, **fields))[path]
    assert found.reason == reason
    plain = doubts(note([phrase("nose", "jasmine")], nose={"aromas": [smelt("jasmine", 0, 1)]}))
    assert found.right < plain["nose.aromas[0]"].right


def test_what_was_heard_plainly_has_no_reason_against_it() -> None:
    told = {"nose": {"aromas": [smelt("jasmine", 2, 3)]}, "palate": {"flavours": [smelt("jasmine", 2, 3)]}}
    (one, _) = doubts_of(note(SAID, **told), TABLE)
    assert one.reason == "heard plainly"
    assert one.right > 0.95


def test_numbers_without_words_of_their_own_find_them_in_the_transcript() -> None:
    said = [phrase("identity", "number", ("four", 0.2)), phrase("verdict", "from", "2030", at=5)]
    made = note(said, wine={"position": 4}, verdict={"drink_from": 2030, "drink_to": 2040})
    words = {held.path: " ".join(w.text for w in held.words) for held in held_values(made)}
    assert words == {"wine.position": "four", "verdict.drink_from": "2030", "verdict.drink_to": ""}
    assert doubts(made)["wine.position"].reason == "heard unsurely"
    unsaid = note([phrase("verdict", "from", "2030")], verdict={"drink_to": 2040})
    assert doubts(unsaid)["verdict.drink_to"].reason == "not said plainly"


def test_a_name_is_doubted_because_it_is_one() -> None:
    named = {"producer": {"text": "Quillbank", "said": "Quillbank", "at": [0, 1]}}
    made = note([phrase("identity", "Quillbank", "Quillbank")], wine=named)
    table = doubt_table({**PLAIN, "kind": {**PLAIN["kind"], "name": -2.5}})
    (one,) = doubts_of(made, table)
    assert (one.field, one.reason) == ("wine.producer", "names are often misheard")
    assert doubts(made)["wine.producer"].right > one.right


def test_a_wine_list_is_not_doubted_for_its_sound() -> None:
    listed = {"producer": {"text": "Heron", "source": "listed"}, "name": {"text": "Rake", "source": "typed"}}
    found = doubts(note(SAID, wine=listed))
    assert (found["wine.producer"].right, found["wine.producer"].reason) == (0.95, "from the wine list")
    assert (found["wine.name"].right, found["wine.name"].reason) == (0.99, "typed")


def test_what_a_hand_put_right_is_not_doubtful_and_the_rest_is() -> None:
    before = note(SAID, nose=TWO, palate={"acidity": {"level": 5, "said": "lime", "at": [0, 1]}})
    first = before.nose.aromas[0].model_copy(update={"term": "lemon", "source": "corrected"})
    values = {"nose.aromas": [first, before.nose.aromas[1]]}
    after = by_hand(before, with_values(before, values), when="2026-11-28T08:00:00+00:00")
    assert set(doubts(after)) == {"nose.aromas[1]", "palate.acidity"}


@pytest.mark.parametrize(
    ("accepted", "left"),
    [
        ({"field": "nose.aromas", "before": "lime", "after": "lime"}, {"nose.aromas[1]", "palate.acidity"}),
        ({"field": "nose.aromas[1]", "before": "jasmine", "after": "jasmine"},
         {"nose.aromas[0]", "palate.acidity"}),
        ({"field": "nose.aromas[1]"}, {"nose.aromas[0]", "palate.acidity"}),
        ({"field": "nose.aromas", "before": "jasmine", "after": "jasmine (6)"},
         {"nose.aromas[0]", "palate.acidity"}),
        ({"field": "palate.acidity", "before": 5, "after": 5}, {"nose.aromas[0]", "nose.aromas[1]"}),
        ({"field": "palate.acidity", "before": 5, "after": 5, "by": "voice"},
         {"nose.aromas[0]", "nose.aromas[1]", "palate.acidity"}),
        ({"field": "nose.aromas", "before": "rose", "after": None},
         {"nose.aromas[0]", "nose.aromas[1]", "palate.acidity"}),
    ],
)  # fmt: skip
def test_what_a_hand_accepted_is_not_doubtful(accepted: dict[str, Any], left: set[str]) -> None:
    change = Change(**{"when": "now", "by": "hand", **accepted})
    acidity = {"level": 5, "said": "lime", "at": [0, 1]}
    made = note(SAID, nose=TWO, palate={"acidity": acidity}, history=[change.model_dump()])
    assert set(doubts(made)) == left


def all_paths(made: Note) -> set[str]:
    """Every value of a note by the layout of its text form, which knows all fields."""
    data = made.model_dump(mode="json", by_alias=True)
    found = set()
    for section, fields in SECTIONS.items():
        for name in fields:
            path = path_of(section, name)
            if section in ("remarks", "asides") or path == "finish.how":
                continue
            value = data[section] if "." not in path else data[section][name]
            if isinstance(value, list):
                found |= {f"{path}[{n}]" for n in range(len(value))}
            elif value is not None:
                found.add(path)
    return found


@settings(max_examples=100)
@given(NOTE)
def test_any_note_gives_chances_for_its_own_values_in_order(made: Note) -> None:
    found = doubts_of(made, REAL)
    assert {held.path for held in held_values(made)} == all_paths(made)
    assert {d.field for d in found} <= all_paths(made)
    assert len({d.field for d in found}) == len(found)
    assert all(0 <= d.right <= 1 and d.reason for d in found)
    assert [d.right for d in found] == sorted(d.right for d in found)
    assert all(0 <= each.chance <= 1 for each in unread_of(made, REAL))


@settings(max_examples=50)
@given(st.floats(0.02, 0.98), st.floats(0.02, 0.98), st.sampled_from(["nose.aromas", "palate.flavours"]))
def test_the_less_sure_the_recogniser_the_less_right_the_value(one: float, other: float, path: str) -> None:
    section, name = path.split(".")

    def right(confidence: float) -> float:
        said = [phrase(section, ("jasmine", confidence))]
        value = smelt("jasmine", 0, 1, confidence=confidence)
        (found,) = doubts_of(note(said, **{section: {name: [value]}}), REAL)
        return found.right

    assert (right(one) <= right(other)) == (one <= other) or abs(one - other) < 0.002


def test_the_fitted_table_tells_a_guess_from_a_sure_word() -> None:
    made = note([phrase("nose", ("lime", 0.1), ("and", 0.2), "jasmine")], nose=TWO)
    first, second = doubts_in(made)
    assert (first.field, second.field) == ("nose.aromas[0]", "nose.aromas[1]")
    assert first.right < routine_chance()
    clear = note([phrase("palate", "high", "acidity")],
                 palate={"acidity": {"level": 8, "said": "high acidity", "at": [0, 2]}})  # fmt: skip
    assert doubts_in(clear)[0].right > routine_chance()


def test_words_heard_unsurely_that_fed_no_field_are_pointed_at() -> None:
    unsure = phrase("palate", ("sailing", 0.05), ("on", 0.7), ("it", 0.9))
    sure = phrase("palate", "lovely", "thing", "that", at=5)
    aside = phrase("aside", ("shut", 0.02), "the", "door", at=10)
    remarks = [{"text": p["text"], "said": p["text"], "at": p["at"]} for p in (unsure, sure)]
    made = note([unsure, sure, aside], remarks=remarks)
    (found,) = unread_of(made, TABLE)
    assert (found.text, found.at) == ("sailing on it", (0, 3))
    assert [each.text for each in unread_in(made)][:1] in ([], ["sailing on it"])
    fed = note([unsure], palate={"flavours": [smelt("saline", 0, 1)]})
    assert unread_of(fed, TABLE) == ()


@pytest.mark.parametrize("key", ["routine", "bias", "weights", "kind", "usual", "given", "unread"])
def test_a_table_without_one_of_its_keys_is_refused_by_name(key: str) -> None:
    with pytest.raises(DoubtTableError, match=key):
        doubt_table({name: value for name, value in PLAIN.items() if name != key})
    with pytest.raises(DoubtTableError, match=r"doubt\.toml"):
        doubt_table({**PLAIN, "given": 3})


def test_each_piece_of_evidence_is_weighed() -> None:
    (one,) = evidence_of(note(SAID, nose={"aromas": [smelt("lime", 0, 1)]}))
    assert len(one.features) == len(REAL.weights) == len(EVIDENCE) + len(KINDS)
