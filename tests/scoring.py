"""Scores notes against gold answers in the corpus's form (`tests/corpus/FORMAT` in DEVELOPERS.md).

The same rules as the script the corpora are scored with elsewhere: terms match when the words of one
are all in the other; levels when they lie in the gold interval, 0.25 to spare; what the gold leaves out
must be empty. Only colour and style may be inferred.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

Document = Mapping[str, Any]
LISTS = "nose.aromas palate.flavours finish.flavours palate.tannin_texture palate.texture wine.grapes".split()
TERMS = (
    "wine.colour wine.style appearance.clarity appearance.hue appearance.rim nose.age palate.balance "
    "verdict.readiness".split()
)
LEVELS = (
    "appearance.depth nose.intensity finish.length verdict.quality palate.sweetness palate.acidity "
    "palate.tannin palate.alcohol palate.body palate.bitterness palate.intensity palate.mousse".split()
)
IDENTITY = "wine.position wine.vintage wine.code wine.origin wine.producer".split()
GROUPS = ("identity", "terms", "levels", "lists", "faults", "verdict", "stated")
FILLERS = ("a", "an", "the", "of", "note", "notes")


@dataclass(frozen=True, slots=True)
class Mistake:
    """What a taster would have to put right: the note's name, the field's path, the value that is there and
    the gold one; None where there is none."""

    note: str
    path: str
    given: Any = None
    wanted: Any = None

    def __str__(self) -> str:
        if self.path in (*LISTS, "faults"):
            one = f"missing {self.wanted!r}" if self.given is None else f"extra {self.given!r}"
            return f"{self.note} {self.path} {one}"
        return f"{self.note} {self.path} {self.given!r} for {self.wanted!r}"


@dataclass
class Tally:
    """Right, wrongly there, missing; and what they were."""

    right: int = 0
    extra: int = 0
    missing: int = 0
    why: list[Mistake] = field(default_factory=list)

    def add(self, *, right: int = 0, extra: int = 0, missing: int = 0, why: Mistake | None = None) -> None:
        self.right, self.extra, self.missing = self.right + right, self.extra + extra, self.missing + missing
        if (extra or missing) and why is not None:
            self.why.append(why)

    @property
    def precision(self) -> float:
        return self.right / (self.right + self.extra) if self.right + self.extra else float("nan")

    @property
    def recall(self) -> float:
        return self.right / (self.right + self.missing) if self.right + self.missing else float("nan")

    @property
    def f1(self) -> float:
        return 2 * self.right / (2 * self.right + self.extra + self.missing) if self.right else 0.0


@dataclass
class Scores:
    """Tallies by group, and what was asserted though it was denied or never said."""

    groups: dict[str, Tally] = field(default_factory=lambda: {name: Tally() for name in GROUPS})
    never: list[str] = field(default_factory=list)
    never_asked: int = 0
    timed_asked: int = 0
    timed_missing: list[str] = field(default_factory=list)
    timed_false: list[str] = field(default_factory=list)

    @property
    def total(self) -> Tally:
        whole = Tally()
        for name in GROUPS:
            one = self.groups[name]
            whole.right, whole.extra, whole.missing = (
                whole.right + one.right,
                whole.extra + one.extra,
                whole.missing + one.missing,
            )
            whole.why += one.why
        return whole


def words_of(text: object) -> frozenset[str]:
    """The words that count in a term: folded, singular, fillers out."""
    folded = "".join(
        c for c in unicodedata.normalize("NFKD", str(text).lower()) if not unicodedata.combining(c)
    )
    kept = []
    for word in re.sub(r"[^a-z0-9 ]", " ", folded.replace("-", " ")).split():
        if word in FILLERS:
            continue
        if len(word) > 4 and word.endswith("ies"):
            word = word[:-3] + "y"
        elif len(word) > 4 and word.endswith("oes"):
            word = word[:-2]
        elif len(word) > 3 and word.endswith("s") and not word.endswith("ss"):
            word = word[:-1]
        kept.append(word)
    return frozenset(kept)


def same(given: object, gold: object) -> bool:
    """Whether a term is one of the gold's alternatives ("a|b")."""
    alternatives = "|".join(map(str, gold)) if isinstance(gold, list) else str(gold)
    ours = words_of(given)
    return any(
        bool(ours and theirs) and (ours <= theirs or theirs <= ours)
        for theirs in map(words_of, alternatives.split("|"))
    )


def at(document: object, path: str) -> Any:
    """The value at a dotted path, None where there is none."""
    for key in path.split("."):
        document = document.get(key) if isinstance(document, Mapping) else None
    return document


def plain(value: Any) -> Any:
    """What a Term, Text, Level ... says."""
    if not isinstance(value, Mapping):
        return value
    keys = ("term", "text", "year", "points", "level")
    return next((value[k] for k in keys if value.get(k) is not None), None)


