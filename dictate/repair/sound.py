"""How written words sound, roughly: a rule-based key in which alike sounds are near. Pure.

A key is made for an edit distance with equal weights. A consonant is two letters, its class and itself
("P" "p", "P" "b"), so that another consonant of the class costs 1 and any other 2; a vowel is one letter
of five, so that a wrong or missing vowel costs 1. `h`, `y`, an `r` that half of all speakers drop and the
end of "-ing" are one letter too. The rules are our own, from the ordinary spelling rules of each language.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Literal

from dictate.language.tokens import split_word

Reading = Literal["english", "french", "italian", "german", "iberian"]

# Rules "place sounds", tried in order at each letter; no rule fits: the letter is silent. Sounds: consonants
# p b f v t d 0 (th) s S (sh, ch) J k g m n l r w h y, vowels i e a o u; R: an r that closes a syllable,
# G: the end of -ing; -: none. Doubled letters are made single before, but for c, g, l, r, s and z.
_ENGLISH = """
tch S | ^sch(?=[eiln]) S | sch sk | chr kr | ch S | ^kn n
^gn n | ^wr r | ^ps s | ^x s | x ks | ck k | cqu kw
que$ k | qu kw | cc(?=[eiy]) ks | cc k | sc(?=[eiy]) s | ci(?=[aou]) S | c(?=[eiy]) s | c k
dge? J | (?<=[aeiou])ghts?$ t | (?<=[aeiou])gh(?=t) - | (?<=[aeiou])gh$ -
gh g | gn$ n | g(?=[eiy](?!v|t|r|ll)) J | g g
ssion Son | sion Son | tion Son | ti(?=[ao]) S | ture$ SoR | sure$ SoR | sh S
ss s | s s | z s | th 0 | ng$ nG | mb$ m | mn$ m
j J | wh w | eau o | ough o | aigh e | eigh e | igh i | alk(?=y?s?$) ok | olk$ ok
augh o | aw o | au o | ai e | ay e | ea i | ee i | eu u
ew u | ey$ i | ei e | ie i | oa o | oe o | oi oi | oy oi | oo u
ou u | ow(?=[^aeiouy]|$) o | ue$ u | ui u | (?<=[^aeiouy])le$ ol | (?<=[^aeiouy])les$ ols
(?<=[aeiouyrlnstcgvdmkpbz])e$ - | (?<=[aeiou])r(?![aeiouyr]) R | rr r
^y y | (?<=[aeiou])y(?=[aeiou]) y | (?<=[nl])y(?=[aeou]) y | y i
ph f | w(?=[aeiouy]) w | w - | a a | e e | i i | o o | u o
b b | d d | f f | h h | k k | l l | m m | n n | p p | r r | t t | v v
"""
_FRENCH = """
ch S | ^h - | h - | ph f | th t | gn(?=[aeiou]) ny
gu(?=[eiy]) g | g(?=[eiy]) J | g g | ge(?=[ao]) J | j J | qu k
sc(?=[eiy]) s | c(?=[eiy]) s | ck k | c$ k | c k | ss s | x$ - | x ks | z$ - | z s | tion sion
[sdt]+$ - | (?<=[^aeiouy])es$ - | es$ - | ent$ on | p$ - | (?<=[aeiou])r(?![aeiouyr]) R | rr r
eaux? o | aux? o | oeu u | ouill uy | eill ey | aill ay
ille?s?$ iy | ill iy | oin wan | oi wa | oy way | ou u | eu u
ain an | aim am | ein an | ai e | ay e | ei e | ey e
[ei]n(?=[^aeiouyn]) on | er$ e | ez$ e | e$ - | ^y i | y i | s s
a a | e e | i i | o o | u u | b b | d d | f f | k k | l l | m m | n n | p p | r r | t t | v v | w v
"""
_ITALIAN = """
ch k | gh g | gli(?=[aeou]) ly | gl(?=i) l | gn ny
sci(?=[aou]) S | sc(?=[ei]) S | cc?i(?=[aou]) S | cc?(?=[ei]) S | cc? k
ggi?(?=[aou]) J | gi(?=[aou]) J | gg?(?=[ei]) J | g g | qu kw | zz ts | z ts
ss s | s s | h - | x ks | j y | y i | w v | ph f
(?<=[aeiou])r(?![aeiouyr]) R | rr r | a a | e e | i i | o o | u u
b b | d d | f f | k k | l l | m m | n n | p p | r r | t t | v v
"""
_GERMAN = """
tsch S | sch S | ^sp Sp | ^st St | chs ks | ch k | ck k | ph f
th t | tz ts | z ts | ss s | s s | x ks | qu kv | c(?=[eiy]) ts | c k
(?<=[aeiou])h - | h h | w v | ^v f | v f | j y | ig$ ik | g g
ei i | ai i | ie i | eu oi | au o | y i | d$ t | b$ p | ng$ nG
(?<=[aeiou])r(?![aeiouyr]) R | rr r | a a | e e | i i | o o | u u
b b | d d | f f | k k | l l | m m | n n | p p | r r | t t
"""
_IBERIAN = """
ch S | ll y | nh ny | lh ly | qu(?=[ei]) k | qu kw | gu(?=[ei]) g
g(?=[ei]) h | g g | j h | h - | x S | z s | c(?=[ei]) s | c k
tx S | tz s | ss s | s s | v b | w w | ^y y | (?<=[aeiou])y(?=[aeiou]) y | y i | ph f | ao$ o
(?<=[aeiou])r(?![aeiouyr]) R | rr r | a a | e e | i i | o o | u u
b b | d d | f f | k k | l l | m m | n n | p p | r r | t t
"""
_CODES = {
    "p": "Pp", "b": "Pb", "f": "Ff", "v": "Fv", "t": "Tt", "d": "Td", "0": "Tz", "s": "Ss", "S": "Xc",
    "J": "Xj", "k": "Kk", "g": "Kg", "m": "Nm", "n": "Nn", "l": "Ll", "r": "Rr", "w": "Ww",
    "h": "H", "y": "Y", "R": "R", "G": "G", "i": "i", "e": "e", "a": "a", "o": "o", "u": "u",
}  # fmt: skip


_FIRST = re.compile(r"(?:\^|\(\?<[^)]*\))*(?:\[(\w+)\]|(\w))")  # the letters at which a rule can begin


def _compile(rules: str) -> dict[str, tuple[re.Pattern[str], tuple[str, ...]]]:
    """For each letter its rules as one alternation with a group each, and their sounds as key letters."""
    by_letter: dict[str, list[tuple[str, str]]] = {}
    for rule in (rule.split() for line in rules.strip().splitlines() for rule in line.split(" | ")):
        place, sound = rule
        first = _FIRST.match(place)
        if first is None:
            raise ValueError(f"no rule: {place}")
        code = "".join(_CODES[s] for s in sound if s != "-")
        for letter in first.group(1) or first.group(2):
            by_letter.setdefault(letter, []).append((place, code))
    return {
        letter: (re.compile("|".join(f"({place})" for place, _ in own)), tuple(code for _, code in own))
        for letter, own in by_letter.items()
    }


_RULES = {
    "english": _compile(_ENGLISH),
    "french": _compile(_FRENCH),
    "italian": _compile(_ITALIAN),
    "german": _compile(_GERMAN),
    "iberian": _compile(_IBERIAN),
}
_SILENT = (re.compile("(?!)"), ("",))
_DOUBLED = re.compile(r"([abdfhkmnptvxy])\1")
_SAME_SOUND = re.compile(r"([a-z])\1|(Pp|Pb|Tt|Td|Ss|Kk|Nn|Nm|Ll|Rr)\2")


@lru_cache(maxsize=65536)
def word_key(piece: str, reading: Reading = "english") -> str:
    """The key of one token (folded, no space), read by the spelling rules of a language."""
    rules = _RULES[reading]
    piece = _DOUBLED.sub(r"\1", piece.replace("'", ""))
    sounds: list[str] = []
    place = 0
    while place < len(piece):
        pattern, codes = rules.get(piece[place], _SILENT)
        match = pattern.match(piece, place)
        if match and match.lastindex:
            sounds.append(codes[match.lastindex - 1])
            place = match.end()
        else:
            place += 1
    return "".join(sounds)


@lru_cache(maxsize=65536)
def sound_key(text: str, reading: Reading = "english") -> str:
    """The key of one or more words, said as one; "" for text without letters.

    Where one word ends with the sound with which the next begins, it is heard once.
    """
    pieces = (p for word in text.split() for p in split_word(word)[0] if p.replace("'", "").isalpha())
    return _SAME_SOUND.sub(lambda m: m.group(1) or m.group(2), "".join(word_key(p, reading) for p in pieces))
