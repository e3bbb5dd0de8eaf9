"""Descriptors against what others list: WordNet's foods, and the odour words of papers on wine."""

from __future__ import annotations

from pathlib import Path

import pytest

from dictate.lexicon import Lexicon, load_lexicon

# Debian `wordnet-base` (WordNet 3.0); without it the comparison is skipped, the rest still runs.
WORDNET = Path("/usr/share/wordnet")

# names of WordNet -> a word of the gloss of the sense meant
ROOTS = {
    "edible fruit": "edible reproductive body",
    "edible nut": "nut",
    "spice": "aromatic",
    "herb": "aromatic",
    "vegetable": "edible seeds",
}

# "said as" words of trade-facts.md, sections 5 and 10: smells by which papers name compounds in wine
SAID_AS = """
musty; mouldy; damp cardboard; wet; dusty; fungal; damp soil; beetroot; muddy; medicinal; sticking
plaster; stable; horse; smoke; clove; vinegar; nail varnish; solvent; bruised apple; sherry; nutty;
curry; walnut; maple; rotten egg; sewage; rotten cabbage; burnt rubber; garlic; natural gas; stale
egg; old cabbage; skunky; tyre; canned corn; cooked cabbage; asparagus; butter; butterscotch; bell
pepper; capsicum; smoky; ashy; mouse cage; cracker; struck match; onion; wet wool; honey; dried
fruit; kerosene; black pepper; grapefruit; passion fruit; boxwood; broom; banana; strawberry; apple;
pear; peach; coconut; woody; stewed apple; rose; violet; floral; citrus; lychee; vanilla;
eucalyptus; pungent; ether; medicine; beet; earth; spice; green pepper; phenol; cabbage; sulfur;
pineapple; flower; lavender; lilac; cotton candy; mushroom; box; resin
"""
# of these, words too ordinary to stand alone
TOO_ORDINARY = {"wet", "box"}


@pytest.fixture(scope="module")
def lexicon() -> Lexicon:
    return load_lexicon()


def test_odour_words_of_papers_on_wine(lexicon: Lexicon) -> None:
    words = [w.strip() for w in SAID_AS.split(";")]
    missing = {w for w in words if lexicon.lookup(w, "descriptor") is None}
    assert missing == TOO_ORDINARY


def _wordnet_names(roots: dict[str, str], counted: set[str] | None) -> list[list[str]]:
    """The synonym groups below each root (name -> a word of its gloss), of `counted` senses if given."""
    words: dict[str, list[str]] = {}
    gloss: dict[str, str] = {}
    below: dict[str, list[str]] = {}
    for line in (WORDNET / "data.noun").read_text(encoding="latin-1").splitlines():
        if line.startswith(" "):
            continue
        parts = line.split(" | ")[0].split()
        size = int(parts[3], 16)
        words[parts[0]] = [w.replace("_", " ") for w in parts[4 : 4 + 2 * size : 2]]
        gloss[parts[0]] = line.partition(" | ")[2]
        pointers = parts[5 + 2 * size :]
        for mark, target in zip(pointers[0::4], pointers[1::4], strict=False):
            if mark in ("@", "@i"):
                below.setdefault(target, []).append(parts[0])
    waiting = [o for o, names in words.items() for n, g in roots.items() if n in names and g in gloss[o]]
    tops, seen = set(waiting), set[str]()
    while waiting:
        place = waiting.pop()
        if place not in seen:
            seen.add(place)
            waiting += below.get(place, [])
    groups = [words[o] for o in sorted(seen - tops)]
    return [g for g in groups if counted is None or counted & {w.lower() for w in g}]


def _counted_nouns() -> set[str]:
    """Nouns seen at least once in WordNet's own tagged texts (cntlist.rev: sense key, number, count)."""
    lines = (WORDNET / "cntlist.rev").read_text(encoding="latin-1").splitlines()
    return {line.split("%1:")[0].replace("_", " ") for line in lines if "%1:13:" in line}


@pytest.mark.skipif(not (WORDNET / "data.noun").exists(), reason="no WordNet: apt install wordnet-base")
@pytest.mark.parametrize(
    ("only_counted", "least"),
    [(True, 0.95), (False, 0.58)],
    ids=["names met in running text", "all names, rare cultivars too"],
)
def test_foods_of_wordnet(lexicon: Lexicon, only_counted: bool, least: float) -> None:
    groups = _wordnet_names(ROOTS, _counted_nouns() if only_counted else None)
    missing = [g for g in groups if not any(lexicon.lookup(w, "descriptor") for w in g)]
    assert len(groups) >= (30 if only_counted else 400)
    assert 1 - len(missing) / len(groups) >= least, missing
