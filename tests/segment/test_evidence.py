"""What a clause says of its stage: the table's rules, the lexicon's words, and a breath together."""

from __future__ import annotations

import pytest
from hypothesis import given

from dictate.language.tokens import tokenise
from dictate.segment.evidence import (
    AMID_TRADE,
    NO_WINE_WORD,
    STAGES,
    Evidence,
    Look,
    breath_evidence,
    clause_evidence,
    look_of,
    looks_at,
    stage_table,
)
from dictate.values import Word
from tests import build

LEXICON = build.small_lexicon()
TABLE = stage_table(
    {
        "nose": {"4": ["on the nose"], "2": ["nose|smells"]},
        "palate": {"1.8": ["dry|sweet"]},
        "aside": {"4.5": ["did you"], "1": ["you"]},
    }
)


def weigh(text: str) -> Evidence:
    return clause_evidence(build.tokens(text), TABLE, lexicon=LEXICON)


def test_an_unknown_stage_is_refused_by_name() -> None:
    with pytest.raises(KeyError, match=r"stages\.toml: no such stage: smell"):
        stage_table({"smell": {"1": ["nose"]}})


def test_an_empty_table_and_an_empty_clause_say_nothing() -> None:
    assert stage_table({}).rules == ()
    assert weigh("") == Evidence({}, 0.0, 0)


@pytest.mark.parametrize(
    ("text", "stage", "weight"),
    [
        ("it smells", "nose", 2.0),
        ("on the nose", "nose", 4.0 + 0.5 * 2.0),
        ("it's dry", "palate", 1.8),
        ("did you", "aside", 4.5 + 0.5 * 1.0),
        ("ruby", "appearance", 1.6),
        ("a Riesling", "identity", 1.2),
        ("cherry", "nose", 1.0),
        ("corked", "nose", 1.4),
        ("lemon", "appearance", 0.8),
    ],
)
def test_hits(text: str, stage: str, weight: float) -> None:
    assert weigh(text).weights[stage] == pytest.approx(weight)  # type: ignore[index]


@pytest.mark.parametrize(
    ("text", "stage"),
    [
        ("the noses", "nose"),
        ("on the, nose", "identity"),
        ("dryer", "palate"),
        ("dry cherry", "identity"),
        ("the box", "nose"),
        ("youth", "aside"),
        ("riesled", "identity"),
        ("rubies are not ruby-like stones", "identity"),
        ("cherrywood", "nose"),
    ],
)
def test_negatives(text: str, stage: str) -> None:
    assert weigh(text).weights.get(stage, 0.0) == 0.0  # type: ignore[call-overload]


def test_a_weak_rule_does_not_count_on_a_word_that_colours_a_descriptor() -> None:
    assert weigh("dry cherry").weights["palate"] == pytest.approx(0.9)  # the descriptor's own weight
    assert weigh("dry. Cherry").weights["palate"] == pytest.approx(1.8 + 0.9)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("lemon", {"hue", "alone", "either"}),
        ("a bit of lemon", {"hue", "alone", "either"}),
        ("pale lemon", {"hue", "alone", "deep"}),
        ("deep ruby, ruby rim", {"hue", "alone", "deep"}),
        ("bright lemon", {"hue", "alone"}),
        ("clear", {"alone"}),
        ("medium", set()),
        ("a ruby Riesling", {"hue"}),
        ("lemon and candle", {"hue", "smells"}),
        ("the acidity is medium, lemon behind", {"hue", "smells"}),
        ("pale lemon, a candle", {"hue"}),
        ("ruby and candle", {"hue"}),
        ("lemons", set()),
        ("lemon on the nose", {"hue"}),
        ("is that clear", set()),
        ("", set()),
    ],
)
def test_a_look_alone(text: str, found: set[str]) -> None:
    look = look_of(build.tokens(text), lexicon=LEXICON)
    assert {name for name in Look.__dataclass_fields__ if getattr(look, name)} == found


@pytest.mark.parametrize(
    ("text", "starts"),
    [
        ("riesling barolo very pale lemon", [2]),
        ("deep ruby, pale amber", [0, 2]),
        ("lemon", []),
        ("pale, lemon", []),
        ("pale candle", []),
    ],
)
def test_where_a_colour_with_its_depth_begins(text: str, starts: list[int]) -> None:
    assert looks_at(build.tokens(text), lexicon=LEXICON) == starts


def test_hues_that_are_smells_weigh_nothing_for_the_look() -> None:
    tokens = build.tokens("lemon and candle")
    weights = clause_evidence(tokens, TABLE, lexicon=LEXICON, smells=True).weights
    assert "appearance" not in weights
    assert weights["nose"] > 0


def test_an_aside_is_no_word_of_the_trade() -> None:
    assert weigh("did you").trade == 0.0
    assert weigh("it smells").trade == 2.0


def test_a_breath_without_a_word_of_the_trade_is_likely_an_aside_and_the_longer_the_likelier() -> None:
    short = breath_evidence([Evidence({}, 0.0, 3)])
    long = breath_evidence([Evidence({}, 0.0, 12)])
    endless = breath_evidence([Evidence({}, 0.0, 500)])
    assert short[0]["aside"] == NO_WINE_WORD
    assert short[0]["aside"] < long[0]["aside"] < endless[0]["aside"] == 2.5


def test_a_breath_with_a_word_of_the_trade_is_not() -> None:
    assert breath_evidence([Evidence({"nose": 1.0}, 1.0, 30)]) == [{"nose": 1.0}]


def test_amid_words_of_the_trade_talk_to_others_weighs_less() -> None:
    first, second = breath_evidence([Evidence({"nose": 4.0}, 4.0, 4), Evidence({"aside": 2.0}, 0.0, 3)])
    assert (first, second) == ({"nose": 4.0}, {"aside": 2.0 * AMID_TRADE})


def test_what_is_given_is_left_as_it_was() -> None:
    given_weights = {"aside": 1.0}
    breath_evidence([Evidence(given_weights, 0.0, 3), Evidence({"nose": 4.0}, 4.0, 1)])  # type: ignore[arg-type]
    assert given_weights == {"aside": 1.0}


@given(build.any_words())
def test_any_text_weighs_nothing_negative(words: tuple[Word, ...]) -> None:
    found = clause_evidence(tokenise(words), TABLE, lexicon=LEXICON)
    assert set(found.weights) <= set(STAGES)
    assert found.trade >= 0
    assert all(v >= 0 for v in found.weights.values())
    assert found.tokens == len(tokenise(words))


@pytest.mark.parametrize(
    ("text", "stage", "weighs"),
    [
        ("2019", "identity", True),
        ("twenty nineteen", "identity", True),
        ("2019 or so", "identity", False),
        ("19", "identity", False),
        ("17.5/20", "verdict", True),
        ("17.5", "verdict", False),
        ("1/3", "verdict", False),
    ],
)
def test_figures_that_name_or_score(text: str, stage: str, weighs: bool) -> None:
    assert (weigh(text).weights.get(stage, 0.0) > 0) == weighs  # type: ignore[call-overload]
