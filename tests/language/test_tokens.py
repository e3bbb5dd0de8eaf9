"""Words to tokens: folding, splitting, pauses, stems."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.language.tokens import fold, split_word, spoken_text, stem, tokenise
from dictate.values import Word
from tests import build


@pytest.mark.parametrize(
    ("text", "folded"),
    [
        ("Grüner", "gruner"),
        ("Rosé", "rose"),
        ("Mâcon", "macon"),
        ("weiß", "weiss"),
        ("Ødegaard", "odegaard"),
        ("Œil", "oeil"),
        ("Æolus", "aeolus"),
        ("ŁÓDŹ", "lodz"),
        ("it’s", "it's"),
        ("ﬁnish", "finish"),
        ("STRASSE", "strasse"),
        ("plum", "plum"),
        ("o'clock", "o'clock"),
        ("", ""),
    ],
)
def test_fold(text: str, folded: str) -> None:
    assert fold(text) == folded


@given(st.text(max_size=20))
def test_folding_twice_is_folding_once_for_tokens(text: str) -> None:
    pieces, _ = split_word(text)
    assert all(
        split_word(p)[0] == (p,) for p in pieces if not p.startswith("'") and p.isalpha() and p.isascii()
    )


@pytest.mark.parametrize(
    ("text", "pieces", "pause"),
    [
        ("full-bodied,", ("full", "bodied"), ","),
        ("acid's", ("acid", "'s"), ""),
        ("they’re", ("they", "'re"), ""),
        ("you'd", ("you", "'d"), ""),
        ("it'll.", ("it", "'ll"), "."),
        ("don't", ("don't",), ""),
        ("'s", ("s",), ""),
        ("2018.", ("2018",), "."),
        ("13.5%", ("13.5", "%"), ""),
        ("$12", ("12",), ""),
        ("1,000", ("1,000",), ""),
        ("80s", ("80s",), ""),
        ("3rd", ("3rd",), ""),
        ("20-34", ("20", "34"), ""),
        ('dry."', ("dry",), "."),
        ("gone?", ("gone",), "?"),
        ("plum…", ("plum",), "."),
        ("plum—", ("plum",), "–"),
        ("A.O.C", ("a", "o", "c"), ""),
        ("rock&roll", ("rock", "&", "roll"), ""),
        ("—", (), "–"),
        ("...", (), "."),
        ("🍷", (), ""),
        ("", (), ""),
        ("(faint)", ("faint",), ""),
        ("'quoted'", ("quoted",), ""),
    ],
)
def test_split_word(text: str, pieces: tuple[str, ...], pause: str) -> None:
    assert split_word(text) == (pieces, pause)


def test_tokens_know_their_word_and_only_the_last_piece_has_the_pause() -> None:
    found = build.tokens("well-built, it's dry.")
    assert [(t.text, t.word, t.pause) for t in found] == [
        ("well", 0, ""), ("built", 0, ","), ("it", 1, ""), ("'s", 1, ""), ("dry", 2, "."),
    ]  # fmt: skip


def test_a_mark_alone_is_the_pause_of_the_word_before() -> None:
    assert [(t.text, t.pause) for t in build.tokens("plum — dry")] == [("plum", "–"), ("dry", "")]


@pytest.mark.parametrize("text", ["— dry", "plum, — dry", "plum 🍷 dry"])
def test_a_mark_alone_changes_nothing_else(text: str) -> None:
    pauses = [t.pause for t in build.tokens(text)]
    assert pauses in ([""], [",", ""], ["", ""])


@given(build.any_words())
def test_any_words_give_tokens_in_order_that_point_at_their_words(words: tuple[Word, ...]) -> None:
    found = tokenise(words)
    assert all(0 <= t.word < len(words) and t.text for t in found)
    assert [t.word for t in found] == sorted(t.word for t in found)
    assert all(t.pause in ("", ",", ".", ";", ":", "?", "!", "–") for t in found)
    assert all(not any(c.isspace() for c in t.text) for t in found)


@pytest.mark.parametrize(
    ("token", "stemmed"),
    [
        ("cherries", "cherry"), ("notes", "note"), ("peaches", "peach"), ("boxes", "box"), ("tins", "tin"),
        ("grasses", "grass"), ("tomatoes", "tomato"), ("violets", "violet"), ("bushes", "bush"),
        ("grass", "grass"), ("citrus", "citrus"), ("iris", "iris"), ("gas", "gas"), ("dry", "dry"),
        ("'s", "'s"), ("pies", "pie"), ("less", "less"), ("", ""),
    ],
)  # fmt: skip
def test_stem(token: str, stemmed: str) -> None:
    assert stem(token) == stemmed


@given(st.text(max_size=12))
def test_a_stem_is_never_longer(token: str) -> None:
    assert len(stem(token)) <= len(token)


@pytest.mark.parametrize(
    ("text", "line"),
    [("plum, dry.", "plum, dry"), ("plum —", "plum"), ("gone?", "gone?"), ("", ""), ("a: b;", "a: b")],
)
def test_spoken_text(text: str, line: str) -> None:
    assert spoken_text(build.words(text)) == line


@pytest.mark.parametrize(
    ("text", "signs"),
    [
        ("$12.50", [("12.50", "$", "")]),
        ("12.50€,", [("12.50", "", "€")]),
        ("12 €", [("12", "", "€")]),
        ("€ 12", [("12", "€", "")]),
        ("the '09", [("the", "", ""), ("09", "'", "")]),
        ("95+.", [("95", "", "+")]),
        ("17.5/20", [("17.5", "", ""), ("20", "/", "")]),
        ("20–34", [("20", "", ""), ("34", "–", "")]),
        ("4½", [("4", "", ""), ("1", "", ""), ("2", "/", "")]),
        ("full-bodied, dry", [("full", "", ""), ("bodied", "", ""), ("dry", "", "")]),
        ("€ € wine", [("wine", "", "")]),
    ],
)
def test_signs_around_figures_and_money(text: str, signs: list[tuple[str, str, str]]) -> None:
    assert [(t.text, t.before, t.behind) for t in build.tokens(text)] == signs


@pytest.mark.parametrize(
    ("text", "tokens"),
    [
        ("medium+ acidity", ["medium", "plus", "acidity"]),
        ("medium+, high", ["medium", "plus", "high"]),
        ("medium + acidity", ["medium", "plus", "acidity"]),
        ("90+ points", ["90", "points"]),
        ("a+b", ["a", "b"]),
    ],
)
def test_a_plus_sign_is_said(text: str, tokens: list[str]) -> None:
    assert [t.text for t in build.tokens(text)] == tokens
