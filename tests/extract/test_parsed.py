"""A phrase made ready: clauses cover it, spans map back to words, the strongest mark of a span counts."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tests.extract.said import parsed

WORDS = st.lists(
    st.sampled_from("no, plum. it's full-bodied — 's 12.5% oak? and; acid, … Grüner".split()), max_size=12
)


@given(WORDS)
def test_clauses_cover_the_tokens_once_in_order(words: list[str]) -> None:
    made = parsed(" ".join(words))
    assert [p for a, b in made.clauses for p in range(a, b)] == list(range(len(made.tokens)))
    assert all(made.tokens[b - 1].pause for _, b in made.clauses[:-1])


@given(WORDS)
def test_token_spans_map_to_words_said(words: list[str]) -> None:
    made = parsed(" ".join(words))
    for place in range(len(made.tokens)):
        first, last = made.words(place, place + 1)
        assert 0 <= first < last <= len(made.phrase.words)


def test_text_is_as_said_without_the_mark_at_its_end() -> None:
    made = parsed("it's full-bodied, ripe plum.")
    assert made.text(2, 4) == "full-bodied"
    assert made.text(0, len(made.tokens)) == "it's full-bodied, ripe plum"


def test_the_mark_of_a_span_is_the_last_that_is_not_said() -> None:
    made = parsed("plum, no oak")
    assert made.scope(0, 1).scope == "said"
    assert made.scope(0, 3).rule == "not"


def test_confidence_is_that_of_the_least_sure_word() -> None:
    assert parsed("ripe plum").confidence(0, 2) == 1.0


@given(WORDS)
def test_a_clause_ends_where_its_tokens_do_and_behind_the_last_at_the_end(words: list[str]) -> None:
    made = parsed(" ".join(words))
    assert [made.clause_end(p) for a, b in made.clauses for p in range(a, b)] == [
        b for a, b in made.clauses for _ in range(a, b)
    ]
    assert made.clause_end(len(made.tokens)) == len(made.tokens)
