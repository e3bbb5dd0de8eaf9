"""Phones of IPA and of letters."""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rapidfuzz.distance import Levenshtein

from dictate.lexicon import load_sounds
from dictate.lexicon.letter_sounds import load_letters
from dictate.lexicon.letters.make import read_dictionary
from dictate.phonetics.letters import LetterTable, continental
from dictate.phonetics.phones import PHONES, read_ipa, tidy


@pytest.mark.parametrize(
    ("ipa", "phones"),
    [
        ("ɡəˈvʊɹtstʁamɪnɚ", "gəvʊɹtstraminəɹ"),
        ("t͡ʃaɪ", "ʧI"),
        ("sɛ̃", "sæ~"),
        ("deɪ", "de"),
        ("bʌtn̩", "bʌtən"),
        ("della", "dela"),
        ("", ""),
    ],
)
def test_ipa_is_read(ipa: str, phones: str) -> None:
    assert read_ipa(ipa) == phones.replace("amin", "amɪn")


@given(st.text())
def test_any_text_gives_phones_only(text: str) -> None:
    assert set(read_ipa(text)) <= set(PHONES)
    assert set(continental(text)) <= set(PHONES)
    assert set(load_letters().phones(text)) <= set(PHONES)


def test_sounds_of_the_lexicon_are_phones_and_read_again_stay() -> None:
    read = [read_ipa(way) for ways in load_sounds().values() for way in ways]
    assert len(read) > 1000
    assert all(read)
    assert [phones for phones in read if tidy(phones) != phones] == []


def test_letters_of_words_that_were_learnt_from() -> None:
    """300 words of the dictionary that the table is made of: this tells that it was read and is looked up
    rightly, not how it does on new words; that is `letters/make.py --check`, 0.090 on words kept out. The
    words are not simply stored either: some come out wrong."""
    path = Path(__file__).parent / "cmudict-sample.txt"
    said: dict[str, list[str]] = defaultdict(list)
    for word, phones in read_dictionary(path):
        said[word].append(tidy(phones))
    assert len(said) == 300
    letters = load_letters()
    wrong = total = 0
    for word, ways in said.items():
        made = letters.phones(word)
        off, length = min((Levenshtein.distance(made, way), len(way)) for way in ways)
        wrong, total = wrong + off, total + length
    assert 0 < wrong / total < 0.13


def test_the_widest_known_context_tells() -> None:
    table = LetterTable({">a": "æ", ">b": "b", ">ab": "ɑ", "#>ab": "e", "b>ab#": "o"})
    assert table.phones("a") == "æ"
    assert table.phones("ab") == "eb"
    assert table.phones("bab") == "bob"
    assert table.phones("aab") == "æɑb"
    assert table.phones("AB, 5") == "eb"


def test_letters_as_most_languages_read_them() -> None:
    assert continental("Alchomo") == "alkomo"
    assert continental("vigne") == "vinj"
    assert continental("") == continental("1999") == ""
