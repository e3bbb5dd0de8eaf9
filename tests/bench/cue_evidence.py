"""What the cue spotter has to go by in recordings whose cues are known, kept as it comes: for fit_cues.py.

Four kinds of recording: sessions of clocks.py, halves "choose" and "explore", clean and at 15 dB; and in the
voices of "choose" alone sentences of the bench of false cues that hold cue words, at 15 dB, short remarks
while the clock runs, clean and at 15 dB, and an hour without speech. Evidence is weighed in every stretch
short enough for the spotter, with the clock as it truly runs (in all but the sessions it is taken to run in
every second recording: other phrases are open then).
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal
from zlib import crc32

import numpy as np
from pydantic import TypeAdapter

from dictate.audio import find_speech
from dictate.audio.speech import Stretch
from dictate.cues import Evidence
from dictate.recognise.cue_spotter import LONGEST_S, Short
from dictate.recognise.decoder import Decoded
from dictate.recognise.judging import CueHeard, Judge
from dictate.recognise.weights import find_listeners
from dictate.recognise.whisper import LEFT_OUT, WhisperRecogniser, with_surroundings
from tests.bench import clock_heard
from tests.bench.clock_texts import Half
from tests.bench.clocks import BABBLERS, VOICES, Condition, in_condition, sessions, take
from tests.bench.crowd import work_through
from tests.bench.false_jobs import Said, Unspoken, said_jobs, seed_of, silent_jobs
from tests.bench.kept import KeptRows
from tests.bench.spoken import MATERIAL
from tests.speech.synth import Line, room_noise, timed_lines, with_noise

Kind = Literal["clock", "said", "short", "silent"]
KINDS: tuple[Kind, ...] = ("clock", "said", "short", "silent")
REMARK_VOICES = tuple(voice for voice in VOICES["choose"] if voice != "kokoro:jf_alpha@en-gb-x-rp")
TOGETHER = 11  # remarks in one recording
APART_S = 1.4
SNR_DB = 15.0
CLOCK_CONDITIONS: tuple[Condition, ...] = ("15", "clean")
CLOCK_HALVES: tuple[Half, ...] = ("choose", "explore")
STARTS, STOPS = ("away",), ("begin", "gone")  # cues after which the clock runs, or does not
_OVERLAP_S = 0.1  # a line belongs to a stretch that holds that much of it


@dataclass(frozen=True, slots=True)
class Remarks:
    """Short remarks by one voice, one breath group each."""

    remarks: tuple[str, ...]
    voice: str
    snr_db: float | None

    @property
    def script(self) -> str:
        """Names what is said, in whatever noise."""
        return f"{self.voice}|{' / '.join(self.remarks)}"

    @property
    def key(self) -> str:
        """Names what is heard."""
        return f"{self.script}|{'clean' if self.snr_db is None else f'{self.snr_db:g}'}"

    def build(self) -> tuple[np.ndarray, tuple[Line, ...]]:
        """Samples (n,) and the lines."""
        said = [{"say": f"{remark}.", "stage": "finish", "cue": None} for remark in self.remarks]
        lines = [line for one in said for line in (one, {"wait": APART_S})]
        samples, placed = timed_lines(lines, self.voice)
        if self.snr_db is not None:
            others = [v for v in BABBLERS if v != self.voice]
            noise = room_noise(len(samples), seed=seed_of(self.key), voices=others)
            samples = with_noise(samples, noise, snr_db=self.snr_db, lines=placed)
        return samples, placed


def short_remarks() -> tuple[str, ...]:
    """Those of material/short_remarks.toml."""
    return tuple(tomllib.loads((MATERIAL / "short_remarks.toml").read_text(encoding="utf-8"))["remarks"])


@dataclass(frozen=True, slots=True)
class Piece:
    """One recording to weigh the evidence of."""

    kind: Kind
    source: clock_heard.Job | Said | Unspoken | Remarks

    @property
    def key(self) -> str:
        """Names it among what is kept."""
        return f"{self.kind}|{self.source.key}"

    @property
    def script(self) -> str:
        """The same for two recordings of one reading in other noise: they are never parted by a fold."""
        match self.source:
            case Remarks():
                read = self.source.script
            case clock_heard.Job():
                read = self.source.session.name
            case _:
                read = self.source.key
        return f"{self.kind}|{read}"

    @property
    def taken_to_run(self) -> bool:
        """Whether the clock is taken to run where none is said to: in every second script."""
        return bool(crc32(self.script.encode()) % 2)

    def build(self) -> tuple[np.ndarray, tuple[Line, ...]]:
        """Samples (n,) at 16 kHz, and what is said when."""
        if isinstance(self.source, clock_heard.Job):
            made = take(self.source.session)
            noisy = in_condition(made, self.source.session, condition=self.source.condition)
            return noisy, made.lines
        return self.source.build()


def pieces(limit: int | None = None) -> tuple[Piece, ...]:
    """All recordings, always the half "choose"; `limit`: of each kind."""
    remarks = short_remarks()
    said = said_jobs("choose", (f"{SNR_DB:g}",))
    groups = [remarks[n : n + TOGETHER] for n in range(0, len(remarks), TOGETHER)]
    found: dict[Kind, list[Any]] = {
        "clock": [
            clock_heard.Job(session, condition)
            for condition in CLOCK_CONDITIONS
            for half in CLOCK_HALVES
            for session in sessions(half)
        ],
        "said": [job for job in said if not job.running and job.voice in VOICES["choose"]],
        "short": [Remarks(g, v, snr_db) for v in REMARK_VOICES for g in groups for snr_db in (None, SNR_DB)],
        "silent": [job for job in silent_jobs() if job.part == "silent"],
    }
    return tuple(Piece(kind, source) for kind in KINDS for source in found[kind][:limit])


@dataclass(frozen=True, slots=True)
class Weighed:
    """One stretch. `cue`: the kind of cue that was truly said in it (the last), and `said` its words;
    `free`: what the recogniser wrote, `score` how sure of it; `evidence` is empty where the spotter
    has nothing to weigh: too long a stretch (`free` is then empty too), no text, or no candidate."""

    cue: str | None
    said: str
    free: str
    score: float
    silence: float
    evidence: tuple[Evidence, ...]


_STRETCHES = TypeAdapter(tuple[Weighed, ...])


class Listener(WhisperRecogniser):
    """The recogniser, asked for the spotter's evidence in place of words."""

    def ask(
        self, samples: np.ndarray, stretch: Stretch, *, judge: Judge
    ) -> tuple[Decoded, tuple[Evidence, ...]]:
        """What is written of a short stretch, and what speaks for each cue instead, whether or not the
        program would have looked."""
        _, piece = with_surroundings(samples, stretch.start_s, end_s=stretch.end_s)
        ((sound, free),) = self._listeners.listen([piece])
        short = Short(sound, free, stretch.end_s - stretch.start_s)
        runs = judge.running
        weighed = self._spotter.weigh(short, running=(runs,)) if free.text else {runs: ()}
        cue = CueHeard(free.text, self._listeners.frames(sound)[LEFT_OUT:-LEFT_OUT], weighed)
        return free, judge.evidence(cue)


