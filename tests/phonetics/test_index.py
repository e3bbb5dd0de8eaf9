"""Retrieval by sound against brute force, and the terms of a lexicon by sound."""

from __future__ import annotations

import random
from functools import cache
from itertools import product

import numpy as np

from dictate.lexicon import Entry, load_lexicon, load_sounds
from dictate.lexicon.letter_sounds import load_letters
from dictate.phonetics.distance import as_numbers, distances, weights
from dictate.phonetics.index import LONGEST, SoundIndex
from dictate.phonetics.phones import PHONES
from dictate.phonetics.terms import TermSounds, windows


@cache
def shipped() -> TermSounds:
    return TermSounds(load_lexicon().entries, terms=(), sounds=load_sounds(), letters=load_letters())


def sounds_of(*entries: Entry, terms: tuple[str, ...] = (), **sounds: tuple[str, ...]) -> TermSounds:
    return TermSounds(entries, terms=terms, sounds=sounds, letters=load_letters())


def damaged(phones: str, chance: random.Random) -> str:
    """One or two phones changed, lost or added."""
    made = list(phones)
    for _ in range(chance.randint(1, 2)):
        place = chance.randrange(len(made))
        made[place : place + chance.randint(0, 1)] = chance.choice(["", chance.choice(PHONES)])
        made = made or [chance.choice(PHONES)]
    return "".join(made)


def test_the_nearest_of_a_known_sound_is_itself() -> None:
    chance = random.Random(7)
    known = [t.phones for t in chance.sample(shipped().targets, 100)]
    found = SoundIndex([t.phones for t in shipped().targets]).nearest(known, count=3)
    assert all(near[0].share == 0 and near[0].distance == 0 for near in found)
    assert all(
        shipped().targets[n[0].number].phones[:LONGEST] == k[:LONGEST]
        for n, k in zip(found, known, strict=True)
    )


def test_brute_force_finds_nothing_nearer_but_rarely() -> None:
    chance = random.Random(11)
    sounds = sorted({t.phones for t in shipped().targets})
    queries = [damaged(p, chance) for p in chance.sample(sounds, 200)]
    rows, asked = as_numbers(sounds, width=LONGEST), as_numbers(queries, width=LONGEST)
    long = weights(rows)
    hits = 0
    for query, near in zip(asked, SoundIndex(sounds).nearest(queries, count=24), strict=True):
        used = query[query > 0]
        far = distances(np.repeat(used[None], len(rows), axis=0), rows)
        shares = far / np.maximum(long, weights(query[None])[0])
        assert near[0].share >= shares.min() - 1e-4
        hits += near[0].share <= shares.min() + 1e-4
    assert hits / len(queries) >= 0.97


def test_nothing_to_find_and_nothing_asked() -> None:
    assert SoundIndex([]).nearest(["vin"]) == [[]]
    assert SoundIndex(["vin"]).nearest([]) == []
    ((near,),) = SoundIndex(["vin"]).nearest([""])
    assert near.share == 1
    ((near,),) = SoundIndex(["vin" * 30]).nearest(["vin" * 40])
    assert near.share == 0  # alike as far as they are compared


def test_ways_of_words_go_together() -> None:
    sounds = sounds_of(Entry("bel mar", "origin", "x", ("bel mar",)), bel=("bɛl",), mar=("mɑ", "maʁ"))
    spelled = load_letters().phones
    # way n of each word; the last is how its letters read, and stands in where there is no way n
    assert [t.phones for t in sounds.targets] == [
        "bɛlmɑ",
        spelled("bel") + "maɹ",
        spelled("bel") + spelled("mar"),
    ]


def test_a_personal_entry_is_found_by_its_letters() -> None:
    sounds = sounds_of(Entry("Tamberlyn", "producer", "own", ("Tamberlyn",)), terms=("malolactic",))
    ((first, *_),) = sounds.alike([sounds.readings("timberlin")], count=2)
    assert first.target.term == "Tamberlyn"
    assert 0 < first.share < 0.3


def test_what_is_asked_again_has_the_same_answer_and_few_are_kept() -> None:
    entries = [Entry(name, "producer", "own", (name,)) for name in ("Tamberlyn", "Bel Mar", "Quillnest")]
    once, again = sounds_of(*entries), sounds_of(*entries)
    names = ("".join(letters) for letters in product("tbmk", "aeiou", "lrn", "aeiou", "stvn"))
    asked = [once.readings(name) for name in names]
    assert len({*asked}) > 1000
    answers = once.alike(asked, count=2)
    assert [again.alike([each], count=2)[0] for each in asked[:50]] == answers[:50]
    assert again.alike(asked[:100], count=2) == answers[:100]
    assert again.alike(asked[:50], count=1) == sounds_of(*entries).alike(asked[:50], count=1)
    assert len(once._answers) <= 1000


def test_a_text_in_another_script_is_no_target() -> None:
    sounds = sounds_of(Entry("Xinomavro", "grape", "black", ("Xinomavro", "Ξινόμαυρο")))
    assert {t.text for t in sounds.targets} == {"Xinomavro"}


def test_windows_are_all_runs_of_words() -> None:
    assert windows(["A", "full-bodied", "red."], longest=2) == [
        (0, 1, "a"), (0, 2, "a full bodied"), (1, 2, "full bodied"), (1, 3, "full bodied red"), (2, 3, "red"),
    ]  # fmt: skip


def test_many_at_once_are_found_as_one_by_one() -> None:
    """More than are compared together, so that a long recording takes no more memory than a short one."""
    sounds = sorted({t.phones for t in shipped().targets})[:3000]
    index, asked = SoundIndex(sounds), sounds[:: len(sounds) // 450]
    together = index.nearest(asked, count=3)
    assert [n[0] for n in together] == [index.nearest([one], count=3)[0][0] for one in asked]
