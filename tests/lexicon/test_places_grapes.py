"""Grapes and origins: the files load, hold together, and find what tasters say."""

from __future__ import annotations

from collections import Counter

import pytest

from dictate.lexicon.entries import Entry, Lexicon, spelled
from dictate.lexicon.load import load_lexicon
from tests.lexicon.register import REGISTER, berry_letter, read_register, register_grapes

COLOURS = {"white", "rosé", "orange", "red"}
STYLES = {"still", "sparkling", "fortified"}
BERRIES = {"white", "black", "pink", "grey"}
needs_register = pytest.mark.skipif(
    not REGISTER.exists(), reason=f"the open register of PDO wines is not at {REGISTER}"
)


@pytest.fixture(scope="module")
def lexicon() -> Lexicon:
    return load_lexicon()


def _of(lexicon: Lexicon, text: str, kind: str) -> Entry:
    entry = lexicon.lookup(text, kind)
    assert entry is not None, f"{text!r} is no {kind} of the lexicon"
    return entry


def test_goals_of_size(lexicon: Lexicon) -> None:
    assert len(lexicon.of_kind("grape")) >= 450
    assert len(lexicon.of_kind("origin")) >= 900


@pytest.mark.parametrize("kind", ["grape", "origin"])
def test_no_two_terms_are_spelled_alike(lexicon: Lexicon, kind: str) -> None:
    count = Counter(spelled(e.term) for e in lexicon.of_kind(kind))
    assert [k for k, n in count.items() if n > 1] == []


@pytest.mark.parametrize("kind", ["grape", "origin"])
def test_every_way_of_saying_leads_to_one_term(lexicon: Lexicon, kind: str) -> None:
    wrong = [(s, e.term) for e in lexicon.of_kind(kind) for s in e.said if lexicon.lookup(s, kind) is not e]
    assert wrong == []


@pytest.mark.parametrize("kind", ["grape", "origin"])
def test_variants_differ_in_more_than_accents_case_and_hyphens(lexicon: Lexicon, kind: str) -> None:
    twice = [e.term for e in lexicon.of_kind(kind) if len({spelled(s) for s in e.said}) < len(e.said)]
    assert twice == []


def test_terms_are_lower_case_and_spell_something(lexicon: Lexicon) -> None:
    entries = (*lexicon.of_kind("grape"), *lexicon.of_kind("origin"))
    assert [s for e in entries for s in e.said if s != s.lower() or s != s.strip() or not spelled(s)] == []


def test_each_grape_has_a_berry_colour(lexicon: Lexicon) -> None:
    assert {e.family for e in lexicon.of_kind("grape")} == BERRIES


def test_origin_data_are_of_the_known_kinds(lexicon: Lexicon) -> None:
    for entry in lexicon.of_kind("origin"):
        assert set(entry.data) <= {"colour", "style", "grapes", "risky", "ambiguous"}, entry.term
        assert entry.data.get("colour", "red") in COLOURS, entry.term
        assert entry.data.get("style", "still") in STYLES, entry.term


def test_grapes_of_origins_are_terms_and_fit_the_colour(lexicon: Lexicon) -> None:
    for entry in lexicon.of_kind("origin"):
        for name in entry.data.get("grapes", ()):
            grape = _of(lexicon, name, "grape")
            assert grape.term == name, f"{entry.term}: say {grape.term!r} for {name!r}"
            if entry.data.get("colour") == "red":
                assert grape.family == "black", f"{entry.term}: a red of {name}"


def test_ambiguous_forms_are_forms_of_their_entry(lexicon: Lexicon) -> None:
    for entry in (*lexicon.of_kind("grape"), *lexicon.of_kind("origin")):
        assert set(entry.data.get("ambiguous", ())) <= set(entry.said), entry.term


# 27 CFR 4.91: prime name and its synonym in brackets. From memory, but for the rule that
# hyphens and diacritics are optional and capitals free (trade-facts.md section 8, seen).
CFR_SYNONYMS = [
    ("Syrah", "Shiraz", "black"),
    ("Pinot gris", "Pinot Grigio", "grey"),
    ("Mourvèdre", "Mataro", "black"),
    ("Mourvèdre", "Monastrell", "black"),
    ("Valdepeñas", "Tempranillo", "black"),
    ("Blaufränkisch", "Lemberger", "black"),
    ("Blaufränkisch", "Limberger", "black"),
    ("Cinsaut", "Black Malvoisie", "black"),
    ("Trousseau gris", "Gray Riesling", "grey"),
    ("Muscat blanc", "Muscat Canelli", "white"),
    ("Carignane", "Carignan", "black"),
    ("Cabernet franc", "Cab franc", "black"),
    ("Sauvignon blanc", "Fumé blanc", "white"),
    ("Riesling", "White Riesling", "white"),
    ("Valdiguié", "Napa Gamay", "black"),
    ("Ugni blanc", "Trebbiano", "white"),
    ("Albariño", "Alvarinho", "white"),
    ("Colombard", "French Colombard", "white"),
    ("Vermentino", "Rolle", "white"),
    ("Norton", "Cynthiana", "black"),
    ("Black Spanish", "Lenoir", "black"),
    ("Gewürztraminer", "Gewurztraminer", "pink"),
    ("Meunier", "Pinot Meunier", "black"),
    ("Muscat of Alexandria", "Muscat d'Alexandrie", "white"),
    ("Negrette", "Négrette", "black"),
]


