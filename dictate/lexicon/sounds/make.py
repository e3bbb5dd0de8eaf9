"""Makes the sounds of the lexicon's words: one TOML file a kind, beside by-hand.toml. A developers' script.

    python dictate/lexicon/sounds/make.py            writes grape.toml, origin.toml, descriptor.toml ...
    python dictate/lexicon/sounds/make.py --audit    lists readings that look absurd

Needs Debian's espeak-ng 1.51. What stands in by-hand.toml is not made; a word that by hand is spelled with
other accents, or is put together of by-hand pieces ("gevrey-chambertin", "d'alba"), takes its sounds there.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path

from dictate.language.tokens import fold
from dictate.lexicon.load import load_lexicon
from dictate.lexicon.sounds.spelling import ABBREVIATIONS, FOREIGN, in_script, native_voices, readable

HERE = Path(__file__).parent
# a word that stands in entries of several kinds is written into the file of the first of these
KINDS = ("descriptor", "texture", "hue", "fault", "process", "style", "colour", "grape", "origin")
OPEN_E = {"it", "es", "es-419", "pt", "pt-br", "el", "ka", "hu", "hr", "sl", "ro", "bg", "tr"}
HEAD = """# Made by make.py (espeak-ng 1.51): do not edit; what is wrong here is put right in by-hand.toml.
# IPA, ordered: as a reader of English says it, the same with its accents left to the machine, then by
# voices of the word's language.

[sounds]
"""
# French and Italian words that lean on the next
_CLITICS = {
    "d": "d", "l": "l", "dell": "dɛl", "nell": "nɛl", "all": "al", "sant": "sant", "qu": "k", "s": "s",
    "n": "n", "dall": "dal", "sull": "sul", "v": "v", "o": "oʊ",
}  # fmt: skip
# espeak's narrow marks, made broad ("??" is how its German writes the vowel of "Burg")
_BROAD = (
    (r"\?\?", "ʊɾ"), (r"\([a-z-]+\)", ""), ("r\u031d", "rʒ"), ("[ˌ0-9‿ \u0361\u0329\u032aʲʰˑˤˀ'_~-]", ""),
    ("[ᵻɨ]", "ɪ"),
    ("ʔn", "tən"), ("ɟ", "dj"), ("(?<![tds])c", "tj"), ("ɕ", "ʃ"), ("ʑ", "ʒ"), ("ʂ", "ʃ"), ("ʐ", "ʒ"),
    ("[ʋⱱ]", "v"),
    ("ɦ", "h"), ("[ʉɯ]", "u"), ("ʏ", "y"), ("[ɫɭɬ]", "l"), ("ɱ", "m"), ("ʝ", "j"), ("χ", "x"),
    ("ʀ|ʁ\u032f", "ʁ"),
    ("ɶ", "œ"), ("ʈ", "t"), ("ɖ", "d"), ("[ɵɞ]", "ə"), ("ʔ", ""), ("g", "ɡ"), ("ɹɹ", "ɹ"), ("ʎʎ", "ʎ"),
    ("ææ", "æ"),
)  # fmt: skip


def read_aloud(texts: Iterable[str], voice: str) -> dict[str, str]:
    """IPA of each text by one espeak-ng voice, made broad; "" where the voice falls back to English.

    Raises FileNotFoundError where espeak-ng is not installed.
    """
    lines = sorted(set(texts))
    if not lines:
        return {}
    run = ["espeak-ng", "-q", "--ipa", "-v", voice]
    done = subprocess.run(run, input="\n".join(lines) + "\n", capture_output=True, text=True, check=True)
    said = done.stdout.split("\n")[: len(lines)]
    native = voice != "en-us"
    return {
        t: "" if native and "(" in s else broad(s, native=native) for t, s in zip(lines, said, strict=True)
    }


def broad(ipa: str, *, native: bool) -> str:
    """espeak's IPA without narrow marks and minor stress; English r is written behind "ɜː" too."""
    for pattern, new in _BROAD:
        ipa = re.sub(pattern, new, ipa)
    return ipa if native else re.sub("ɜː(?!ɹ)", "ɜːɹ", ipa).replace("ɐ", "ə")


@cache
def places_of_words() -> Mapping[str, tuple[tuple[str, str], ...]]:
    """Every word of every spoken form, lower case, with (kind, family) of the entries it stands in."""
    places: dict[str, dict[tuple[str, str], None]] = {}
    for entry in load_lexicon().entries:
        for word in " ".join(entry.said).lower().split():
            places.setdefault(word, {})[entry.kind, entry.family] = None
    return {word: tuple(found) for word, found in sorted(places.items())}


def by_hand() -> dict[str, list[str]]:
    """The hand-made sounds: word or whole form -> IPA."""
    table: dict[str, list[str]] = tomllib.loads((HERE / "by-hand.toml").read_text(encoding="utf-8"))["sounds"]
    return table


def pieces(word: str) -> list[str]:
    """A word cut at hyphens and behind leaning particles: "saint-martin-d'arc" -> saint, martin, d', arc."""
    clitics = "|".join(_CLITICS)
    return [p for p in re.split(rf"-|(?<![^\W\d_])((?:{clitics})['’])(?=[^\W\d_]{{2}})", word) if p]


