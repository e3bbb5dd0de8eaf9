"""Values of the house made by hand for tests: words, breaths, cues, phrases, readings, a small lexicon."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from dictate.language.tokens import Token, tokenise
from dictate.lexicon.entries import Entry, Lexicon
from dictate.note import MadeWith, Recording
from dictate.values import Cue, CueKind, Phrase, Reading, Stage, Word

CASES = Path(__file__).parent / "cases"
WORD_S = 0.3  # each word lasts as long
GAP_S = 1.2  # silence between breaths
MADE_WITH = MadeWith(program="0", model="by hand", lexicon="0")
RECORDING = Recording(path="made.wav", sha256="ab" * 32, start_s=0, end_s=7200)

# texts that have broken programs before: no letters, odd figures, marks alone, other scripts
ODD = [
    *", ... — 's - ٣ ½ ² ፩ point hundred and no 7.5 1,2,3 20-34 ß ﬁ 日本 🍷 $5 % A.O.C. gone.".split(),
    "",
    " ",
    "9" * 400,
    "\u0301",
    "wine\u00ad",
    "\x00",
]
TRADE = (
    "next wine number four spitting now still there all gone strike that end of tasting the a no not and or "
    "but i said meant make scrap pale ruby, garnet lemon. cherry violets acidity high low tannin grippy body "
    "full medium light dry sweet finish long short twelve seconds twenty eighteen ninety points out drink "
    "from to until riesling barolo champagne corked maybe nose palate hint lots much oak without expected "
    "you'd it's is was point half hundred thousand first NV code glass good ready keep"
).split()
TEXTS = st.lists(st.sampled_from([*TRADE, *TRADE, *ODD]) | st.text(max_size=6), max_size=60)


def words(text: str, *, at: float = 0.0, utterance: int = 0, confidence: float = 1.0) -> tuple[Word, ...]:
    """One breath from `at` seconds on, its words back to back; "(0.5)" is a silence of 0.5 s in it."""
    made: list[Word] = []
    for piece in text.split():
        if piece.startswith("(") and piece.endswith(")"):
            at += float(piece[1:-1])
            continue
        made.append(Word(piece, at, at + WORD_S, confidence, utterance))
        at += WORD_S
    return tuple(made)


def breaths(
    texts: Iterable[str], *, at: float = 0.0, gap_s: float = GAP_S, utterance: int = 0
) -> tuple[Word, ...]:
    """Breath groups, each its own utterance, `gap_s` seconds apart."""
    made: list[Word] = []
    for number, text in enumerate(texts):
        made += words(text, at=made[-1].end_s + gap_s if made else at, utterance=utterance + number)
    return tuple(made)


def tokens(text: str) -> tuple[Token, ...]:
    """The tokens of one breath."""
    return tokenise(words(text))


def cue(kind: CueKind, at: float, *, said: str = "", confidence: float = 1.0) -> Cue:
    """A cue whose onset is its first word's start."""
    usual: dict[CueKind, str] = {
        "begin": "next wine", "away": "spitting now", "holding": "still there", "gone": "all gone",
        "take_back": "strike that", "private_on": "off the record", "private_off": "back on the record",
        "pause_on": "pause the notes", "pause_off": "resume the notes", "missing": "what's missing",
        "end": "end of tasting",
    }  # fmt: skip
    return Cue(kind, words(said or usual[kind], at=at, utterance=int(at) + 1000), at, confidence)


def cue_phrase(kind: CueKind, at: float, *, taken_back: bool = False, confidence: float = 1.0) -> Phrase:
    """The phrase of a cue."""
    made = cue(kind, at, confidence=confidence)
    return Phrase(made.words, "cue", cue=made, taken_back=taken_back)


def phrase(
    text: str, stage: Stage = "palate", *, at: float = 0.0, wine: int = 0, taken_back: bool = False
) -> Phrase:
    """One phrase of one breath."""
    return Phrase(words(text, at=at, utterance=int(at)), stage, wine, taken_back=taken_back)


def reading(field: str, value: str | float, *, phrase: int = 0, last: int = 1, **more: Any) -> Reading:
    """A reading of the first words of a phrase."""
    return Reading(field, value, phrase, more.pop("first", 0), last, **more)


def entry(kind: str, term: str, *, family: str = "", said: Sequence[str] = (), **data: Any) -> Entry:
    """A lexicon entry said as its term and as `said`."""
    return Entry(term, kind, family, (term, *said), data)


def small_lexicon() -> Lexicon:
    """A dozen entries: real grapes and places, plain descriptors."""
    return Lexicon(
        [
            entry("descriptor", "cherry", family="red fruit"),
            entry("descriptor", "black cherry", family="black fruit"),
            entry("descriptor", "lemon", family="citrus"),
            entry("descriptor", "candle", family="other"),
            entry("descriptor", "church candle", family="other"),
            entry("descriptor", "old church", family="other"),
            entry("hue", "lemon", family="white"),
            entry("hue", "ruby", family="red"),
            entry("hue", "amber", family="orange"),
            entry("grape", "riesling", family="white"),
            entry("grape", "grüner veltliner", family="white"),
            entry("grape", "pinot gris", family="grey"),
            entry("grape", "syrah", family="black", said=["shiraz"]),
            entry("origin", "barolo", family="Italy", colour="red"),
            entry("origin", "champagne", family="France", style="sparkling"),
            entry("origin", "margaret river", family="Australia"),
            entry("origin", "alto adige south tyrol", family="Italy"),
            entry("texture", "silky", family="tannin"),
            entry("fault", "cork taint", said=["corked"]),
            entry("style", "sparkling"),
        ],
        version="small",
    )


def timed(texts: Sequence[str], steps: Sequence[tuple[float, int]]) -> tuple[Word, ...]:
    """Words with a gap in seconds and a step of the utterance number before each."""
    made: list[Word] = []
    at, utterance = 0.0, 0
    for text, (gap_s, step) in zip(texts, steps, strict=False):
        at, utterance = at + gap_s, utterance + step
        made.append(Word(text, at, at + WORD_S, 0.9, utterance))
        at += WORD_S
    return tuple(made)


@st.composite
def any_words(draw: st.DrawFn) -> tuple[Word, ...]:
    """Any words in order of time: of the trade, cue words, odd marks, any text; any breaths."""
    texts = draw(TEXTS)
    pair = st.tuples(st.sampled_from([0.0, 0.0, 0.0, 0.1, 0.5, 1.0, 9.0]), st.sampled_from([0, 0, 0, 1]))
    return timed(texts, draw(st.lists(pair, min_size=len(texts), max_size=len(texts))))


def load_cases(room: str, name: str) -> list[dict[str, Any]]:
    """The cases of `tests/cases/<room>/<name>.json`."""
    cases: list[dict[str, Any]] = json.loads((CASES / room / f"{name}.json").read_text(encoding="utf-8"))
    return cases


def said(made: Iterable[Word]) -> str:
    """Words as one line."""
    return " ".join(w.text for w in made)
