"""sound_key: what sounds alike is near, what does not is far."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rapidfuzz.distance import Levenshtein

from dictate.lexicon import load_lexicon
from dictate.repair.index import SoundIndex
from dictate.repair.sound import Reading, sound_key


@pytest.mark.parametrize(
    ("heard", "term", "reading"),
    [
        ("Cabernet Frank", "cabernet franc", "english"),
        ("Shabley", "chablis", "french"),
        ("Barbaresko", "barbaresco", "italian"),
        ("key anti", "chianti", "italian"),
        ("Reesling", "riesling", "german"),
        ("felt leaner", "veltliner", "german"),
        ("Albarino", "albariño", "iberian"),
        ("graphight", "graphite", "english"),
        ("night", "knite", "english"),
        ("fase", "phase", "english"),
    ],
)
def test_alike(heard: str, term: str, reading: Reading) -> None:
    assert sound_key(heard) == sound_key(term, reading)


def test_a_consonant_of_the_class_is_nearer_than_another() -> None:
    def apart(a: str, b: str) -> int:
        return Levenshtein.distance(sound_key(a), sound_key(b))

    assert apart("pan", "ban") == 1 < apart("pan", "can") == 2
    assert apart("pan", "pen") == 1
    assert apart("lemon", "limousine") > 4


@given(st.text(max_size=30))
def test_any_text_has_a_key(text: str) -> None:
    assert set(sound_key(text)) <= set("PpbFfvTtdzSsXcjKkgNmnLlRrWwHYGieaou")


def test_the_index_finds_what_a_full_search_finds() -> None:
    """Same class of first sound: the index is exact there."""
    lexicon = load_lexicon()
    index = SoundIndex(lexicon, terms=(), shortest=7)
    for heard in ("rieslin", "brioshe", "britanomices", "swortland"):
        key = sound_key(heard)
        near = {(n.target.text, n.distance) for n in index.near(key, within=2)}
        for entry in lexicon.entries:
            for text in entry.said if entry.kind == "descriptor" else ():
                other = sound_key(text)
                distance = Levenshtein.distance(key, other)
                if distance <= 1 and len(other) >= 7 and other[0] == key[0]:
                    assert (text, distance) in near


def test_the_nearest_come_first() -> None:
    near = SoundIndex(load_lexicon(), terms=("riesling",), shortest=7).near(sound_key("rieslin"), within=3)
    assert [n.distance for n in near] == sorted(n.distance for n in near)
    assert near[0].target.text == "riesling"
