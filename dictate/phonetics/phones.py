"""Phones: a broad alphabet of one letter each, read from IPA of any language. Pure.

What listeners tell apart is kept, what only linguists do is not: length, stress, tones and most narrow
marks are dropped, diphthongs and affricates are one letter ("I" as in pie, "W" as in cow, "O" as in boy,
"ʧ", "ʤ"), "ɹ" is the r behind a vowel that half of all speakers of English drop, and "~" is the nasal
colour of a French vowel. Source of symbols: the chart of the International Phonetic Association, 2020.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

VOWELS = "iɪeɛæaɑʌɔɒoʊuəɜyøIWO"
CONSONANTS = "pbtdkgfvθðszʃʒhxmnŋlrɹwjʧʤɾ~"
PHONES = VOWELS + CONSONANTS

# tried at each place, the longest first
_READ = {
    "tʃ": "ʧ", "dʒ": "ʤ", "tɕ": "ʧ", "dʑ": "ʤ", "aɪ": "I", "aʊ": "W", "ɔɪ": "O", "ɔʏ": "O", "eɪ": "e",
    "oʊ": "o", "əʊ": "o", "ai": "I", "au": "W", "aɛ": "I", "ɑɪ": "I", "ɑʊ": "W", "ɔø": "O", "ɔʊ": "o",
    "ɛɪ": "e", "ei": "e", "ou": "o", "oi": "O", "ɔi": "O", "ɑ̃": "ɑ~", "ɔ̃": "ɔ~", "ɛ̃": "æ~", "œ̃": "ʌ~",
    "ɐ̃": "ʌ~", "ã": "a~", "õ": "o~", "ũ": "u~", "ẽ": "e~", "ĩ": "i~", "ɚ": "ər", "ɝ": "ɜr", "n̩": "ən",
    "l̩": "əl", "m̩": "əm", "ɡ": "g", "ɹ": "r", "ʁ": "r", "ʀ": "r", "ɻ": "r", "ɲ": "nj", "ʎ": "lj",
    "ɫ": "l", "ɭ": "l", "ɬ": "l", "ʟ": "l", "β": "v", "ʋ": "v", "ⱱ": "v", "ɸ": "f", "ɣ": "g", "ç": "x",
    "χ": "x", "ʝ": "j", "ɟ": "g", "c": "k", "q": "k", "ɕ": "ʃ", "ʑ": "ʒ", "ʂ": "ʃ", "ʐ": "ʒ", "ɦ": "h",
    "ħ": "h", "ʔ": "", "ɱ": "m", "ɳ": "n", "ɖ": "d", "ʈ": "t", "ʍ": "w", "ɥ": "w", "ᵻ": "ɪ", "ɨ": "ɪ",
    "ɐ": "ə", "ɘ": "ə", "ɵ": "ʊ", "ɤ": "ʌ", "ɯ": "u", "ʉ": "u", "œ": "ø", "ɶ": "ø", "ʏ": "y", "ɞ": "ɜ",
}  # fmt: skip
_PAIRS = re.compile("|".join(sorted((k for k in _READ if len(k) > 1), key=len, reverse=True)))
_SINGLE = str.maketrans({k: v for k, v in _READ.items() if len(k) == 1})
_UNMARKED = re.compile("[\u0361\u035cˈˌːˑ.ʰʷʲˠˤ˞]")  # ties join what is one letter here
_SYLLABIC = re.compile("([nlm])\u0329")
_NASAL = {v + "\u0303": unicodedata.normalize("NFC", v + "\u0303") for v in "aoueiɑɔɛœɐ"}
_MARK = re.compile("[\u0300-\u036f]")
_NO_PHONE = re.compile(f"[^{VOWELS}{CONSONANTS}]")
_WEAK_R = re.compile(f"(?<=[{VOWELS}])r(?![{VOWELS}])")
_TWICE = re.compile(r"(.)\1+")


@lru_cache(maxsize=65536)
def read_ipa(text: str) -> str:
    """IPA of one or more words as a string of phones; what is no phone is left out.

    "ɡəˈvʊɹtstʁamɪnɚ" -> "gəvʊɹtstraminəɹ". A sound doubled across words is heard once.
    """
    text = _UNMARKED.sub("", text)
    if not text.isascii():
        text = _recomposed(_SYLLABIC.sub(r"ə\1", unicodedata.normalize("NFD", text)))
    text = _PAIRS.sub(lambda m: _READ[m.group()], text).translate(_SINGLE)
    return tidy(_NO_PHONE.sub("", text))


def tidy(phones: str) -> str:
    """Doubled phones once; an r behind a vowel and before none is weak."""
    return _WEAK_R.sub("ɹ", _TWICE.sub(r"\1", phones))


def _recomposed(text: str) -> str:
    """Decomposed text with ç and nasal vowels as the table spells them, other marks left out."""
    if not _MARK.search(text):
        return text
    text = text.replace("c\u0327", "ç")
    for apart, whole in _NASAL.items():
        text = text.replace(apart, whole)
    return "".join(c for c in text if not unicodedata.combining(c) or c == "\u0303")