def clock_runs(lines: Sequence[Line], at_s: float) -> bool:
    """Whether the clock truly runs when a stretch begins: what the cues said before make of it."""
    before = [n.cue for n in lines if n.cue in STARTS + STOPS and n.end_s < at_s + _OVERLAP_S]
    return bool(before) and before[-1] in STARTS


def cue_in(lines: Sequence[Line], stretch: Stretch) -> Line | None:
    """The last line with a cue that is said in a stretch."""
    inside = (
        n
        for n in lines
        if n.cue and min(n.end_s, stretch.end_s) - max(n.start_s, stretch.start_s) > _OVERLAP_S
    )
    return max(inside, key=lambda n: n.start_s, default=None)


def stretches_of(piece: Piece, listener: Listener) -> tuple[Weighed, ...]:
    """The stretches of a recording that are short or hold a cue."""
    samples, lines = piece.build()
    samples = samples.astype(np.float32)
    found = []
    judge = Judge()
    for stretch in find_speech(samples):
        line = cue_in(lines, stretch)
        cue, said = (line.cue, line.say) if line else (None, "")
        if stretch.end_s - stretch.start_s > LONGEST_S:
            if cue:
                found.append(Weighed(cue, said, "", 0.0, 0.0, ()))
            continue
        is_clock = piece.kind == "clock"
        judge.running = clock_runs(lines, stretch.start_s) if is_clock else piece.taken_to_run
        free, evidence = listener.ask(samples, stretch, judge=judge)
        found.append(Weighed(cue, said, free.text, free.score, free.silence, evidence))
    return tuple(found)


class Kept:
    """Evidence in FOLDER/evidence.jsonl, one line a recording."""

    def __init__(self, folder: Path, *, again: bool = False) -> None:
        """`again`: what was kept is thrown away."""
        self._kept = KeptRows(folder / "evidence.jsonl", again=again)

    def get(self, piece: Piece) -> tuple[Weighed, ...] | None:
        """What was weighed in a recording, if it was."""
        row = self._kept.rows.get(piece.key)
        return _STRETCHES.validate_python(row["stretches"]) if row else None

    def put(self, piece: Piece, stretches: tuple[Weighed, ...]) -> None:
        """Keep it, at once."""
        dumped = _STRETCHES.dump_python(stretches, mode="json")
        self._kept.put({"key": piece.key, "code": _code(), "stretches": dumped})

    def of_other_code(self, chosen: Sequence[Piece]) -> int:
        """How many of them were heard by other code than there is now. Not what `cues/` has become: the
        weights stand there."""
        rows = (self._kept.rows.get(piece.key) for piece in chosen)
        return sum(row is not None and row["code"] != _code() for row in rows)


def _code() -> str:
    return clock_heard.code_of(("audio", "recognise"))


def weigh_all(chosen: Sequence[Piece], kept: Kept, *, processes: int) -> None:
    """Hear what is not yet kept; Ctrl-C loses nothing."""
    todo = [piece for piece in chosen if kept.get(piece) is None]
    clocks = [piece.source.session for piece in todo if isinstance(piece.source, clock_heard.Job)]
    clock_heard.make_speech(clocks, noisy=bool(todo))
    for piece, stretches in work_through(_hear, todo, processes=processes):
        kept.put(piece, stretches)


_listeners: list[Listener] = []


def _hear(piece: Piece) -> tuple[Piece, tuple[Weighed, ...]]:
    if not _listeners:
        _listeners.append(Listener(find_listeners(), threads=1))
    return piece, stretches_of(piece, _listeners[0])
