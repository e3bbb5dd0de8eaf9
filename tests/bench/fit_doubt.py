"""Fits the chances of `dictate/doubt` (dictate/lexicon/rules/doubt.toml) on spoken notes, and shows them.

    python tests/bench/fit_doubt.py ../shared/corpus tests/corpus/dev --keep DIR [--only-kept] [--write]
    python tests/bench/fit_doubt.py tests/corpus/held --keep DIR --per-note 1 --rooms quiet --as-is

Each note is spoken by machine voices, heard (what was heard before is used again: --keep) and its values
held against the gold by the scorer's rules. Of the texts one half, drawn, is fitted on, the other reported: a
text is in one half with all its voices and rooms. Logistic regression with a ridge (tests/bench/fit_cues.py).
Prints the calibration in ten bins, how good the order is (AUC; how many of the wrong values are among the
first five looked at), and the same for words that fed no field. --write puts weights fitted on all texts into
the table; the figures printed are of weights that never saw the text. --as-is fits nothing: the table as it
is, on all texts. Only sums are printed, no text and no difference, so that set-aside notes stay unseen.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit
from scipy.stats import rankdata

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.doubt import EVIDENCE, KINDS, doubt_table, evidence_of  # noqa: E402
from dictate.doubt.doubts import chance  # noqa: E402
from dictate.doubt.unread import (  # noqa: E402
    UNREAD_EVIDENCE,
    remarked_phrases,
    unread_chance,
    unread_evidence,
)
from dictate.lexicon import load_table  # noqa: E402
from dictate.note import TranscriptPhrase  # noqa: E402
from tests.bench.fit_cues import fit  # noqa: E402
from tests.bench.spoken_notes import Case, Heard, add_options, cases, is_right  # noqa: E402
from tests.scoring import LISTS, TERMS, at, plain, same, words_of  # noqa: E402

TABLE = ROOT / "dictate" / "lexicon" / "rules" / "doubt.toml"
ROUTINE, SHOWN = 0.9, 0.25
LOOKS = 5  # how many values somebody looks at
STRENGTH = 30.0  # of the ridge
UNSEEN = -1.0  # the weight of evidence that no note of the fit had: a sense check, words not found
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Rows:
    """Values (or phrases) of many notes: what is weighed (n, k), what came of it (n,), and the note and the
    text of each."""

    features: Floats
    right: NDArray[np.bool_]
    note: NDArray[np.int_]
    text: NDArray[np.str_]

    def of(self, texts: Sequence[str]) -> Rows:
        """Those of some texts."""
        mine = np.isin(self.text, texts)
        return Rows(self.features[mine], self.right[mine], self.note[mine], self.text[mine])


def rows(found: Sequence[tuple[Sequence[float], bool, int, str]]) -> Rows:
    """Made of single rows."""
    features, right, note, text = zip(*found, strict=True)
    return Rows(np.array(features), np.array(right), np.array(note), np.array(text))


def value_rows(made: Sequence[Case]) -> Iterator[tuple[tuple[float, ...], bool, int, str]]:
    """A row for each value of which the gold tells whether it is right."""
    for number, case in enumerate(made):
        for evidence in evidence_of(case.note):
            right = is_right(evidence.held, case)
            if right is not None:
                yield (*evidence.features, 1.0), right, number, case.name


def phrase_rows(made: Sequence[Case]) -> Iterator[tuple[tuple[float, ...], bool, int, str]]:
    """A row for each phrase that fed no field: was a gold value said in it that the note has not?"""
    for number, case in enumerate(made):
        lost = list(missing_terms(case))
        for phrase in remarked_phrases(case.note):
            said = words_of(" ".join(said_in(phrase, case)))
            yield (*unread_evidence(phrase), 1.0), any(one <= said for one in lost), number, case.name


def said_in(phrase: TranscriptPhrase, case: Case) -> Iterator[str]:
    """The lines that were really said while the phrase was heard, for most of it."""
    for line in case.spoken.lines:
        overlap = min(line.end_s, phrase.at[1]) - max(line.start_s, phrase.at[0])
        if overlap > 0.5 * (phrase.at[1] - phrase.at[0]) or overlap > 0.5 * (line.end_s - line.start_s):
            yield line.say


def missing_terms(case: Case) -> Iterator[frozenset[str]]:
    """The words of each gold term that the note does not have."""
    note = case.note.model_dump(mode="json", by_alias=True)
    for path in (*LISTS, "faults", *TERMS, "wine.origin", "wine.producer"):
        gold, given = at(case.gold, path), at(note, path)
        wanted = gold if isinstance(gold, list) and path in (*LISTS, "faults") else [gold] if gold else []
        have = [plain(x) for x in given] if isinstance(given, list) else [plain(given)] if given else []
        for one in wanted:
            if not any(same(term, one) for term in have):
                told = "|".join(one) if isinstance(one, list) else str(one)
                yield from (words_of(way) for way in told.split("|") if words_of(way))


def halves(texts: Sequence[str]) -> tuple[list[str], list[str]]:
    """To fit on, and to report: drawn, always the same."""
    order = sorted(set(texts))
    random.Random(8).shuffle(order)
    return sorted(order[::2]), sorted(order[1::2])


def fitted(data: Rows) -> Floats:
    """The weights that rows give, the bias last."""
    return fit(data.features, data.right, weights=np.ones(len(data.right)), strength=STRENGTH)


def auc(score: Floats, hit: NDArray[np.bool_]) -> float:
    """The chance that a hit has the higher score than one that is none (Mann and Whitney, 1947)."""
    n = int(hit.sum())
    if not n or n == len(hit):
        return float("nan")
    return float((rankdata(score)[hit].sum() - n * (n + 1) / 2) / (n * (len(hit) - n)))


def calibration(expected: Floats, right: NDArray[np.bool_]) -> str:
    """Ten bins of as many values each would hide the ends, so bins of equal width: expected, observed, count;
    and the mean gap weighted by count."""
    place = np.minimum((expected * 10).astype(int), 9)
    lines, gap = ["  chance      expected  observed  values"], 0.0
    for number in range(10):
        mine = place == number
        if not mine.any():
            lines.append(f"  {number / 10:.1f} to {(number + 1) / 10:.1f}        –         –       0")
            continue
        mean, seen = float(expected[mine].mean()), float(right[mine].mean())
        gap += abs(mean - seen) * int(mine.sum())
        lines.append(
            f"  {number / 10:.1f} to {(number + 1) / 10:.1f}"
            f"    {mean:.3f}     {seen:.3f}   {int(mine.sum()):5d}"
        )
    return "\n".join([*lines, f"  mean gap {gap / len(right):.3f} of {len(right)} values"])


def first_looks(expected: Floats, data: Rows) -> str:
    """How many of a note's wrong values are among the first LOOKS, and how much routine is left alone."""
    caught = 0
    for number in set(data.note.tolist()):
        mine = np.flatnonzero(data.note == number)
        caught += int((~data.right[mine[np.argsort(expected[mine])][:LOOKS]]).sum())
    wrong, sure = int((~data.right).sum()), expected >= ROUTINE
    notes = len(set(data.note.tolist()))
    return (
        f"  {caught} of {wrong} wrong values are among the first {LOOKS} of their note"
        f" ({notes} notes, {len(data.right) / notes:.1f} values each)\n"
        f"  {int(sure.sum())} of {len(sure)} values are routine (from {ROUTINE}),"
        f" {data.right[sure].mean():.3f} of them right; of the wrong ones"
        f" {int((~data.right & ~sure).sum())} are doubtful"
    )


