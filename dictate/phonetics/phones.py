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
    "tʃ": "ʧ", "dʒ": "ʤ", "tɕ": "ʧ", "dʑ": "ʤ", "aɪ": "I", "aʊ": "W", "ɔɪ": "O", "ɔʏ": "O", "eɪ": "e", "oʊ": "o",
    "əʊ": "o", "ai": "I", "au": "W", "aɛ": "I", "ɑɪ": "I", "ɑʊ": "W", "ɔø": "O", "ɔʊ": "o", "ɛɪ": "e", "ei": "e",
    "ou": "o", "oi": "O", "ɔi": "O", "ɑ̃": "ɑ~", "ɔ̃": "ɔ~", "ɛ̃": "æ~", "œ̃": "ʌ~", "ɐ̃": "ʌ~", "ã": "a~", "õ": "o~", "ũ": "u~",
    "ẽ": "e~", "ĩ": "i~", "ɚ": "ər", "ɝ": "ɜr", "n̩": "ən", "l̩": "əl", "m̩": "əm",
    "ɡ": "g", "ɹ": "r", "ʁ": "r", "ʀ": "r", "ɻ": "r", "ɲ": "nj", "ʎ": "lj", "ɫ": "l", "ɭ": "l", "ɬ": "l", "ʟ": "l",
    "β": "v", "ʋ": "v", "ⱱ": "v", "ɸ": "f", "ɣ": "g", "ç": "x", "χ": "x", "ʝ": "j", "ɟ": "g", "c": "k", "q": "k", "ɕ": "ʃ",
    "ʑ": "ʒ", "ʂ": "ʃ", "ʐ": "ʒ", "ɦ": "h", "ħ": "h", "ʔ": "", "ɱ": "m", "ɳ": "n", "ɖ": "d", "ʈ": "t", "ʍ": "w", "ɥ": "w",
    "ᵻ": "ɪ", "ɨ": "ɪ", "ɐ": "ə", "ɘ": "ə", "ɵ": "ʊ", "ɤ": "ʌ", "ɯ": "u", "ʉ": "u", "œ": "ø", "ɶ": "ø", "ʏ": "y", "ɞ": "ɜ",
}  # fmt: skip
_PATTERN = re.compile("|".join(sorted(_READ, key=len, reverse=True)) + "|.", re.DOTALL)
_DROPPED = re.compile("[ˈˌːˑ.ʰʷʲˠˤ˞\u0361\u035c\u0329\u032f\u0325\u032a\u0306\u0308\u031d\u031e\u0320-\u0324]")
_TIED = re.compile("[\u0361\u035c]")
_SYLLABIC = re.compile("([nlm])\u0329")
_WEAK_R = re.compile(f"(?<=[{VOWELS}])r(?![{VOWELS}])")
_TWICE = re.compile(r"(.)\1+")


@lru_cache(maxsize=65536)
def read_ipa(text: str) -> str:
    """IPA of one or more words as a string of phones; what is no phone is left out.

    "ɡəˈvʊɹtstʁamɪnɚ" -> "gəvʊɹtstraminəɹ". A sound doubled across words is heard once.
    """
    text = unicodedata.normalize("NFC", _TIED.sub("", text))
    text = _SYLLABIC.sub(r"ə\1", unicodedata.normalize("NFD", text))
    text = _DROPPED.sub("", text)
    text = _recomposed(text)
    phones = "".join(_READ.get(m.group(), m.group()) for m in _PATTERN.finditer(text))
    return tidy("".join(p for p in phones if p in PHONES))


def tidy(phones: str) -> str:
    """Doubled phones once; an r behind a vowel and before none is weak."""
    return _WEAK_R.sub("ɹ", _TWICE.sub(r"\1", phones))


def _recomposed(text: str) -> str:
    """Decomposed text with ç and nasal vowels as the table spells them, other marks left out."""
    text = text.replace("c\u0327", "ç")
    for vowel in "aoueiɑɔɛœɐ":
        text = text.replace(f"{vowel}\u0303", unicodedata.normalize("NFC", f"{vowel}\u0303"))
    return "".join(c for c in text if not unicodedata.combining(c) or c == "\u0303")
