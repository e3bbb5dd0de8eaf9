"""Words of a lexicon in tokens: longest first, heads last, pauses kept, none overlapping."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.language.mentions import find_mentions
from dictate.language.tokens import tokenise
from dictate.values import Word
from tests import build

LEXICON = build.small_lexicon()


def terms(text: str) -> list[str]:
    return ["/".join(sorted({e.term for e in m.entries})) for m in find_mentions(build.tokens(text), LEXICON)]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("cherry and lemon", ["cherry", "lemon"]),
        ("cherries, lemons", ["cherry", "lemon"]),
        ("Black Cherry", ["black cherry"]),
        ("black-cherry", ["black cherry"]),
        ("cherry's edge", ["cherry"]),
        ("Gruner Veltliner", ["grüner veltliner"]),
        ("a shiraz", ["syrah"]),
        ("old church candles", ["church candle"]),
        ("old church", ["old church"]),
        ("from Alto Adige, South Tyrol", ["alto adige south tyrol"]),
        ("It's corked.", ["cork taint"]),
    ],
)
def test_hits(text: str, found: list[str]) -> None:
    assert terms(text) == found


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("", []),
        ("cherrywood", []),
        ("a lemony note", []),
        ("black, cherry", ["cherry"]),
        ("black. Cherry", ["cherry"]),
        ("Margaret, River", []),
        ("Margaret. River", []),
        ("margaret the river", []),
        ("Alto Adige. South Tyrol", []),
        ("old church of candle", ["old church", "candle"]),
        ("corkscrew", []),
        ("church", []),
    ],
)
def test_negatives(text: str, found: list[str]) -> None:
    assert terms(text) == found


def test_a_word_of_two_kinds_gives_both() -> None:
    (mention,) = find_mentions(build.tokens("lemon"), LEXICON)
    assert {e.kind for e in mention.entries} == {"descriptor", "hue"}
    assert mention.of("hue") is not None
    assert mention.of("grape") is None


@given(
    st.lists(
        st.sampled_from("old church candle black cherry, alto adige south. tyrol lemon ,".split()),
        max_size=20,
    )
)
def test_mentions_are_in_order_and_spell_their_entries(texts: list[str]) -> None:
    tokens = build.tokens(" ".join(texts))
    end = 0
    for mention in find_mentions(tokens, LEXICON):
        assert end <= mention.first < mention.last <= len(tokens)
        spelled = " ".join(t.text for t in tokens[mention.first : mention.last])
        assert all(LEXICON.lookup(spelled, e.kind) is not None for e in mention.entries)
        end = mention.last


@given(build.any_words())
def test_any_text(words: tuple[Word, ...]) -> None:
    tokens = tokenise(words)
    assert all(0 <= m.first < m.last <= len(tokens) for m in find_mentions(tokens, LEXICON))


@pytest.mark.parametrize(
    ("text", "kinds"),
    [("lemon", {"descriptor", "hue"}), ("lemons", {"descriptor"}), ("rubies", {"hue"}), ("ruby", {"hue"})],
)
def test_a_colour_has_no_plural_where_the_word_is_a_thing_too(text: str, kinds: set[str]) -> None:
    (mention,) = find_mentions(build.tokens(text), LEXICON)
    assert {e.kind for e in mention.entries} == kinds