def told(name: str, expected: Floats, data: Rows) -> str:
    """All figures of one set."""
    order = f"  order: AUC {auc(1 - expected, ~data.right):.3f}"
    return "\n".join([name, calibration(expected, data.right), order, first_looks(expected, data)])


def unread_told(name: str, expected: Floats, data: Rows) -> str:
    """The figures of phrases that fed no field."""
    shown = expected >= SHOWN
    return (
        f"{name}: {int(data.right.sum())} of {len(data.right)} phrases that fed no field hold a value that is"
        f" missing; AUC {auc(expected, data.right):.3f}; {int(shown.sum())} are shown,"
        f" {int((shown & data.right).sum())} of them rightly"
    )


def as_toml(values: Rows, phrases: Rows, *, command: str) -> str:
    """The table, with the command that made it."""
    weights, unread = fitted(values), fitted(phrases)
    usual = values.features.mean(axis=0)
    against = np.where(usual[: len(EVIDENCE)] == 0, UNSEEN, weights[: len(EVIDENCE)])

    def lines(names: Sequence[str], numbers: Sequence[float]) -> list[str]:
        return [f"{name} = {number:.4f}" for name, number in zip(names, numbers, strict=True)]

    made = [
        "# What speaks against a value, in log-odds (dictate/doubt/evidence.py tells what each name means)."
        " Made by",
        f"#   {command}",
        f"# on {len(values.right)} values of {len(set(values.note.tolist()))} spoken notes,"
        f" {len(set(values.text.tolist()))} texts.",
        f"# `given`, and a weight of {UNSEEN} beside a `usual` of 0: nothing to fit there; our judgement.",
        "",
        f"routine = {ROUTINE}  # from this chance on a value is not doubtful",
        f"bias = {weights[-1]:.4f}",
        "",
        "[weights]",
        *lines(EVIDENCE, against.tolist()),
        "",
        "[kind]",
        *lines(KINDS, weights[len(EVIDENCE) : -1].tolist()),
        "",
        "[usual] # the mean of each piece of evidence",
        *lines(EVIDENCE, usual[: len(EVIDENCE)].tolist()),
        "",
        "[given]",
        "listed = 0.95",
        "typed = 0.99",
        "",
        "[unread] # phrases that fed no field",
        f"shown = {SHOWN}  # from this chance on they are shown",
        f"bias = {unread[-1]:.4f}",
        *lines(UNREAD_EVIDENCE, unread[:-1].tolist()),
    ]
    return "\n".join(made) + "\n"


