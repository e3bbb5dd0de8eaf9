"""A taster's own words: what is one, how two lists become one, and what reaches the lexicon."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.lexicon import load_lexicon
from dictate.lexicon.entries import spelled
from dictate.personal import PersonalWord, WordsError, make_word, merge_words, personal_entries
from dictate.personal.words import MAX_FORMS, MAX_LENGTH
from dictate.values import ListedWine
from tests.personal.made import WORDS


def test_a_word_is_tidied() -> None:
    word = make_word("  Heron's\u00a0 Rake ", said=["the Rake", "The  rake"], heard_as=["herein rake"])
    assert word == PersonalWord("Heron's Rake", "producer", ("the Rake",), ("herein rake",))


@pytest.mark.parametrize(
    ("term", "kind"), [("Heron's Rake", "producer"), ("sea glass", "descriptor"), ("McAllow", "producer")]
)
def test_a_word_without_a_kind_is_a_producer_if_it_has_a_capital(term: str, kind: str) -> None:
    assert make_word(term).kind == kind


def test_a_form_that_says_what_the_term_says_is_left_out() -> None:
    word = make_word(
        "Grüner Hof", said=["gruner hof", "the Hof"], heard_as=["GRÜNER HOF", "The hof", "grooner"]
    )
    assert (word.said, word.heard_as) == (("the Hof",), ("grooner",))


@pytest.mark.parametrize(
    ("term", "why"),
    [
        ("", "no letter"),
        ("1998", "no letter"),
        ("🍷", "no letter"),
        ("x" * (MAX_LENGTH + 1), "longer"),
        ("x" * 10_000_000, "longer"),
        ("a|b", "parts forms"),
        ("tin\x00whistle", r"U\+0000"),
        ("tin\x1b[31m", r"U\+001B"),
        ("tin\u202ewhistle", r"U\+202E"),
        ("tin\u2066whistle", r"U\+2066"),
        ("tin\u200bwhistle", r"U\+200B"),
        ("tin\ud800whistle", r"U\+D800"),
        ("tin\u2028whistle", r"U\+2028"),
    ],
)
def test_what_is_no_word_is_refused_in_one_short_line(term: str, why: str) -> None:
    for made in (lambda: make_word(term), lambda: make_word("tin", said=[term])):
        with pytest.raises(WordsError, match=why) as refused:
            made()
        assert "\n" not in str(refused.value)
        assert len(str(refused.value)) < 200
        assert str(refused.value).isprintable()


def test_an_unknown_kind_is_refused_with_those_known() -> None:
    with pytest.raises(WordsError, match="producer"):
        make_word("Tin Whistle", "brand")


def test_colours_and_styles_get_new_ways_to_say_but_no_new_ones() -> None:
    assert make_word("Orange", "colour", said=["skin contact"]).term == "orange"
    with pytest.raises(WordsError, match="white, rosé, orange, red"):
        make_word("blush", "colour")


def test_too_many_forms_are_refused() -> None:
    forms = [f"form {'abcdefghijklmnopqrstuvwxyz'[n]}" for n in range(MAX_FORMS + 1)]
    assert len(make_word("tin", said=forms[:-1]).said) == MAX_FORMS
    with pytest.raises(WordsError, match="forms"):
        make_word("tin", said=forms)


def test_the_same_term_twice_is_one_word_with_the_forms_of_both() -> None:
    first = make_word("tin Whistle", "producer", said=["the whistle"], heard_as=["thin whistle"])
    again = make_word("Tin Whistle", "producer", said=["whistle's"], heard_as=["tin vistle"])
    (word,) = merge_words([first], [again])
    assert word.term == "Tin Whistle"
    assert (word.said, word.heard_as) == (("the whistle", "whistle's"), ("thin whistle", "tin vistle"))


def test_the_same_term_of_two_kinds_stays_two_words() -> None:
    words = merge_words([make_word("lemon", "descriptor")], [make_word("lemon", "hue")])
    assert [w.kind for w in words] == ["descriptor", "hue"]


@given(WORDS, WORDS)
def test_laws_of_merging(words: list[PersonalWord], more: list[PersonalWord]) -> None:
    merged = merge_words(words, more)
    assert merge_words(merged, merged) == merged
    keys = [(w.kind, spelled(w.term)) for w in merged]
    assert len(set(keys)) == len(keys)
    assert set(keys) == {(w.kind, spelled(w.term)) for w in (*words, *more)}


@given(st.text(max_size=100), st.lists(st.text(max_size=100), max_size=4))
def test_any_text_is_a_word_or_a_line(term: str, forms: list[str]) -> None:
    word: PersonalWord | str
    try:
        word = make_word(term, "descriptor", said=forms, heard_as=forms)
    except WordsError as error:
        word = str(error)
    if isinstance(word, str):
        assert word.isprintable()
    else:
        assert make_word(word.term, word.kind, said=word.said, heard_as=word.heard_as) == word


def test_own_words_are_found_in_the_lexicon_in_each_way_to_say_them() -> None:
    words = [make_word("Heron's & Rake", said=["the Rake"], heard_as=["herein rake"])]
    lexicon = load_lexicon().with_entries(personal_entries(words, ()))
    for said in ("heron's and rake", "Herons Rake's and", "herons and rake", "The Rake", "Heron's & Rake"):
        found = lexicon.lookup(said, "producer")
        assert (found is None) == (said == "Herons Rake's and"), said
    found = lexicon.lookup("the rake", "producer")
    assert found is not None
    assert found.data["heard_as"] == ("herein rake",)
    assert lexicon.lookup("herein rake") is None  # that is for repair to weigh


def test_an_own_word_that_is_known_keeps_its_family_and_gains_its_forms() -> None:
    shipped = load_lexicon()
    own = shipped.with_entries(personal_entries([make_word("pencil lead", said=["aitch bee"])], ()))
    before, after = shipped.lookup("pencil lead", "descriptor"), own.lookup("aitch bee", "descriptor")
    assert before is not None
    assert after is not None
    assert (after.term, after.family) == (before.term, before.family)
    assert shipped.lookup("aitch bee") is None
    assert len(own.entries) == len(shipped.entries)


def test_listed_names_are_entries_once_each_and_known_ones_stay_as_they_are() -> None:
    wines = [
        ListedWine(
            1, producer="Tin Whistle", name="Three Herons", grapes=("Shiraz",), origin="Chinon, France"
        ),
        ListedWine(2, producer="tin whistle", grapes=("Zzyxgrape",)),
    ]
    entries = personal_entries((), wines)
    kinds = [(e.kind, e.term) for e in entries]
    assert kinds == [
        ("producer", "Tin Whistle"), ("wine", "Three Herons"), ("grape", "shiraz"), ("origin", "chinon"),
        ("origin", "france"), ("grape", "zzyxgrape"),
    ]  # fmt: skip
    lexicon = load_lexicon().with_entries(entries)
    syrah = lexicon.lookup("Shiraz", "grape")
    assert syrah is not None
    assert (syrah.term, syrah.family) == ("syrah", "black")
    assert lexicon.lookup("zzyxgrape", "grape") is not None


def test_no_words_and_no_wines_change_nothing() -> None:
    assert personal_entries((), ()) == personal_entries((), [ListedWine()]) == ()
    assert load_lexicon().with_entries(()) is load_lexicon()


def test_words_added_one_after_the_other_keep_what_each_told() -> None:
    first = personal_entries([make_word("syrah", "grape", said=["shiraz noir"], heard_as=["see rah"])], ())
    again = personal_entries([make_word("Shiraz", "grape", heard_as=["she raz"])], ())
    both = load_lexicon().with_entries(first).with_entries(again)
    assert load_lexicon().with_entries((*first, *again)).lookup("syrah") == both.lookup("syrah")
    grape = both.lookup("shiraz noir", "grape")
    assert grape is not None
    assert (grape.term, grape.data["heard_as"]) == ("syrah", ("see rah", "she raz"))
    assert both.version not in (load_lexicon().version, load_lexicon().with_entries(first).version)