def say_words(words: Iterable[str]) -> dict[str, list[str]]:
    """word -> IPA strings, the English reader's first; for any words of the lexicon not made by hand."""
    hand, places = by_hand(), places_of_words()
    folded = {fold(key): sounds for key, sounds in reversed(hand.items())}
    wanted = [w for w in words if w not in hand]
    cut = {w: pieces(w) for w in wanted}
    known = {w: [hand.get(p) or _folded_sounds(p, folded) for p in cut[w]] for w in wanted}
    mixed = {w for w in wanted if any(known[w])}
    loose = {p: places.get(p) or places[w] for w in mixed for p in cut[w]}
    made = espeak_sounds({w: places[w] for w in wanted if w not in mixed} | loose)
    for word in mixed:
        parts = [k or _clitic(p) or made[p] for k, p in zip(known[word], cut[word], strict=True)]
        made[word] = joined(parts)
    return {w: made[w] for w in wanted}


def _folded_sounds(piece: str, folded: Mapping[str, list[str]]) -> list[str] | None:
    """By-hand sounds of a piece under other accents; short words differ by their accents too often."""
    return folded.get(fold(piece)) if len(piece) > 3 else None


def _clitic(piece: str) -> list[str] | None:
    return [_CLITICS[piece[:-1]]] if piece[-1] in "'’" and piece[:-1] in _CLITICS else None


def joined(parts: list[list[str]]) -> list[str]:
    """Sounds of a compound: variant i of each piece, clamped to its last."""
    rows = range(max(len(p) for p in parts))
    return list(dict.fromkeys("".join(p[min(i, len(p) - 1)] for p in parts) for i in rows))


def espeak_sounds(words: Mapping[str, tuple[tuple[str, str], ...]]) -> dict[str, list[str]]:
    """word -> IPA strings by machine, from the places the word stands in."""
    voices = {w: native_voices(places, w) for w, places in words.items()}
    latin = [w for w in words if not FOREIGN.search(fold(w))]
    front = {w: readable(w, open_e=bool(OPEN_E & set(voices[w])) and "fr-fr" not in voices[w]) for w in latin}
    english = read_aloud([s for _, s in front.values()] + [fold(w) for w in latin] + latin, "en-us")
    native = {
        voice: read_aloud([in_script(w, voice) for w in words if voice in voices[w]], voice)
        for voice in sorted({v for found in voices.values() for v in found})
    }
    sounds: dict[str, list[str]] = {}
    for word in words:
        said = []
        if word in front:
            before, spelling = front[word]
            said = [before + english[spelling]]
            if not before and spelling.rstrip("y") == fold(word).rstrip("e"):
                said.append(english[fold(word)])
            if len(re.sub(r"\W", "", fold(word))) == len(re.sub(r"\W", "", word)) and not spells_out(
                word, english[word]
            ):
                said.append(english[word])
        said += [native[v][in_script(word, v)] for v in voices[word]]
        sounds[word] = distinct(said)
    return sounds


def distinct(sounds: Iterable[str]) -> list[str]:
    """Sounds in order, without empty ones and those that differ in stress or length alone."""
    found: dict[str, str] = {}
    for sound in sounds:
        found.setdefault(re.sub("[ˈː]", "", sound), sound)
    found.pop("", None)
    return list(found.values())


def spells_out(word: str, ipa: str) -> bool:
    """Whether an English reading names letters instead of reading them, or adds or drops syllables."""
    plain, phones = re.sub("[^a-z]", "", fold(word)), re.sub("[ˈː]", "", ipa)
    if plain in ABBREVIATIONS or len(plain) < 2:
        return False
    names = dict(zip("bcdfghjklmnpqrstvwxz", _NAMES.split(), strict=True))
    named = plain[1] not in "aeiouy" and phones.startswith(names.get(plain[0], "-"))
    vowels, heard = len(re.findall("[aeiouy]+", plain)), len(re.findall("[iɪeɛæaɑʌɔɒoʊuəɜɚ]+", phones))
    mute = plain.endswith(("e", "es", "ed")) or re.search("[^aeiouy]e[^aeiouy]", plain) is not None
    return named or heard > vowels + 2 or heard < vowels - 1 - mute


_NAMES = "bi si di ɛf dʒi eɪtʃ dʒeɪ keɪ ɛl ɛm ɛn pi kju ɑɹ ɛs ti vi dʌbəl ɛks zi"


def write_all() -> str:
    """Writes the files of all kinds; returns a line of figures."""
    sounds, places, lines = say_words(places_of_words()), places_of_words(), dict.fromkeys(KINDS, "")
    for word, said in sounds.items():
        kinds = {kind for kind, _ in places[word]}
        kind = next(k for k in KINDS if k in kinds)
        lines[kind] += f"{quoted(word)} = [{', '.join(map(quoted, said))}]\n"
    for kind, text in lines.items():
        (HERE / f"{kind}.toml").write_text(HEAD + text, encoding="utf-8")
    hand = by_hand()
    return (
        f"{len(sounds)} words made, {sum(map(len, sounds.values()))} variants; "
        f"{len(hand)} by hand, {sum(map(len, hand.values()))} variants\n"
    )


def quoted(text: str) -> str:
    """A TOML string."""
    return json.dumps(text, ensure_ascii=False)


def audit() -> str:
    """A line for each made word whose first sound looks absurd, or that has none."""
    made = say_words(places_of_words())
    wrong = [
        w for w, said in made.items() if not said or (not FOREIGN.search(fold(w)) and spells_out(w, said[0]))
    ]
    return "".join(f"{w}: {' '.join(made[w])}\n" for w in wrong)


if __name__ == "__main__":
    sys.stdout.write(audit() if sys.argv[1:] == ["--audit"] else write_all())
