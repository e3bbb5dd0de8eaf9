"""What the recogniser hears of the benches' utterances, raw and with everything on, kept as it comes.

`recogniser` and `repaired` are the only places that say what "raw" and "on" are.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import lru_cache
from hashlib import sha256
from pathlib import Path
from typing import Any, Literal

from dictate.audio.recording import Recording
from dictate.lexicon import load_lexicon, load_table
from dictate.pipeline import second_hearing, sounds_of
from dictate.recognise.weights import find_listeners, find_weights
from dictate.recognise.whisper import WhisperRecogniser
from dictate.repair import Repaired, RepairTable, repair_table, repair_words, replay
from dictate.settings import Settings
from dictate.values import Step, Word
from tests.bench.crowd import work_through
from tests.bench.kept import kept_by_mode
from tests.bench.spoken import Utterance, recording_of

Mode = Literal["raw", "on"]
MODES: tuple[Mode, ...] = ("raw", "on")
HOUSE = Path(__file__).parents[2] / "dictate"


def recogniser(mode: Mode, *, threads: int | None = None) -> WhisperRecogniser:
    """raw: the recogniser with no prompt, no cues, no biasing. on: as the program makes it."""
    if mode == "raw":
        return WhisperRecogniser(find_weights(), threads=threads, prompt="", cue_phrases=())
    again = second_hearing(Settings())
    return WhisperRecogniser(find_listeners(), threads=threads, again=again)


def repaired(words: Sequence[Word], *, again: Sequence[Step] = (), refused: Sequence[Step] = ()) -> Repaired:
    """What the pipeline makes of recognised words before it looks for cues."""
    lexicon = load_lexicon()
    sounds = sounds_of(lexicon)
    return repair_words(words, lexicon, table=repairs(), sounds=sounds, again=again, refused=refused)


@lru_cache(maxsize=1)
def repairs() -> RepairTable:
    """The program's repair table."""
    return repair_table(load_table("repair"))


@dataclass(frozen=True, slots=True)
class Taken:
    """Words of one utterance and the processor time that recognition took, seconds of one core."""

    words: tuple[Word, ...]  # before the second hearing
    spent_s: float
    code: str  # fingerprint of the code that heard it
    again: tuple[Step, ...] = ()  # what the second hearing changed
    refused: tuple[Step, ...] = ()  # what it weighed as well

    @property
    def twice(self) -> tuple[Word, ...]:
        """The words after the second hearing."""
        return replay(self.words, self.again)

    @property
    def repaired(self) -> Repaired:
        """... and after repair; its steps are those of both."""
        return repaired(self.words, again=self.again, refused=self.refused)


@lru_cache(maxsize=1)
def code_of() -> str:
    """Fingerprint of the code and the words that recognition depends on."""
    digest = sha256()
    for folder in ("audio", "recognise", "phonetics", "lexicon"):
        for path in sorted((HOUSE / folder).rglob("*")):
            if path.suffix in (".py", ".toml"):
                digest.update(path.read_bytes())
    return digest.hexdigest()[:8]


class Kept:
    """Recognised words in FOLDER/raw.jsonl and FOLDER/on.jsonl, one line each; without a folder in memory."""

    def __init__(self, folder: Path | None, *, again: Iterable[str] = ()) -> None:
        """`again`: modes whose kept words are thrown away."""
        self._kept = kept_by_mode(folder, MODES, again=tuple(again))

    def get(self, mode: Mode, key: str) -> Taken | None:
        """What was heard of an utterance in this mode, if it was."""
        row = self._kept[mode].rows.get(key)
        return _taken(row) if row else None

    def put(self, mode: Mode, key: str, *, taken: Taken) -> None:
        """Keep what was heard, at once."""
        row = {"key": key, **asdict(taken)}
        row["words"] = [{k: v for k, v in word.items() if v is not None} for word in row["words"]]
        self._kept[mode].put(row)

    def of_other_code(self, keys: Iterable[str]) -> int:
        """How many of them were heard "on" by other code than there is now."""
        found = (self.get("on", key) for key in keys)
        return sum(t is not None and t.code != code_of() for t in found)


def _taken(row: Mapping[str, Any]) -> Taken:
    rest = {k: v for k, v in row.items() if k not in ("key", "words", "again", "refused")}
    again, refused = (tuple(as_step(s) for s in row[name]) for name in ("again", "refused"))
    return Taken(tuple(Word(**w) for w in row["words"]), again=again, refused=refused, **rest)


def as_step(row: Mapping[str, Any]) -> Step:
    """A step out of a kept row."""
    return Step(**{k: tuple(v) if isinstance(v, list) else v for k, v in row.items()})


def take(model: WhisperRecogniser, recording: Recording) -> Taken:
    """Hear a recording."""
    began = time.process_time()
    heard = model.recognise(recording)
    spent_s = time.process_time() - began
    return Taken(heard.words, spent_s, code_of(), heard.again, heard.refused)


def as_text(steps: Sequence[Step]) -> str:
    """Steps in one line."""
    return "; ".join(f"{' '.join(s.before)} -> {' '.join(s.after)} ({s.reason})" for s in steps)


_models: dict[Mode, WhisperRecogniser] = {}
_threads: int | None = None


def _on_one_thread() -> None:
    global _threads
    _threads = 1


def _hear(job: tuple[Mode, Utterance]) -> tuple[Mode, str, Taken]:
    mode, utterance = job
    if mode not in _models:
        _models.clear()  # one model at a time in memory
        _models[mode] = recogniser(mode, threads=_threads)
    return mode, utterance.key, take(_models[mode], recording_of(utterance))


def hear_all(utterances: Sequence[Utterance], kept: Kept, *, processes: int, modes: Sequence[Mode]) -> None:
    """Hear what is not yet kept, mode by mode; each result is kept at once, so Ctrl-C loses nothing."""
    jobs = [(mode, u) for mode in modes for u in utterances if kept.get(mode, u.key) is None]
    results = work_through(_hear, jobs, processes=processes, start=_on_one_thread)
    for mode, key, taken in results:
        kept.put(mode, key, taken=taken)