def as_it_is(made: Sequence[Case]) -> str:
    """The figures of the table as it is."""
    table = doubt_table(load_table("doubt"))
    values, phrases = rows(list(value_rows(made))), rows(list(phrase_rows(made)))
    expected = [
        chance(e, table)
        for case in made
        for e in evidence_of(case.note)
        if is_right(e.held, case) is not None
    ]
    unread = [unread_chance(phrase, table) for case in made for phrase in remarked_phrases(case.note)]
    return "\n".join(
        [
            told("the table as it is", np.array(expected), values),
            unread_told("unread", np.array(unread), phrases),
        ]
    )


def crossed(data: Rows) -> Floats:
    """The chance of each row by weights fitted without its text."""
    found = np.zeros(len(data.right))
    for text in sorted(set(data.text.tolist())):
        mine = data.text == text
        others = sorted(set(data.text.tolist()) - {text})
        found[mine] = expit(data.features[mine] @ fitted(data.of(others)))
    return found


def fitted_halves(values: Rows, phrases: Rows) -> str:
    """The figures of weights fitted on one half: there, and on the other; then of all texts, each by weights
    fitted on the others."""
    fit_on, report = halves(values.text.tolist())
    weights, unread = fitted(values.of(fit_on)), fitted(phrases.of(fit_on))
    parts: Mapping[str, Sequence[str]] = {"fitted on": fit_on, "never seen": report}
    lines = []
    for name, texts in parts.items():
        data, remarks = values.of(texts), phrases.of(texts)
        lines.append(told(f"{name} ({len(texts)} texts)", expit(data.features @ weights), data))
        lines.append(unread_told("  unread", expit(remarks.features @ unread), remarks))
    lines.append(told("all, each text by weights fitted on the others", crossed(values), values))
    lines.append(unread_told("  unread", crossed(phrases), phrases))
    return "\n".join(lines)


def main() -> None:
    """Hear, fit, print, perhaps write."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    add_options(parser)
    parser.add_argument("--write", action="store_true")
    parser.add_argument("--as-is", action="store_true")
    options = parser.parse_args()
    made = list(cases(options, Heard(options.keep), folders=options.folders))
    if not made:
        sys.exit("no spoken notes; leave out --only-kept to have them heard")
    if options.as_is:
        print(as_it_is(made))
        return
    values, phrases = rows(list(value_rows(made))), rows(list(phrase_rows(made)))
    print(fitted_halves(values, phrases))
    if options.write:
        command = "python " + " ".join(["tests/bench/fit_doubt.py", *sys.argv[1:]])
        TABLE.write_text(as_toml(values, phrases, command=command), encoding="utf-8")
        print(f"written: {TABLE}")


if __name__ == "__main__":
    main()
