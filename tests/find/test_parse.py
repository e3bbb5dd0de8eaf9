"""A query in plain words: what it means, and where it is wrong."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from dictate.find import All, Any, Mentions, Not, QueryError, Range, parse_query, sort_key
from dictate.find.fields import ANYWHERE, HEADS, NUMBERS, TEXTS
from dictate.find.scan import MAX_LENGTH
from tests.build import ODD


def smell(*keys: str) -> Mentions:
    return Mentions(("aromas",), keys)


def anywhere(*keys: str) -> Mentions:
    return Mentions(ANYWHERE, keys)


OVER_7 = Range("acidity", low=7, low_counts=False)
LONG = Range("finish", low=20, low_counts=False)
CHINON = Mentions(("origin",), ("chinon",))
Y2018 = Range("vintage", 2018, 2018)
MEANT = {
    "": All(),
    "acidity over 7": OVER_7,
    "ACIDITY Over 7,0": OVER_7,
    "acid > 7": OVER_7,
    "finish over 20 seconds": LONG,
    "finish over 20s": LONG,
    "tannin at least 3": Range("tannin", low=3),
    "tannin under 3": Range("tannin", high=3, high_counts=False),
    "body at most 5.5": Range("body", high=5.5),
    "acidity is 7": Range("acidity", 7, 7),
    "acidity 7": Range("acidity", 7, 7),
    "acidity between 5 and 7": Range("acidity", 5, 7),
    "acidity from 5 to 7": Range("acidity", 5, 7),
    "nose intensity over 3": Range("nose_intensity", low=3, low_counts=False),
    "score at least 90 points": Range("score", low=90),
    "drink until 2030": Range("drink_to", 2030, 2030),
    "smells of cedar": smell("cedar"),
    "smells of wet stones": smell("wet", "stone"),
    "tastes of lime": Mentions(("flavours", "finish_flavours"), ("lime",)),
    "lacks butter": Mentions(("absent",), ("butter",)),
    "from Chinon": CHINON,
    "from Margaret River": Mentions(("origin",), ("margaret", "river")),
    "by Château Hérisson": Mentions(("producer",), ("chateau", "herisson")),
    'by "No and Not"': Mentions(("producer",), ("no", "and", "not")),
    "2018": Y2018,
    "before 2015": Range("vintage", high=2015, high_counts=False),
    "after 2015": Range("vintage", low=2015, low_counts=False),
    "since 2015": Range("vintage", low=2015),
    "from 2015 to 2018": Range("vintage", 2015, 2018),
    "between 2015 and 2018": Range("vintage", 2015, 2018),
    "NV": Mentions(("vintage",), ("nv",)),
    "fault cork taint": Mentions(("faults",), ("cork", "taint")),
    "fault": Range("faults", low=1),
    "no fault": Not(Range("faults", low=1)),
    "finish timed": Mentions(("how",), ("timed",)),
    "corky words": All((anywhere("corky"), anywhere("word"))),
    '"corky words"': anywhere("corky", "word"),
    "cork*": Mentions(ANYWHERE, ("cork",), opening=True),
    "acidity high": All((anywhere("acidity"), anywhere("high"))),
    "from Chinon 2018 acidity over 7": All((CHINON, Y2018, OVER_7)),
    "from Chinon, 2018, and acidity over 7": All((CHINON, Y2018, OVER_7)),
    "smells of cedar and lime": All((smell("cedar"), smell("lime"))),
    "smells of cedar or lime": Any((smell("cedar"), smell("lime"))),
    "smells of cedar but not lime": All((smell("cedar"), Not(smell("lime")))),
    "from Chinon and corky": All((CHINON, anywhere("corky"))),
    "2018 or from Chinon acidity over 7": Any((Y2018, All((CHINON, OVER_7)))),
    "(2018 or from Chinon) acidity over 7": All((Any((Y2018, CHINON)), OVER_7)),
    "not (2018 or from Chinon)": Not(Any((Y2018, CHINON))),
    "not not 2018": Not(Not(Y2018)),
}


@pytest.mark.parametrize("text", MEANT)
def test_what_a_query_means(text: str) -> None:
    assert parse_query(text) == MEANT[text]


WRONG = {
    "acidity over high": "at “high” (character 14): a number in figures is wanted",
    "acidity over": "at its end: a number in figures is wanted",
    "acidity between 5": "at its end: a second number is wanted",
    "acidity between 7 and 5": "at “5” (character 23): the second number is the smaller",
    "acidity over 7 seconds": "at “seconds” (character 16): acidity is not told in seconds",
    "finish over 1 minute": "at “minute” (character 15): finish is not told in minute; say it in seconds",
    "cedar 7": "at “7” (character 7): a number alone says too little",
    "> 7": "at “>” (character 1): a number's name is wanted",
    "before lunch": "at “lunch” (character 8): a year is wanted",
    "drink until 30": "at “30” (character 13): a year in four figures",
    "smells of": "at its end: what is looked for is wanted behind “smells of”",
    "smells of and cedar": "at “and” (character 11): what is looked for",
    "cedar and": "at its end: something to look for is wanted",
    "or cedar": "at “or” (character 1): something to look for",
    "not": "at its end: something to look for",
    "(cedar": "at “(cedar” (character 1): this “(” is not closed",
    "cedar) lime": "at “)” (character 6): there is no “(” to this",
    "()": "at “)” (character 2): something to look for",
    'by "tin': 'at “"tin” (character 4): this quotation mark is not closed',
    "by –": "at “–” (character 4): no letter or figure",
    "(" * 40: "nested more than 30 deep",
    "not " * 40: "nested more than 30 deep",
    "a " * 300: "more than 200 words",
    "a" * (MAX_LENGTH + 1): "is too long",
}


@pytest.mark.parametrize("text", WRONG)
def test_a_mistake_is_one_line_that_points_at_the_place(text: str) -> None:
    with pytest.raises(QueryError) as told:
        parse_query(text)
    line = str(told.value)
    assert WRONG[text] in line
    assert "\n" not in line


PIECES = st.sampled_from(
    [
        *"and or not but ( ) no without 7 2018 7.5 20s over under from to at least is > <= nv".split(),
        "between",
        *HEADS,
        *(name for names in NUMBERS.values() for name in names),
        *"cedar lime Chinon seconds points finish timed".split(),
        '"a b"',
        "cork*",
        "*",
        *ODD,
    ]
)


@given(st.lists(PIECES | st.text(max_size=5), max_size=25).map(" ".join) | st.text(max_size=60))
@example("nv to")
def test_any_text_is_a_query_or_one_line(text: str) -> None:
    try:
        query = parse_query(text)
    except QueryError as error:
        told = str(error).splitlines()
    else:
        told = []
    if told:
        assert len(told) == 1
        return
    assert parse_query(f"({text})" if text.strip(" ,;\t\n") else text) in (query, All())
    for leaf in _leaves(query):
        if isinstance(leaf, Mentions):
            assert leaf.keys
            assert set(leaf.texts) <= set(TEXTS)
            assert all(key.isascii() and key.isalnum() for key in leaf.keys)
        else:
            assert leaf.field in NUMBERS


def _leaves(query: object) -> list[Mentions | Range]:
    match query:
        case All(parts) | Any(parts):
            return [leaf for part in parts for leaf in _leaves(part)]
        case Not(part):
            return _leaves(part)
        case Mentions() | Range():
            return [query]
    raise AssertionError(query)


def test_names_to_sort_by() -> None:
    assert sort_key("Finish") == "finish"
    assert sort_key("nose-intensity".replace("-", "_")) == "nose_intensity"
    assert sort_key("added") == "added"
    with pytest.raises(QueryError, match="name one of added, title"):
        sort_key("colour of the sky")