def score_note(name: str, gold: Document, *, note: Document, scores: Scores) -> None:
    """Add one note's rights and wrongs to `scores`."""
    _lists(name, gold, note=note, tally=scores.groups["lists"])
    _terms(name, gold, note=note, tally=scores.groups["terms"])
    _levels(name, gold, note=note, tally=scores.groups["levels"])
    _identity(name, gold, note=note, tally=scores.groups["identity"])
    _verdict(name, gold, note=note, tally=scores.groups["verdict"])
    faults = [plain(x) for x in note.get("faults") or []]
    _matched((name, "faults"), gold.get("faults") or [], given=faults, tally=scores.groups["faults"])
    present = faults + [plain(x) for path in LISTS[:5] for x in at(note, path) or []]
    for denied in gold.get("never") or []:
        scores.never_asked += 1
        if any(words_of(t) == words_of(str(denied).split("|")[0]) for t in present):
            scores.never.append(f"{name} asserts {denied!r}")
    _finish(name, gold, note=note, scores=scores)


def _matched(where: tuple[str, str], gold: Iterable[Any], *, given: Iterable[Any], tally: Tally) -> None:
    left = wanted = list(gold)
    left = list(left)
    for term in given:
        hit = next((g for g in left if same(term, g)), None)
        if hit is not None:
            left.remove(hit)
            tally.add(right=1)
        elif not any(same(term, g) for g in wanted):  # a second word for the same thing is no error
            tally.add(extra=1, why=Mistake(*where, given=term))
    for missing in left:
        tally.add(missing=1, why=Mistake(*where, wanted=missing))


def _lists(name: str, gold: Document, *, note: Document, tally: Tally) -> None:
    for path in LISTS:
        given = [plain(x) for x in at(note, path) or []]
        _matched((name, path), at(gold, path) or [], given=given, tally=tally)


def _one(where: tuple[str, str], wanted: Any, *, given: Any, right: bool, tally: Tally) -> None:
    if wanted is None and given is None:
        return
    wrong = not right
    tally.add(
        right=right,
        extra=wrong and given is not None,
        missing=wrong and wanted is not None,
        why=Mistake(*where, given=given, wanted=wanted),
    )


def _terms(name: str, gold: Document, *, note: Document, tally: Tally) -> None:
    for path in TERMS:
        wanted, given = at(gold, path), plain(at(note, path))
        if wanted is None and path in ("wine.colour", "wine.style"):
            continue
        right = None not in (wanted, given) and same(given, wanted)
        _one((name, path), wanted, given=given, right=right, tally=tally)


def _levels(name: str, gold: Document, *, note: Document, tally: Tally) -> None:
    for path in LEVELS:
        wanted, given = at(gold, path), plain(at(note, path))
        both = wanted is not None and given is not None
        right = both and wanted[0] - 0.25 <= float(given) <= wanted[1] + 0.25
        _one((name, path), wanted, given=given, right=right, tally=tally)


def _identity(name: str, gold: Document, *, note: Document, tally: Tally) -> None:
    for path in IDENTITY:
        wanted, given = at(gold, path), plain(at(note, path))
        bare = [re.sub(r"\W", "", str(x).lower()) for x in (wanted, given)]
        right = None not in (wanted, given) and (bare[0] == bare[1] or same(given, wanted))
        _one((name, path), wanted, given=given, right=right, tally=tally)


def _verdict(name: str, gold: Document, *, note: Document, tally: Tally) -> None:
    wanted, given = at(gold, "verdict.score"), plain(at(note, "verdict.score"))
    right = None not in (wanted, given) and float(given) == wanted[0]
    _one((name, "verdict.score"), wanted, given=given, right=right, tally=tally)
    window = at(gold, "verdict.drink") or [None, None]
    for year, path in zip(window, ("verdict.drink_from", "verdict.drink_to"), strict=True):
        given = at(note, path)
        _one((name, path), year, given=given, right=given == year, tally=tally)


def _finish(name: str, gold: Document, *, note: Document, scores: Scores) -> None:
    timed = bool(at(gold, "finish.timed"))
    is_timed = at(note, "finish.how") == "timed"
    scores.timed_asked += timed
    if timed and not is_timed:
        scores.timed_missing.append(name)
    if is_timed and not timed:
        scores.timed_false.append(name)
    stated, seconds = at(gold, "finish.seconds"), at(note, "finish.seconds")
    if stated is not None and not timed:
        low, high = stated if isinstance(stated, list) else (stated, stated)
        right = seconds is not None and low - 0.5 <= seconds <= high + 0.5
        scores.groups["stated"].add(
            right=right, missing=not right, why=Mistake(name, "finish.seconds", seconds, stated)
        )


def report(scores: Scores, *, verbose: bool = False) -> str:
    """The scores as lines of text."""
    lines = []
    for name, tally in [*scores.groups.items(), ("ALL", scores.total)]:
        counts = f"(right {tally.right} extra {tally.extra} missing {tally.missing})"
        lines.append(f"{name:9s} P {tally.precision:.3f} R {tally.recall:.3f} F1 {tally.f1:.3f}  {counts}")
    found = scores.timed_asked - len(scores.timed_missing)
    lines.append(f"never: {len(scores.never)} of {scores.never_asked} denied or expected things asserted")
    lines.append(
        f"timed finish: {found} of {scores.timed_asked} found, {len(scores.timed_false)} false; "
        f"missing: {', '.join(scores.timed_missing) or 'none'}"
    )
    if verbose:
        lines += [f"  {why}" for why in (*scores.total.why, *scores.never)]
    return "\n".join(lines)
