"""The shipped word files: nothing twice, nothing that belongs to the levels, every form found."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import pytest

from dictate.lexicon import Entry, Lexicon, load_lexicon
from dictate.lexicon.entries import spelled

OURS = ("descriptor", "texture", "hue", "fault", "process", "style", "colour")

# words of level, function words and verbs that would fire everywhere
FORBIDDEN = frozenset(
    """
    acid acidity alcohol alcoholic balance balanced bitter bitterness body dry dryness finish fresh full
    heat hot length long short sweet sweetness tannin tannic warm weight acidic sharp low medium high
    wine glass bottle note nose palate taste smell hint touch bit clear deep pale bright good bad nice
    fine old young match matches bank spring must light well might can will may like get find mean lot
    current press fall
    """.split()
)
LEVEL_WORDS_THAT_ARE_TEXTURES = {"fine"}
PROCESS_NOUNS = {"bottle"}


@pytest.fixture(scope="module")
def lexicon() -> Lexicon:
    return load_lexicon()


def ours(lexicon: Lexicon) -> Iterator[Entry]:
    return (entry for entry in lexicon.entries if entry.kind in OURS)


def test_how_many_words_there_are(lexicon: Lexicon) -> None:
    counts = Counter(entry.kind for entry in lexicon.entries)
    assert counts["descriptor"] >= 900
    assert counts["hue"] >= 70
    assert counts["texture"] >= 60
    assert counts["process"] >= 80
    assert counts["fault"] >= 13
    assert counts["colour"] == 4


def test_descriptors_stand_in_families_of_a_size_one_can_review(lexicon: Lexicon) -> None:
    families = Counter(entry.family for entry in lexicon.of_kind("descriptor"))
    assert 18 <= len(families) <= 24
    assert min(families.values()) >= 20


def test_families_of_the_small_kinds(lexicon: Lexicon) -> None:
    def families(kind: str) -> set[str]:
        return {entry.family for entry in lexicon.of_kind(kind)}

    assert families("texture") == {"tannin", "mouth", "both"}
    assert families("hue") == families("colour") == {"white", "rosé", "orange", "red"}
    assert families("style") == {"still", "sparkling", "fortified"}


@pytest.mark.parametrize("kind", OURS)
def test_no_spelling_leads_to_two_terms_of_a_kind(lexicon: Lexicon, kind: str) -> None:
    owner: dict[tuple[str, ...], str] = {}
    for entry in lexicon.of_kind(kind):
        for form in entry.said:
            key = spelled(form)
            assert key, f"{form!r} of {entry.term!r} has no letters"
            assert owner.setdefault(key, entry.term) == entry.term, f"{form!r}: {entry.term} and {owner[key]}"


def test_every_form_is_found_as_its_own_term(lexicon: Lexicon) -> None:
    lost = [
        (entry.kind, form)
        for entry in ours(lexicon)
        for form in (*entry.said, entry.term.upper(), entry.term.replace(" ", "-"))
        if lexicon.lookup(form, entry.kind) is not entry
    ]
    assert lost == []


def test_terms_are_lower_case_and_without_stray_spaces(lexicon: Lexicon) -> None:
    odd = [f for e in ours(lexicon) for f in e.said if f != " ".join(f.lower().split())]
    assert odd == []


def test_no_word_of_level_and_no_ordinary_word(lexicon: Lexicon) -> None:
    excused = {"texture": LEVEL_WORDS_THAT_ARE_TEXTURES, "process": PROCESS_NOUNS}
    keys = {spelled(word): word for word in FORBIDDEN}
    hits = [
        (entry.kind, form)
        for entry in ours(lexicon)
        for form in entry.said
        if keys.get(spelled(form), "") not in excused.get(entry.kind, set()) | {""}
    ]
    assert hits == []


@pytest.mark.parametrize(
    ("said", "term"),
    [
        ("lemony", "lemon"),
        ("smoky", "smoke"),
        ("oaky", "oak"),
        ("nutty", "nutty"),
        ("floral", "floral"),
        ("kero", "petrol"),
        ("gooseberries", "gooseberry"),
        ("wet wool", "wet wool"),
        ("struck matchstick", "struck match"),
        ("cassis", "blackcurrant"),
        ("bell pepper", "green pepper"),
        ("yogurt", "yoghurt"),
        ("Crème brûlée", "crème brûlée"),
        ("tomato leaves", "tomato leaf"),
        ("wet leaves", "wet leaf"),
        ("saline", "saline"),
        ("old books", "old book"),
    ],
)
def test_how_tasters_say_it(lexicon: Lexicon, said: str, term: str) -> None:
    found = lexicon.lookup(said, "descriptor")
    assert found is not None
    assert found.term == term


@pytest.mark.parametrize("word", ["chair", "velcro", "traffic light", "anvil", "must", "match"])
def test_what_is_no_descriptor(lexicon: Lexicon, word: str) -> None:
    assert lexicon.lookup(word, "descriptor") is None


def test_words_of_two_kinds_keep_both(lexicon: Lexicon) -> None:
    for word, kinds in {
        "lemon": ("descriptor", "hue"),
        "skin contact": ("process", "colour"),
        "creamy": ("descriptor", "texture"),
        "straw": ("descriptor", "hue"),
        "rose": ("descriptor", "hue"),
    }.items():
        for kind in kinds:
            assert lexicon.lookup(word, kind), f"{word} as {kind}"


def test_forms_marked_ambiguous_are_forms_of_their_term(lexicon: Lexicon) -> None:
    marked = [entry for entry in lexicon.of_kind("descriptor") if "ambiguous" in entry.data]
    assert marked
    assert [e.term for e in marked if not set(e.data["ambiguous"]) <= set(e.said)] == []


def test_faults_say_where_their_numbers_are_from(lexicon: Lexicon) -> None:
    for fault in lexicon.of_kind("fault"):
        assert fault.data["compound"], fault.term
        assert fault.data["threshold"], fault.term
        assert "(seen" in fault.data["source"] or "from memory)" in fault.data["source"], fault.term


def test_hints_of_faults_are_descriptors(lexicon: Lexicon) -> None:
    for fault in lexicon.of_kind("fault"):
        for hint in fault.data["hints"]:
            found = lexicon.lookup(hint, "descriptor")
            assert found is not None, f"{fault.term}: {hint}"
            assert found.term == hint, f"{fault.term}: {hint}"


def test_a_smell_alone_names_no_fault(lexicon: Lexicon) -> None:
    smells = [
        "wet cardboard",
        "cooked",
        "vinegar",
        "barnyard",
        "struck match",
        "rotten egg",
        "bruised apple",
        "smoke",
    ]
    assert [s for s in smells if lexicon.lookup(s, "fault")] == []


def test_no_word_names_a_fault_and_a_smell(lexicon: Lexicon) -> None:
    faults = {spelled(form) for entry in lexicon.of_kind("fault") for form in entry.said}
    smells = [form for entry in lexicon.of_kind("descriptor") for form in entry.said]
    assert [form for form in smells if spelled(form) in faults] == []


# The path of trade-facts.md section 6: reds after Grainger, Wine Faults and Flaws, 2.5.4.3; whites by slow
# oxidation of phenols.
@pytest.mark.parametrize(
    "path",
    [
        ["purple", "ruby", "brick", "tawny", "brown"],
        ["purple", "ruby", "garnet", "mahogany"],
        ["lemon-green", "gold", "amber", "brown"],
        ["lemon", "straw", "yellow", "deep gold", "amber"],
        ["pink", "salmon", "onion skin", "copper"],
    ],
)
def test_hues_stand_in_order_of_age(lexicon: Lexicon, path: list[str]) -> None:
    found = [lexicon.lookup(hue, "hue") for hue in path]
    assert all(found)
    orders = [entry.data["order"] for entry in found if entry]
    assert orders == sorted(set(orders))


def test_hues_have_an_order_and_known_colours(lexicon: Lexicon) -> None:
    colours = {entry.family for entry in lexicon.of_kind("colour")}
    for hue in lexicon.of_kind("hue"):
        assert 0 <= hue.data["order"] <= 10, hue.term
        assert set(hue.data.get("also", [])) <= colours - {hue.family}, hue.term


def test_a_hue_leaves_rim_and_paleness_to_others(lexicon: Lexicon) -> None:
    swallowed = [
        f for e in lexicon.of_kind("hue") for f in e.said if {"rim", "edge", "pale"} & set(f.split())
    ]
    assert swallowed == []
