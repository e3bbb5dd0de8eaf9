"""Readings folded into a draft: lists, values, corrections, and what the history tells."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.assemble.draft import FIRST_HOLDS, Draft
from dictate.language.tokens import fold
from dictate.note import ABSENT_IN, Fault
from dictate.values import Phrase, Reading
from tests import build


def folded(*readings: Reading) -> Draft:
    """Each reading is of a phrase of its own, three words long."""
    draft = Draft([build.phrase("one two three", at=2.0 * i) for i in range(len(readings))])
    for reading in readings:
        draft.fold(reading)
    return draft


def read(field: str, value: str | float, phrase: int = 0, **more: Any) -> Reading:
    return build.reading(field, value, phrase=phrase, last=more.pop("last", 2), **more)


def listed(draft: Draft, path: str) -> list[str]:
    return [d.term for d in draft.lists.get(path, {}).values()]


def told(draft: Draft) -> list[tuple[str, Any, Any]]:
    return [(c.field, c.before, c.after) for c in draft.history()]


def test_a_value_says_what_was_said_and_where() -> None:
    draft = folded(read("palate.acidity", 8.0, first=1, last=3, confidence=0.7))
    level = draft.values["palate.acidity"]
    assert (level.level, level.said, level.confidence, level.source) == (8.0, "two three", 0.7, "spoken")
    assert level.at == pytest.approx((0.3, 0.9))


@pytest.mark.parametrize(
    ("field", "value", "plain"),
    [
        ("wine.position", 4.0, 4),
        ("wine.code", "b7", "b7"),
        ("finish.seconds", 12, 12.0),
        ("verdict.drink_to", 2031.0, 2031),
    ],
)
def test_plain_values(field: str, value: float | str, plain: Any) -> None:
    assert folded(read(field, value)).values[field] == plain


@pytest.mark.parametrize(
    ("field", "value", "name"),
    [
        ("wine.vintage", "NV", "year"),
        ("wine.vintage", 2018, "year"),
        ("verdict.score", 91.0, "points"),
        ("wine.producer", "copper ladle", "text"),
        ("wine.name", "the long row", "text"),
        ("appearance.tears", "slow", "text"),
        ("appearance.clarity", "hazy", "term"),
        ("palate.body", 5.0, "level"),
    ],
)
def test_kinds_of_values(field: str, value: float | str, name: str) -> None:
    assert getattr(folded(read(field, value)).values[field], name) == value


@pytest.mark.parametrize(
    "scope", ["denied", "expected", "past", "future", "other", "doubtful", "quoted", "figurative"]
)
@pytest.mark.parametrize(
    "field", ["nose.aromas", "palate.flavours", "faults", "wine.grapes", "appearance.hue"]
)
def test_what_was_not_said_of_this_wine_is_no_value(scope: str, field: str) -> None:
    draft = folded(read(field, "plum", scope=scope))
    assert field not in draft.values
    assert listed(draft, field) == []
    absent = listed(draft, ABSENT_IN.get(field, ""))
    assert absent == (["plum"] if scope == "denied" and field in ABSENT_IN else [])
    assert draft.fed == ({0} if absent else set())


def test_a_word_denied_of_the_palate_is_absent() -> None:
    draft = folded(read("palate.body", 8.0, scope="denied", last=1))
    assert listed(draft, "palate.absent") == ["one"]
    assert listed(folded(read("palate.body", 8.0, scope="denied", last=3)), "palate.absent") == []
    assert listed(folded(read("palate.body", 8.0, scope="denied", rule="self-repair")), "palate.absent") == []
    assert listed(folded(read("nose.intensity", 8.0, scope="denied")), "palate.absent") == []


def test_a_thing_said_twice_is_listed_once_and_feeds_twice() -> None:
    draft = folded(read("nose.aromas", "Plum", strength=7.0), read("nose.aromas", "plum", 1, strength=2.0))
    assert listed(draft, "nose.aromas") == ["Plum"]
    assert draft.lists["nose.aromas"]["plum"].strength == 7.0
    assert draft.fed == {0, 1}
    assert told(draft) == []


def test_said_behind_denied_and_denied_behind_said() -> None:
    draft = folded(read("nose.aromas", "oak", scope="denied"), read("nose.aromas", "oak", 1))
    assert (listed(draft, "nose.aromas"), listed(draft, "nose.absent")) == (["oak"], [])
    assert told(draft) == [("nose.absent", "oak", None)]
    draft = folded(read("nose.aromas", "oak"), read("nose.aromas", "oak", 1, scope="denied"))
    assert (listed(draft, "nose.aromas"), listed(draft, "nose.absent")) == ([], ["oak"])
    assert told(draft) == [("nose.aromas", "oak", None)]


def test_a_self_repair_takes_back_without_denying() -> None:
    draft = folded(
        read("nose.aromas", "plum"), read("nose.aromas", "plum", 1, scope="denied", rule="self-repair")
    )
    assert (listed(draft, "nose.aromas"), listed(draft, "nose.absent")) == ([], [])
    assert told(draft) == [("nose.aromas", "plum", None)]


def test_a_fault_keeps_its_doubt_and_an_absent_one_is_no_fault() -> None:
    (fault,) = folded(read("faults", "cork taint", certain=False)).lists["faults"].values()
    assert isinstance(fault, Fault)
    assert not fault.certain
    (absent,) = folded(read("faults", "cork taint", scope="denied")).lists["nose.absent"].values()
    assert not isinstance(absent, Fault)


@pytest.mark.parametrize(
    "field", sorted(FIRST_HOLDS - {"wine.position", "verdict.drink_from", "wine.vintage"})
)
def test_where_the_first_holds_a_second_is_a_remark(field: str) -> None:
    draft = folded(read(field, "first"), read(field, "second", 1))
    assert "first" in repr(draft.values[field])
    assert draft.fed == {0}
    assert told(draft) == []
    assert folded(read(field, "first"), read(field, "first", 1)).fed == {0, 1}


def test_elsewhere_the_last_holds_and_the_history_tells() -> None:
    draft = folded(read("palate.acidity", 5.0), read("palate.acidity", 8.0, 1))
    assert draft.values["palate.acidity"].level == 8.0
    assert told(draft) == [("palate.acidity", 5.0, 8.0)]


@pytest.mark.parametrize(
    "readings",
    [
        (read("palate.acidity", 8.0), read("palate.acidity", 8.0, 1)),
        (read("palate.acidity", 5.0), read("palate.acidity", 8.0, 0)),
        (read("palate.acidity", 5.0), read("palate.tannin", 8.0, 1)),
        (read("palate.acidity", 5.0, corrects=True),),
    ],
    ids=["the same", "one phrase", "another field", "nothing before"],
)
def test_no_change_no_history(readings: tuple[Reading, ...]) -> None:
    assert told(folded(*readings)) == []


LENGTHS: list[tuple[str, list[tuple[float, int]], list[tuple[float, float]]]] = [
    ("said again, then otherwise", [(2.0, 0), (2.0, 1), (7.0, 1)], [(2.0, 7.0)]),
    ("in two steps", [(2.0, 0), (7.0, 1), (8.0, 1)], [(2.0, 8.0)]),
    ("there and back", [(2.0, 0), (7.0, 1), (2.0, 1)], []),
    ("there and back and away", [(2.0, 0), (7.0, 1), (2.0, 1), (5.0, 1)], [(2.0, 5.0)]),
    ("twice", [(2.0, 0), (7.0, 1), (8.0, 1), (5.0, 2)], [(2.0, 8.0), (8.0, 5.0)]),
    ("back in a later phrase", [(2.0, 0), (7.0, 1), (2.0, 2)], [(2.0, 7.0), (7.0, 2.0)]),
    ("within one phrase", [(2.0, 0), (7.0, 0), (8.0, 0)], []),
]


@pytest.mark.parametrize(("said", "history"), [c[1:] for c in LENGTHS], ids=[c[0] for c in LENGTHS])
def test_a_phrase_changes_a_value_once_from_what_held_before_it(
    said: list[tuple[float, int]], history: list[tuple[float, float]]
) -> None:
    draft = folded(*(read("finish.length", level, phrase) for level, phrase in said))
    assert told(draft) == [("finish.length", before, after) for before, after in history]
    assert draft.values["finish.length"].level == said[-1][0]


def test_a_correction_within_a_phrase_is_told_as_well() -> None:
    draft = folded(
        read("finish.length", 2.0),
        read("finish.length", 7.0, corrects=True),
        read("finish.length", 5.0, corrects=True),
    )
    assert told(draft) == [("finish.length", 2.0, 7.0), ("finish.length", 7.0, 5.0)]


@pytest.mark.parametrize(
    ("again", "history"),
    [
        (1, [("appearance.hue", "ruby", "garnet")]),
        (2, [("appearance.hue", "ruby", None), ("appearance.hue", None, "garnet")]),
    ],
    ids=["strike the ruby, say garnet", "in a later phrase"],
)
def test_a_hue_dropped_and_another_said(again: int, history: list[tuple[str, Any, Any]]) -> None:
    drop = read("*hue", "ruby", 1, act="drop", corrects=True)
    draft = folded(read("appearance.hue", "ruby"), drop, read("appearance.hue", "garnet", again))
    assert told(draft) == history


def test_a_thing_dropped_and_said_again_is_told_both_times() -> None:
    drop = read("*descriptor", "plum", 1, act="drop", corrects=True)
    draft = folded(read("nose.aromas", "Plum"), drop, read("nose.aromas", "plum", 2))
    assert told(draft) == [("nose.aromas", "Plum", None), ("nose.aromas", None, "plum")]


def test_a_denial_takes_the_wider_term_of_its_phrase_along_a_self_repair_does_not() -> None:
    rubber = read("nose.aromas", "burnt rubber")
    denied = folded(rubber, read("nose.aromas", "rubber", scope="denied"))
    assert (listed(denied, "nose.aromas"), listed(denied, "nose.absent")) == ([], ["rubber"])
    assert told(denied) == [("nose.aromas", "burnt rubber", None)]
    repaired = folded(rubber, read("nose.aromas", "rubber", scope="denied", rule="self-repair"))
    assert (listed(repaired, "nose.aromas"), told(repaired)) == (["burnt rubber"], [])


def test_a_correction_holds_even_where_the_first_does() -> None:
    draft = folded(
        read("appearance.hue", "ruby"),
        read("appearance.hue", "garnet", 1, corrects=True, source="stated later"),
    )
    assert (draft.values["appearance.hue"].term, draft.values["appearance.hue"].source) == (
        "garnet",
        "stated later",
    )
    assert told(draft) == [("appearance.hue", "ruby", "garnet")]
    (change,) = draft.history()
    assert (change.said, change.when) == ("one two three", "2.00 s into the recording")


@pytest.mark.parametrize("path", [*ABSENT_IN, "wine.grapes"])
def test_scrap_drops_from_each_list(path: str) -> None:
    draft = folded(read(path, "Violet"), read("*descriptor", "violet", 1, act="drop"))
    assert listed(draft, path) == []
    assert told(draft) == [(path, "Violet", None)]
    assert draft.fed == {0, 1}


@pytest.mark.parametrize("path", ["appearance.hue", "appearance.rim"])
def test_scrap_drops_a_hue(path: str) -> None:
    draft = folded(read(path, "ruby"), read("*hue", "ruby", 1, act="drop"))
    assert path not in draft.values
    assert told(draft) == [(path, "ruby", None)]


@pytest.mark.parametrize(
    ("field", "value"), [("*descriptor", "kettle"), ("*hue", "garnet"), ("*descriptor", "ruby")]
)
def test_scrap_of_what_was_never_said_changes_nothing_and_is_a_remark(field: str, value: str) -> None:
    draft = folded(
        read("appearance.hue", "ruby"), read("nose.aromas", "plum", 1), read(field, value, 2, act="drop")
    )
    assert draft.values["appearance.hue"].term == "ruby"
    assert listed(draft, "nose.aromas") == ["plum"]
    assert (told(draft), draft.fed) == ([], {0, 1})


def test_a_level_scrapped_is_held_no_more() -> None:
    draft = folded(read("palate.acidity", 5.0), read("palate.acidity", "acidity", 1, act="drop"))
    assert (draft.values, told(draft)) == ({}, [("palate.acidity", 5.0, None)])


@pytest.mark.parametrize(("corrects", "changes"), [(True, [("palate.acidity", 5.0, 8.0)]), (False, [])])
def test_a_slip_put_right_in_words_in_its_own_breath_is_told(corrects: bool, changes: list[object]) -> None:
    slip = read("palate.acidity", 5.0, scope="denied", rule="self-repair")
    draft = folded(slip, read("palate.acidity", 8.0, corrects=corrects))
    assert told(draft) == changes


def test_a_slip_of_another_breath_is_not_told() -> None:
    slip = read("palate.acidity", 5.0, scope="denied", rule="self-repair")
    assert told(folded(slip, read("palate.acidity", 8.0, 1, corrects=True))) == []


@pytest.mark.parametrize(("denied", "held_then"), [("Ruby", None), ("garnet", "ruby")])
def test_a_term_held_and_denied_later_is_held_no_more(denied: str, held_then: str | None) -> None:
    draft = folded(
        read("appearance.hue", "ruby"), read("appearance.hue", denied, 1, scope="denied", rule="not")
    )
    value = draft.values.get("appearance.hue")
    assert (value.term if value else None) == held_then
    assert told(draft) == ([] if held_then else [("appearance.hue", "ruby", None)])


@pytest.mark.parametrize(("corrects", "left"), [(True, ["chenin"]), (False, ["riesling", "chenin"])])
def test_a_grape_put_right_takes_the_place_of_those_before(corrects: bool, left: list[str]) -> None:
    draft = folded(read("wine.grapes", "riesling"), read("wine.grapes", "chenin", 1, corrects=corrects))
    assert listed(draft, "wine.grapes") == left


def test_grapes_put_right_together_are_all_kept() -> None:
    draft = folded(
        read("wine.grapes", "riesling"),
        read("wine.grapes", "syrah", 1, corrects=True),
        read("wine.grapes", "merlot", 1, corrects=True),
    )
    assert listed(draft, "wine.grapes") == ["syrah", "merlot"]


def test_words_whose_times_run_backwards_give_a_span_all_the_same() -> None:
    first, second = build.words("pale", at=5.0) + build.words("ruby", at=1.0)
    draft = Draft([Phrase((first, second), "appearance")])
    assert draft.spoken(read("appearance.hue", "ruby"))["at"] == (5.0, 5.0)


FIELDS = [*ABSENT_IN, "wine.grapes", "appearance.hue", "palate.balance", "nose.age", "*hue"]


@st.composite
def readings(draw: st.DrawFn, fields: list[str]) -> list[Reading]:
    """Readings of these fields, each of a phrase of its own."""
    made = []
    for phrase in range(draw(st.integers(0, 16))):
        field = draw(st.sampled_from(fields))
        made.append(
            read(
                field,
                draw(st.sampled_from(["plum", "Plum", "ruby", "oak", ""])),
                phrase,
                last=draw(st.integers(1, 3)),
                scope=draw(st.sampled_from(["said", "said", "denied", "past"])),
                rule=draw(st.sampled_from(["", "self-repair"])),
                act="drop" if field.startswith("*") else draw(st.sampled_from(["set", "set", "drop"])),
                corrects=draw(st.booleans()),
                confidence=draw(st.floats(-1, 2)),
            )
        )
    return made


def held(draft: Draft) -> set[tuple[str, str]]:
    """All terms in the draft, with their fields."""
    terms = {(path, fold(d.term)) for path, items in draft.lists.items() for d in items.values()}
    return terms | {(path, fold(v.term)) for path, v in draft.values.items()}


@given(st.lists(st.tuples(st.sampled_from([2.0, 5.0, 8.0]), st.booleans(), st.booleans()), min_size=1))
def test_each_phrase_s_level_is_held_or_told_and_the_history_is_a_chain(
    said: list[tuple[float, bool, bool]],
) -> None:
    made: list[Reading] = []
    for level, anew, corrects in said:
        phrase = made[-1].phrase + anew if made else 0
        made.append(read("palate.acidity", level, phrase, corrects=corrects))
    draft = folded(*made)
    now = draft.values["palate.acidity"].level
    assert now == said[-1][0]
    ends = [(before, after) for _, before, after in told(draft)]
    assert all(one[1] == two[0] for one, two in pairwise(ends))
    assert not ends or ends[-1][1] == now
    last_words = {r.phrase: r.value for r in made}
    assert set(last_words.values()) <= {now, *(value for change in ends for value in change)}


@given(readings(FIELDS))
def test_what_is_lost_is_told_in_the_history(made: list[Reading]) -> None:
    draft = Draft([build.phrase("one two three", at=2.0 * i) for i in range(len(made))])
    ever: set[tuple[str, str]] = set()
    for reading in made:
        draft.fold(reading)
        ever |= held(draft)
    assert ever - held(draft) <= {(c.field, fold(c.before)) for c in draft.history() if c.before is not None}
    assert draft.fed <= set(range(len(made)))


@given(st.sampled_from(sorted(ABSENT_IN)).flatmap(lambda field: readings([field])))
def test_a_thing_is_never_both_said_and_absent(made: list[Reading]) -> None:
    draft = folded(*made)
    for path, absent in ABSENT_IN.items():
        assert not set(draft.lists.get(path, {})) & set(draft.lists.get(absent, {}))