@pytest.mark.parametrize(("prime", "synonym", "berry"), CFR_SYNONYMS)
def test_approved_synonyms_are_one_grape(lexicon: Lexicon, prime: str, synonym: str, berry: str) -> None:
    one, other = _of(lexicon, prime, "grape"), _of(lexicon, synonym, "grape")
    assert (one.term, one.family) == (other.term, berry)


@pytest.mark.parametrize(
    ("said", "kind", "term"),
    [
        ("gruner", "grape", "grüner veltliner"),
        ("Cab Sauv", "grape", "cabernet sauvignon"),
        ("sauv blanc", "grape", "sauvignon blanc"),
        ("Spatburgunder", "grape", "pinot noir"),
        ("gewurtztraminer", "grape", "gewürztraminer"),
        ("GARNACHA", "grape", "grenache"),
        ("Zibibbo", "grape", "muscat of alexandria"),
        ("Xarel lo", "grape", "xarel·lo"),
        ("chateauneuf du pape", "origin", "châteauneuf-du-pape"),
        ("St Emilion", "origin", "saint-émilion"),
        ("St. Julien", "origin", "saint-julien"),
        ("Hawkes Bay", "origin", "hawke's bay"),
        ("Amarone", "origin", "amarone della valpolicella"),
        ("Rias Baixas", "origin", "rías baixas"),
        ("sherry", "origin", "jerez"),
        ("Napa", "origin", "napa valley"),
        ("Mt Etna", "origin", "etna"),
        ("Egri Bikaver", "origin", "egri bikavér"),
    ],
)
def test_what_tasters_say_is_found(lexicon: Lexicon, said: str, kind: str, term: str) -> None:
    assert _of(lexicon, said, kind).term == term


@pytest.mark.parametrize(
    ("origin", "country", "data"),
    [
        ("barolo", "Italy", {"colour": "red", "grapes": ["nebbiolo"]}),
        ("chablis", "France", {"colour": "white", "grapes": ["chardonnay"]}),
        ("champagne", "France", {"style": "sparkling"}),
        ("port", "Portugal", {"style": "fortified"}),
        ("sauternes", "France", {"colour": "white"}),
        ("sancerre", "France", {}),
        ("tavel", "France", {"colour": "rosé"}),
        ("rioja", "Spain", {}),
    ],
)
def test_what_an_origin_settles(lexicon: Lexicon, origin: str, country: str, data: dict[str, object]) -> None:
    entry = _of(lexicon, origin, "origin")
    assert (entry.family, dict(entry.data)) == (country, data)


@pytest.mark.parametrize("word", ["graves", "orange", "cassis", "palette", "turkey", "georgia", "rust"])
def test_ordinary_words_are_risky(lexicon: Lexicon, word: str) -> None:
    assert _of(lexicon, word, "origin").data.get("risky") is True


# what tasters say of a wine all day: none of it may be taken for a place or grape in passing
PROSE = """the nose is fully open with lemon peel and a hint of ash fine tannin long finish good length
this one is a bit mad hold on can you pass me the next glass please I fell out with the holder
medium plus acid ripe black cherry dark plum baking spice bitter chocolate firm grip and a dry end
pale gold in the glass clean and bright fresh lime white flower wet stone chalk salt and a long end
palette is full the rose is pretty march hare bath soap clay orange peel bell pepper may rosette peel"""


def test_prose_holds_no_safe_place_or_grape(lexicon: Lexicon) -> None:
    hits = []
    for word in PROSE.split():
        for kind in ("grape", "origin"):
            entry = lexicon.lookup(word, kind)
            loose = entry and (entry.data.get("risky") or word in entry.data.get("ambiguous", ()))
            if entry and not loose:
                hits.append((word, entry.term))
    assert hits == []


@needs_register
def test_share_of_the_registers_names() -> None:
    """Not blind: gaps seen in this register were filled where a taster may meet the name."""
    lexicon = load_lexicon()
    met, known, total = {"FR", "IT", "ES", "DE", "AT", "PT"}, Counter[str](), Counter[str]()
    for row in read_register():
        total[row.country] += 1
        known[row.country] += any(lexicon.lookup(name, "origin") for name in row.names)
    share = sum(known.values()) / sum(total.values())
    main = sum(known[c] for c in met) / sum(total[c] for c in met)
    print(f"register names known: {share:.1%} of {sum(total.values())}; FR IT ES DE AT PT {main:.1%}")
    assert share >= 0.60
    assert main >= 0.90


@needs_register
def test_share_of_the_registers_grapes() -> None:
    lexicon = load_lexicon()
    count = Counter(name for name, _ in register_grapes())
    known = sum(n for name, n in count.items() if lexicon.lookup(name, "grape"))
    share = known / sum(count.values())
    print(f"permitted grapes known: {share:.1%} of {sum(count.values())} mentions, {len(count)} spellings")
    assert share >= 0.80


@needs_register
def test_berry_colours_agree_with_the_register() -> None:
    """The register's own letters differ for some grapes; the most frequent one counts."""
    lexicon = load_lexicon()
    letters: dict[str, Counter[str]] = {}
    for name, letter in register_grapes():
        entry = lexicon.lookup(name, "grape")
        if entry:
            letters.setdefault(entry.term, Counter())[berry_letter(letter)] += 1
    wrong = [t for t, c in letters.items() if c.most_common(1)[0][0] != _of(lexicon, t, "grape").family]
    print(f"berry colours: {len(wrong)} of {len(letters)} differ: {', '.join(sorted(wrong))}")
    assert len(wrong) <= len(letters) * 0.02
