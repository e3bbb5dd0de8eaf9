"""Spellings made readable for espeak-ng: whose language a word is, and respellings. For make.py alone.

Own work, from how the languages are written; nothing here is copied from a word list.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from dictate.language.tokens import fold

# espeak's voice of a language -> countries of origins whose names are in it
_COUNTRIES = {
    "fr-fr": "France,Belgium,Luxembourg,Morocco,Algeria,Tunisia,Lebanon",
    "it": "Italy,Malta",
    "es": "Spain",
    "es-419": "Argentina,Chile,Uruguay,Mexico,Bolivia,Peru,Venezuela",
    "de": "Germany,Austria,Liechtenstein,Luxembourg",
    "pt": "Portugal",
    "pt-br": "Brazil",
    "el": "Greece,Cyprus",
    "hu": "Hungary",
    "ro": "Romania,Moldova",
    "hr": "Croatia,Bosnia and Herzegovina,Serbia,Montenegro,Kosovo,North Macedonia,Ukraine,Russia",
    "sl": "Slovenia",
    "sk": "Slovakia",
    "cs": "Czechia",
    "pl": "Poland",
    "bg": "Bulgaria",
    "ka": "Georgia",
    "tr": "Turkey",
    "af": "South Africa,Namibia",
    "nl": "Belgium,Netherlands",
    "sq": "Albania",
    "da": "Denmark",
    "sv": "Sweden",
    "nb": "Norway",
    "?": "Switzerland",  # French, German or Italian: the spelling tells
}
VOICES: dict[str, list[str]] = {}
for _voice, _names in _COUNTRIES.items():
    for _name in _names.split(","):
        VOICES.setdefault(_name, []).append(_voice)
_ENGLISH = (
    "United States,Australia,New Zealand,United Kingdom,Ireland,Canada,South Africa,India,Kenya,Zimbabwe"
)
ENGLISH = frozenset(_ENGLISH.split(","))
# what betrays the language of a grape's name; the first that matches tells
_GUESSES = (
    ("el", r"[α-ω]|(iko|oudi|oudo|aki|itis|iotis|atis|ofilero|mavro|aspro|idi)$|^(mavr|aspr|xino|kydo)"),
    ("bg", r"[а-я]"),
    ("ka", r"(uri|uli|eli|shvili|dze|vani|tura|hari|kha|tska|svili)$|^(mts|rk|kh|tsol|ojal|dzv|chkh)"),
    ("hu", r"[őű]|szőlő|leány|fehér|(levelű|ska|fekete|nyelű)$|^(kék|cse|sár|gyön|zala|királ)"),
    ("cs", r"[ěřůťžš]|ý$|(ské|ské|ová)$"),
    ("hr", r"[čćđ]|(ica|jak|[vp]ac|uša|enka|nica|inka|anka|sevka|nka)$"),
    ("ro", r"[ășțţş]|(ească|oasă|neagră|albă)$"),
    ("tr", r"[ığ]|(karası|kara|dede|gözü)$"),
    ("pt", r"[ãõ]|(inho|inha|eiro|eira|ão|nho|nha|lho|lha|ança|ês)$"),
    ("es", r"ñ|(illo|illa|ejo|eja|uela|ón|ín|azo|airén)$"),
    ("de", r"[äöüß]|(ling|burg|trauben?|rebe|weisse|els|ich|blau|[^i]er|ieser)$|^(weiss|blau|gelb|rot)"),
    ("it", r"[àìòù]|([oai]|one|ese|ale|ole|ice|ore|are|arie|ite)$"),
    ("fr", r"[èêëôœîûçïéâ]|(ot|et|eau|ier|eux|aux|oir|ais|ard|as|blanc|noir|gris|on|ay|e|es)$"),
)  # fmt: skip

# Latin letters back into the script that the voice reads; longest first
_GREEK = (
    "th θ,ch χ,ph φ,ps ψ,ou ου,ai αι,ei ει,oi οι,mp μπ,nt ντ,gk γκ,ts τσ,tz τζ,kh χ,av αυ,ev ευ,af αυ,x ξ,"
    "a α,b μπ,c κ,d δ,e ε,f φ,g γ,h χ,i ι,j τζ,k κ,l λ,m μ,n ν,o ο,p π,q κ,r ρ,s σ,t τ,u ου,v β,w β,y υ,z ζ"
)
_BULGARIAN = (
    "sht щ,zh ж,ts ц,ch ч,sh ш,ya я,yu ю,ia я,iya ия,"
    "a а,b б,c ц,d д,e е,f ф,g г,h х,i и,j ж,k к,l л,m м,n н,o о,"
    "p п,q к,r р,s с,t т,u у,v в,w в,x кс,y й,z з"
)
_GEORGIAN = (
    "gh ღ,kh ხ,ts ც,dz ძ,ch ჩ,sh შ,zh ჟ,tch ჭ,"
    "a ა,b ბ,c ც,d დ,e ე,f ფ,g გ,h ჰ,i ი,j ჯ,k კ,l ლ,m მ,n ნ,o ო,p პ,"
    "q ყ,r რ,s ს,t ტ,u უ,v ვ,w ვ,x ხ,y ი,z ზ"
)
_SCRIPTS = {"el": _GREEK, "bg": _BULGARIAN, "ka": _GEORGIAN}
FOREIGN = re.compile("[^a-zß-žșț'·!.0-9-]")  # Greek and Cyrillic: no English voice reads them


def native_voices(places: Iterable[tuple[str, str]], word: str) -> tuple[str, ...]:
    """Espeak voices that may know the word, at most three.

    `places`: (kind, family) of the entries the word stands in. A word that also stands in an entry of an
    English-speaking country or of no country at all is English, or is left to by-hand.toml.
    """
    countries = {family for kind, family in places if kind == "origin"}
    if {kind for kind, _ in places} - {"origin", "grape"} or countries & ENGLISH - {"South Africa"}:
        return ()
    voices: list[str] = []
    for country in sorted(countries):
        voices += VOICES.get(country, [])
    if not countries or "?" in voices:
        voices = [v for v in voices if v != "?"] + [guess_voice(word)]
    return tuple(dict.fromkeys(v for v in voices if v))[:3]


def guess_voice(word: str) -> str:
    """The language a grape's name seems to be in, by its spelling; "" where nothing tells."""
    return next((voice for voice, pattern in _GUESSES if re.search(pattern, word)), "")


