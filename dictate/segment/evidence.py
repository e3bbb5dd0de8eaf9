"""What the words of one clause say about its stage, added up from the stage table and the lexicon."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from dictate.language.mentions import Mention, find_mentions
from dictate.language.numbers import read_numbers
from dictate.language.passing_names import in_passing
from dictate.language.patterns import Line, compile_any
from dictate.language.tokens import Token
from dictate.lexicon.entries import Lexicon
from dictate.values import Stage

STAGES: tuple[Stage, ...] = (
    "identity", "appearance", "nose", "palate", "finish", "verdict", "aside",
)  # fmt: skip
# what a lexicon word says by itself; hand-set, smaller than an explicit announcement
_KIND_WEIGHT: dict[str, dict[Stage, float]] = {
    "grape": {"identity": 1.2},
    "origin": {"identity": 1.2},
    "hue": {"appearance": 1.6},
    "descriptor": {"nose": 1.0, "palate": 0.9, "finish": 0.6},
    "texture": {"palate": 1.2, "finish": 0.3},
    "fault": {"nose": 1.4, "palate": 0.6},
    "style": {"identity": 0.8},
    "producer": {"identity": 1.2},
    "wine": {"identity": 1.2},
    "process": {"palate": 0.2, "nose": 0.2, "identity": 0.2},
}
IN_PASSING = 3.0  # said against the identity where a name only stands in a description
NOTHING_ELSE = 1.5  # said against an aside where a breath tells smells and tastes alone
NO_WINE_WORD = 1.0  # said for "aside" where nothing in a breath is of the trade
STRONG_AMID_TRADE = 0.8
_EVERYDAY = frozenset(["fine", "hard", "tight"])  # textures of tannin, seldom meant so alone
AMBIGUOUS = 0.6  # what a word counts that is an ordinary one as well ("iron", "stone")
ELSEWHERE, AMID_TALK = 4.0, 0.4  # weight of an aside that makes its breath talk; what is left of smells
YEAR_ALONE = 1.2  # "2019."
SCORE_ALONE = 3.2  # "eighty seven."
WINDOW, _BY = 3.5, frozenset("until till by beyond through before past".split())
OUT_OF, _OUT_OF = 4.0, frozenset(["5", "10", "20", "100"])  # "17.5/20"
AMID_TRADE = 0.45  # what is left of an aside's weight where the breath speaks of wine


# what a look at a glass is told in, beside hues; of these the first may stand alone
_LOOKS = frozenset("pale palish deep dark inky opaque clear bright brilliant dull hazy cloudy".split())
_DEPTHS = _LOOKS | frozenset("light mid medium very".split())
_DEEP = frozenset("pale palish deep medium mid".split())  # "bright cherry" may be tasted
_BESIDE = _LOOKS | frozenset(
    "light mid medium minus plus very quite rather fairly pretty really bit touch of a an the to and"
    " with in at it is 's just core rim edge watery".split()
)
# what is measured in the mouth: a colour told beside it is a flavour
_TASTED = frozenset("acid acids acidity tannin tannins alcohol body bitterness sweetness mousse".split())
_MORE = frozenset("and a bit of more little touch some lots hint loads then also maybe still".split())
_LIKING = frozenset("you would 'd i we they do don't didn't".split())
_COMPARING = frozenset("than unlike like as".split())
_NAMES = ("colour", "origin", "grape", "style", "producer", "wine")  # "orange", "burgundy": may name it


@dataclass(frozen=True, slots=True)
class StageTable:
    """Compiled patterns with their weight, stage by stage."""

    rules: tuple[tuple[Stage, float, re.Pattern[str]], ...]


def stage_table(data: Mapping[str, Mapping[str, Sequence[str]]]) -> StageTable:
    """The plain data of `stages.toml` compiled. Raises KeyError on an unknown stage name."""
    rules = []
    for stage, weights in data.items():
        if stage not in STAGES:
            raise KeyError(f"stages.toml: no such stage: {stage}")
        for weight, patterns in weights.items():
            rules.append((stage, float(weight), compile_any(patterns)))
    return StageTable(tuple(rules))


@dataclass(frozen=True, slots=True)
class Look:
    """What a breath says of the colour: `hue` said at all; `alone`, of nothing but the look ("pale
    lemon"); `either`, nothing but words that are smells as well ("lemon, peach"); `smells`, such words
    beside what is a smell alone, or a thing measured ("lime and wet stone", "the acidity is medium, violet");
    `deep`, a colour with its depth and nothing else."""

    hue: bool
    alone: bool
    either: bool
    smells: bool = False
    deep: bool = False


def look_of(tokens: Sequence[Token], *, lexicon: Lexicon) -> Look:
    """Whether a breath is of the colour. A word that may name the wine is no look alone."""
    mentions = find_mentions(tokens, lexicon)
    hues = [m for m in mentions if m.of("hue")]
    named = any(m.of(kind) for m in mentions for kind in _NAMES)
    rest = {t.text for t in tokens} - {t.text for m in hues for t in tokens[m.first : m.last]}
    texts = {t.text for t in tokens}
    both = all(m.of("descriptor") for m in hues)
    others = any(m.of("descriptor") and not m.of("hue") for m in mentions) or texts & _TASTED
    alone = bool(hues or rest & _LOOKS) and rest <= _BESIDE and not named
    return Look(
        hue=bool(hues),
        alone=alone,
        deep=alone and bool(hues) and bool(rest & _DEEP),
        either=bool(hues) and not rest - _MORE and both,
        smells=bool(hues) and both and not texts & _LOOKS and bool(others),
    )


def looks_at(tokens: Sequence[Token], *, lexicon: Lexicon) -> list[int]:
    """First tokens of colours told with their depth ("pale lemon")."""
    starts = []
    for mention in find_mentions(tokens, lexicon):
        first = mention.first
        while first > 0 and tokens[first - 1].text in _DEPTHS and not tokens[first - 1].pause:
            first -= 1
        if mention.of("hue") and first < mention.first:
            starts.append(first)
    return starts


@dataclass(frozen=True, slots=True)
class Evidence:
    """Weight for each stage, and how much of it comes from words of the trade."""

    weights: Mapping[Stage, float]
    trade: float
    tokens: int
    bare: bool = False  # smells, tastes and textures, and nothing else


def _is_year(tokens: Sequence[Token]) -> bool:
    numbers = read_numbers(tokens) if 0 < len(tokens) <= 4 else ()
    return len(numbers) == 1 and numbers[0].kind == "year" and numbers[0].last == len(tokens)


def _tells_window(tokens: Sequence[Token]) -> bool:
    """ "until 2030", "2026 to 2036": no wine was made so late, and no vintage is named so."""
    years = [n for n in read_numbers(tokens) if n.kind == "year"]
    led = any(n.first and tokens[n.first - 1].text in _BY for n in years)
    return led or (len(years) == 2 and [t.text for t in tokens[years[0].last : years[1].first]] == ["to"])


def _is_score(tokens: Sequence[Token]) -> bool:
    """ "eighty seven", and nothing else: no length or grams of sugar are told so."""
    numbers = read_numbers(tokens) if 0 < len(tokens) <= 3 else ()
    alone = len(numbers) == 1 and numbers[0].first == 0 and numbers[0].last == len(tokens)
    return alone and numbers[0].kind == "cardinal" and 70 <= numbers[0].value <= 100


def clause_evidence(
    tokens: Sequence[Token], table: StageTable, *, lexicon: Lexicon, smells: bool = False
) -> Evidence:
    """What one clause says; `smells`: the hues in its breath are none. The strongest rule of a stage
    leads and others add half, so that long clauses don't shout down short ones; a weak rule does not
    count on a word that only colours a descriptor ("dry herbs")."""
    line = Line(tokens)
    mentions = find_mentions(tokens, lexicon)
    busy = {p for m in mentions if m.of("descriptor") for p in range(m.first - 1, m.last)}
    long = [m for m in mentions if (m.of("descriptor") or m.of("fault")) and m.last - m.first > 1]
    inside = {p for m in long for p in range(m.first, m.last)}
    found: dict[Stage, list[float]] = {}
    for stage, weight, pattern in table.rules:
        for first, last in line.spans(pattern):
            if set(range(first, last)) <= inside:
                continue  # "burnt sugar" says nothing of sweetness
            if stage == "identity" and first and tokens[first - 1].text in _COMPARING:
                continue  # "more violets than number three" names no wine
            if stage == "aside" and _likened(tokens, first):
                continue  # "it comes through like a train"
            if weight > 2 or not set(range(first, last)) <= busy or tokens[first].pause:
                found.setdefault(stage, []).append(weight)
                break
    if _is_year(tokens):
        found.setdefault("identity", []).append(YEAR_ALONE)
    if _is_score(tokens):
        found.setdefault("verdict", []).append(SCORE_ALONE)
    if _tells_window(tokens):
        found.setdefault("verdict", []).append(WINDOW)
    if any(t.before == "/" and t.text in _OUT_OF for t in tokens):
        found.setdefault("verdict", []).append(OUT_OF)
    score: dict[Stage, float] = {}
    for stage, weights in found.items():
        weights.sort(reverse=True)
        score[stage] = weights[0] + 0.5 * sum(weights[1:])
    trade = sum(v for s, v in score.items() if s != "aside")
    passing = any(in_passing(tokens, mention) for mention in mentions)
    if passing and "identity" not in found:
        score["identity"] = -IN_PASSING
    for mention in mentions:
        share = 1.0 / len(mention.entries)
        said = " ".join(t.text for t in tokens[mention.first : mention.last])
        for entry in mention.entries:
            if smells and entry.kind == "hue":
                continue
            ordinary = entry.data.get("risky") or said in entry.data.get("ambiguous", ())
            if ordinary and entry.kind != "descriptor":
                continue  # unless a wine is being named
            everyday = entry.kind == "texture" and said in _EVERYDAY
            part = share * AMBIGUOUS if ordinary or everyday else share
            if passing and (entry.kind in _NAMES or (entry.kind == "hue" and mention.of("descriptor"))):
                continue
            for stage, weight in _KIND_WEIGHT.get(entry.kind, {}).items():
                score[stage] = score.get(stage, 0.0) + weight * part
                trade += weight * part
    return Evidence(score, trade, len(tokens), _only_told(tokens, mentions))


def _likened(tokens: Sequence[Token], place: int) -> bool:
    """Whether what stands here is of a simile: "like a train", "like somebody rinsed the glass"."""
    start = next((p for p in range(place - 1, -1, -1) if tokens[p].pause), -1) + 1
    return any(
        (token.text == "like" and (p == start or tokens[p - 1].text not in _LIKING))
        or (token.text == "as" and tokens[p + 1].text in ("if", "though"))
        for p, token in enumerate(tokens[start:place], start)
    )


def _only_told(tokens: Sequence[Token], mentions: Sequence[Mention]) -> bool:
    """Whether a clause tells smells, tastes or textures and nothing else ("some jasmine")."""
    told = {p for m in mentions if m.of("descriptor") or m.of("texture") for p in range(m.first, m.last)}
    return bool(told) and all(p in told or t.text in _MORE for p, t in enumerate(tokens))


def breath_evidence(clauses: Sequence[Evidence]) -> list[dict[Stage, float]]:
    """The clauses of one breath weighed together: a breath without a word of the trade is likely
    an aside, the likelier the longer it is; amid words of the trade talk to others weighs little."""
    trade = sum(c.trade for c in clauses)
    length = sum(c.tokens for c in clauses)
    # talk of food or of the room: what it names ("octopus, a little oregano") is not in the glass
    elsewhere = any(c.weights.get("aside", 0.0) >= ELSEWHERE for c in clauses)
    bare = all(c.bare for c in clauses)  # "some jasmine", behind talk
    weighed = []
    for place, clause in enumerate(clauses):
        weights = dict(clause.weights)
        if bare:
            weights["aside"] = weights.get("aside", 0.0) - NOTHING_ELSE
        if elsewhere:
            weights.update(
                {s: v * AMID_TALK for s, v in weights.items() if s in ("nose", "palate", "finish")}
            )
        if trade < 0.5 and place == 0:
            weights["aside"] = weights.get("aside", 0.0) + min(2.5, NO_WINE_WORD + 0.15 * max(0, length - 6))
        elif trade > 2 and "aside" in weights:
            weights["aside"] *= AMID_TRADE if weights["aside"] < 4 else STRONG_AMID_TRADE
        weighed.append(weights)
    return weighed
