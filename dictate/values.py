"""The values that pass from room to room: the map of the house.

audio -> Heard -> (repair) words -> (cues) cues, kept words -> (segment) phrases
      -> (extract) readings -> (assemble) notes.

All are frozen and hold no logic. Seconds are unrounded, counted from the start of the recording;
spans are half-open. Rounding happens once, in `note.py`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

PAUSE_S: Final = 0.35  # so much silence ends a breath group

Stage = Literal["identity", "appearance", "nose", "palate", "finish", "verdict", "aside", "cue"]
CueKind = Literal[
    "begin", "away", "holding", "gone", "take_back", "private_on", "private_off", "pause_on", "pause_off",
    "missing", "end",
]  # fmt: skip
Scope = Literal[
    "said",  # of this wine, now: the only scope that becomes a value
    "denied",  # "no oak", "not a trace of"
    "expected",  # "you'd expect", "I was looking for"
    "past",  # "it would have had", "it was only straw when"
    "future",  # "it'll go all toast"
    "other",  # another wine, another bottle, another vintage
    "doubtful",  # "I wouldn't swear to it"
    "quoted",  # "the back label says"
    "figurative",  # a hue simile, the name of a place or a thing: not an observation
]
Source = Literal["spoken", "stated later", "corrected", "typed", "listed", "inferred"]


@dataclass(frozen=True, slots=True)
class Word:
    """One word as heard. `utterance` numbers the breath group: words of one breath share it."""

    text: str  # with its punctuation: "ruby,"
    start_s: float
    end_s: float
    confidence: float = 1.0  # 0 to 1
    utterance: int = 0
    heard: str | None = None  # what the recogniser wrote, where repair changed it


@dataclass(frozen=True, slots=True)
class Step:
    """One repair: words [first, last) of the input became `after`. Replaying all gives the output."""

    first: int
    last: int
    before: tuple[str, ...]
    after: tuple[str, ...]
    score: float  # 0 to 1, how sure
    reason: str


@dataclass(frozen=True, slots=True)
class Perhaps:
    """A breath group that may have been a cue of the finish clock, by its sound: it in both readings, and how
    likely the cue is (0 to 1). One of them is in the words heard, that which is likelier by itself."""

    cue: tuple[Word, ...]
    written: tuple[Word, ...]
    chance: float


@dataclass(frozen=True, slots=True)
class Heard:
    """What a recogniser (or a timed transcript) gives: words in order of time."""

    words: tuple[Word, ...]
    duration_s: float
    recogniser: str  # "whisper-base int8", "transcript"
    language: str = "en"
    again: tuple[Step, ...] = ()  # what a second hearing, knowing the trade's words, puts in their place
    refused: tuple[Step, ...] = ()  # what it weighed as well, and the sound spoke against
    perhaps: tuple[Perhaps, ...] = ()  # in order of time, one a breath group at most


@dataclass(frozen=True, slots=True)
class Cue:
    """A spoken cue. `onset_s` is the onset of its first word, from the samples when there are any."""

    kind: CueKind
    words: tuple[Word, ...]
    onset_s: float
    confidence: float = 1.0  # of the onset, 0 to 1


@dataclass(frozen=True, slots=True)
class Phrase:
    """Words that belong to one stage. Phrases cover all words but private ones, once, in order."""

    words: tuple[Word, ...]
    stage: Stage
    wine: int = 0  # which note of the recording, from 0
    cue: Cue | None = None  # set when stage is "cue"
    taken_back: bool = False  # "strike that" followed: stays in the transcript, feeds no field


@dataclass(frozen=True, slots=True)
class Reading:
    """One thing read from a phrase: a value for a field, or why it is none (`scope`)."""

    field: str  # a path of the note contract: "palate.acidity", "nose.aromas"
    value: str | float | int
    phrase: int  # index into the phrases given
    first: int  # words [first, last) of that phrase
    last: int
    scope: Scope = "said"
    rule: str = ""  # which scope rule or reading rule fired
    source: Source = "spoken"
    act: Literal["set", "drop"] = "set"  # drop: "scrap the violets"
    corrects: bool = False  # a spoken correction of an earlier value
    confidence: float = 1.0
    family: str = ""  # descriptors and faults
    strength: float | None = None  # descriptors: 0 to 10
    known: bool = True  # descriptors: in the lexicon
    certain: bool = True  # faults
    out_of: float | None = None  # scores


@dataclass(frozen=True, slots=True)
class ListedWine:
    """One wine of a prepared list, as listed; "", () and None where the list says nothing."""

    position: int | None = None  # in the flight, from 1
    code: str = ""
    producer: str = ""
    name: str = ""  # the wine's own
    origin: str = ""
    grapes: tuple[str, ...] = ()
    vintage: int | Literal["NV"] | None = None
    colour: str = ""
    style: str = ""
    alcohol: float | None = None  # % vol
    sugar: float | None = None  # g/L
    oak: bool | None = None