def in_script(word: str, voice: str) -> str:
    """The word in the script that the voice reads: "mavrud" for bg -> "мавруд"."""
    pairs: dict[str, str] = dict(pair.split() for pair in _SCRIPTS.get(voice, "").split(",") if pair)
    if not pairs or not re.search("[a-z]", fold(word)):
        return word
    pattern = "|".join(sorted(pairs, key=len, reverse=True))
    script = re.sub(pattern, lambda m: pairs[m.group()], fold(word))
    return re.sub("σ(?![α-ω])", "ς", script)


# onsets that espeak's English reads as letters, and what an English mouth makes of them
_ONSETS = (
    (r"tx", "ch"), (r"^cs|^cj|^cz", "ch"), (r"^([bdgkz])h(?=[^aeiouy])|^([dk])h", r"\1\2"),
    (r"^([^aeiouy])\1", r"\1"),
    (r"(?<![aeiouy])([bcdfghkmptv])r(?=[^aeiouyh])", r"\1ur"), (r"lj", "ly"),
    (r"(?<=[dnvs])j(?=[aeou])", "y"),
    (r"^zl(?=t)", "zul"),
)  # fmt: skip
_ENGLISH_ONSET = re.compile(
    "([bcdfgjklmnprstvwyz]|qu|[bcfgps]l|[bcdfgpt]r|str?|spr?|spl|sch?r?|chl|mc|sk|skr|squ|sm|sn|sw|sph|sh|shr|ch|chr|ph|"
    "phl|phr|th|thr|wh|wr|kn|kl|kr|gn|gh|gw|kw|dw|tw|ts|ps|pt|h|x|rh|tz|schw|schl|schm|schn|vr|zw)?(?=[aeiouy])"
)
_LETTER = dict(zip("bcdfghklmnprstvwxz", "b s d f ɡ h k l m n p ɹ s t v w z z".split(), strict=True))
# said letter by letter, rightly
ABBREVIATIONS = set("bbq cdp cdr dms lbv mdmp mlf msg nz pvc px tba tca tcp uk usa vdn vqa ipa".split())


def readable(word: str, *, open_e: bool) -> tuple[str, str]:
    """Phones to put in front, and the folded spelling that an English voice can read.

    espeak spells out onsets that English lacks ("rkatsiteli" as "R, katsiteli"): the strange consonants
    become phones, or the onset is respelled ("krk" -> "kurk", "txakoli" -> "chakoli"). `open_e`: the word's
    language has no mute e, so its end is spelled "ay" ("sangiovese").
    """
    spelling, front = fold(word), ""
    if spelling in ABBREVIATIONS:
        return front, spelling
    spelling = re.sub(r"[!.·]", "", spelling)
    for pattern, new in _ONSETS:
        spelling = re.sub(pattern, new, spelling)
    while len(spelling) > 2 and spelling[0] in _LETTER and not _ENGLISH_ONSET.match(spelling):
        front, spelling = front + _LETTER[spelling[0]], spelling[1:]
    if open_e and re.search("[aeiouy].*[^aeiouy-]e$", spelling):
        spelling = spelling[:-1] + "ay"
    return front, spelling
