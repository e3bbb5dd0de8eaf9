"""Scores `dictate note --json` over a folder of spoken notes with gold answers.

usage: python tests/bench/score_corpus.py FOLDER [--speech [--snr 15] [--voices a,b] [--per-note 7] [--keep D]
           [--only a0] [--budget] [--verbose]]

FOLDER holds ID.yaml with `lines`, and `gold` inside (one wine) or beside it in ID.gold.yaml (a list).
As text the lines are fed as a timed transcript at 2.6 words a second; with --speech they are spoken by
the voices in turn, each text by --per-note of them (speech is kept in the system's temporary folder).
--keep D holds what was heard, one JSON line a recording: a run that was stopped goes on, and after a change
of the rooms alone nothing is heard anew. --budget lays each mistake beside the same words read as text:
misheard (by kind) or misread. Prints the scorer's lines, corrections a note, finish errors, stages, speed.
Measures only: never turns the tests red.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import statistics
import subprocess
import sys
import tempfile
import time
import zlib
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import soundfile as sf
import yaml
from pydantic import TypeAdapter

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.audio.recording import Recording  # noqa: E402
from dictate.note import as_document  # noqa: E402
from dictate.pipeline import notes_from_source, second_hearing  # noqa: E402
from dictate.recognise.weights import find_listeners  # noqa: E402
from dictate.recognise.whisper import WhisperRecogniser  # noqa: E402
from dictate.settings import Settings  # noqa: E402
from dictate.values import Heard  # noqa: E402
from tests.bench.budget import as_table, class_of  # noqa: E402
from tests.bench.kept import KeptRows  # noqa: E402
from tests.scoring import Scores, report, score_note  # noqa: E402
from tests.speech.synth import RATE, Line, as_vtt, made_speech, room_noise, timed_lines, with_noise  # noqa: E402

VOICES = (
    "piper:joe,kokoro:jf_alpha@en-gb-x-rp,flite:slt,kokoro:jm_kumo,flite:rms,kokoro:jf_tebukuro@en-gb-x-rp"
)


@dataclass(frozen=True, slots=True)
class Spoken:
    """A source made for one text, its true times, its gold notes and its length in seconds."""

    name: str
    source: Path
    lines: tuple[Line, ...]
    gold: Sequence[Mapping[str, Any]]
    seconds: float


def make_sources(folder: Path, out: Path, *, options: argparse.Namespace) -> Iterator[Spoken]:
    """Write one transcript or recording a text into `out`."""
    texts = [p for p in sorted(folder.glob("*.yaml")) if ".gold" not in p.suffixes]
    voices = options.voices.split(",")
    for number, path in enumerate(texts):
        if not path.stem.startswith(options.only):
            continue  # each text keeps its voices
        text = yaml.safe_load(path.read_text(encoding="utf-8"))
        beside = path.with_suffix(".gold.yaml")
        gold = yaml.safe_load(beside.read_text(encoding="utf-8")) if beside.exists() else [text["gold"]]
        for turn in range(options.per_note if options.speech else 1):
            voice = voices[(number + turn) % len(voices)] if options.speech else None
            if voice and getattr(options, "only_made", False) and not all_made(voice, text["lines"]):
                continue
            samples, lines = timed_lines(text["lines"], voice, seed=path.stem)
            name = f"{path.stem}-{turn}" if turn else path.stem
            source = out / f"{name}.{'wav' if voice else 'vtt'}"
            if voice is None:
                source.write_text(as_vtt(lines), encoding="utf-8")
            else:
                samples = in_room(samples, lines, voice=voice, name=path.stem, options=options)
                sf.write(str(source), np.clip(samples, -1, 1), RATE, subtype="PCM_16")
            yield Spoken(name, source, lines, gold, len(samples) / RATE)


def all_made(voice: str, lines: Sequence[Mapping[str, Any]]) -> bool:
    """Has the voice said all of these lines already?"""
    return all(made_speech(voice, line["say"]).exists() for line in lines if "say" in line)


def in_room(
    samples: np.ndarray, lines: Sequence[Line], *, voice: str, name: str, options: argparse.Namespace
) -> np.ndarray:
    """The speech with the room around it: other voices at `--snr`, else a faint hiss."""
    seed = zlib.crc32(name.encode())
    if options.snr is None:
        hiss: np.ndarray = samples + np.random.default_rng(seed).normal(size=len(samples)) * 2e-4
        return hiss
    voices = options.voices.split(",")
    others = [v for v in voices if v != voice] or voices
    noise = room_noise(len(samples), seed=seed, voices=others)
    return with_noise(samples, noise, snr_db=options.snr, lines=lines)


class KeptRecogniser:
    """The program's recogniser; what it heard of a recording is kept by the sound's hash, and by the words of
    the taster's own that it listened for."""

    def __init__(self, folder: Path | None, settings: Settings | None = None) -> None:
        self._kept = KeptRows(folder / "notes-heard.jsonl" if folder else None)
        self._settings = settings or Settings()
        words = repr(self._settings.words).encode()
        self._behind = "-" + hashlib.sha256(words).hexdigest()[:16] if self._settings.words else ""
        self._real: WhisperRecogniser | None = None
        self._as_json = TypeAdapter(Heard)

    @property
    def name(self) -> str:
        """Model and arithmetic."""
        return self._made().name

    def knows(self, sha256: str) -> bool:
        """Was a recording heard before?"""
        return sha256 + self._behind in self._kept.rows

    def recognise(self, recording: Recording, *, progress: Callable[[float], None] | None = None) -> Heard:
        """The words of a recording, heard once."""
        key = recording.sha256 + self._behind
        row = self._kept.rows.get(key)
        if row is None:
            heard = self._made().recognise(recording, progress=progress)
            self._kept.put({"key": key, "heard": self._as_json.dump_python(heard, mode="json")})
            return heard
        return self._as_json.validate_python(row["heard"])

    def _made(self) -> WhisperRecogniser:
        self._real = self._real or WhisperRecogniser(find_listeners(), again=second_hearing(self._settings))
        return self._real


def hear(sources: Sequence[Path], keep: Path | None) -> dict[str, list[dict[str, Any]]]:
    """Notes by recording, as the program makes them."""
    recogniser = KeptRecogniser(keep)
    notes = {}
    for number, source in enumerate(sources, 1):
        made = notes_from_source(source, recogniser=recogniser, settings=Settings())
        notes[str(source)] = [as_document(note) for note in made]
        print(f"\r{number} of {len(sources)} heard ", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    return notes


def run_dictate(sources: Sequence[Path]) -> dict[str, list[dict[str, Any]]]:
    """Notes by source, as the program prints them."""
    command = [sys.executable, "-m", "dictate", "note", *map(str, sources), "--json"]
    done = subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, check=False)
    notes: dict[str, list[dict[str, Any]]] = {str(source): [] for source in sources}
    for note in json.loads(done.stdout or b"[]"):
        notes[note["recording"]["path"]].append(note)
    return notes


def stage_heard(line: Line, notes: Sequence[Mapping[str, Any]]) -> str | None:
    """The stage that holds most of a line's time."""
    shares: Counter[str] = Counter()
    for phrase in (p for note in notes for p in note["transcript"]):
        overlap = min(line.end_s, phrase["at"][1]) - max(line.start_s, phrase["at"][0])
        if overlap > 0:
            shares[phrase["stage"]] += overlap  # type: ignore[assignment]
    return shares.most_common(1)[0][0] if shares else None


def true_finishes(lines: Sequence[Line]) -> list[float]:
    """Seconds from each away cue to the next gone cue."""
    found, away = [], None
    for line in lines:
        if line.cue == "away":
            away = line.start_s
        elif line.cue == "gone" and away is not None:
            found.append(line.start_s - away)
            away = None
    return found


def score_source(
    spoken: Spoken, found: Sequence[Mapping[str, Any]], *, scores: Scores
) -> Sequence[Mapping[str, Any]]:
    """Score the notes found in one source. Returns those that were scored."""
    if len(spoken.gold) == 1:  # the corpus: one wine a text
        found = [max(found, key=lambda n: len(n["transcript"]), default={})]
    for number, gold in enumerate(spoken.gold):
        note = found[number] if number < len(found) else {}
        score_note(f"{spoken.name}.{number}", gold, note=note, scores=scores)
    return found


def stages_of(spoken: Spoken, found: Sequence[Mapping[str, Any]]) -> Iterator[tuple[str, str | None]]:
    """The true stage of each line and the one it was heard at; a line that was taken for its cue is right."""
    for line in spoken.lines:
        if line.stage != "cue":
            stage = stage_heard(line, found)
            yield line.stage, line.stage if stage == "cue" and line.cue else stage


def budget(spoken: Sequence[Spoken], notes: Mapping[str, list[dict[str, Any]]], out: Path) -> str:
    """Where the corrections come from, by class and note, as text; in detail each with its class."""
    classes: Counter[tuple[str, str]] = Counter()
    told = []
    for one in spoken:
        transcript = out / f"{one.name}.vtt"
        transcript.write_text(as_vtt(one.lines), encoding="utf-8")
        made = notes_from_source(transcript, recogniser=None, settings=Settings())
        text, heard = Scores(), Scores()
        readings = score_source(one, [as_document(note) for note in made], scores=text)
        found = score_source(one, notes[str(one.source)], scores=heard)
        for mistake in heard.total.why:
            number = int(mistake.note.rpartition(".")[2])
            note, right = (part[number] if number < len(part) else {} for part in (found, readings))
            name = class_of(mistake, note=note, text=right, lines=one.lines, as_text=text.total.why)
            told.append(f"    {name[0]} {mistake}")
            classes[name, one.name] += 1
        for name in (*heard.timed_missing, *heard.timed_false):
            classes["g cue", one.name] += 1
            told.append(f"    g {name} finish")
    return "\n".join([as_table(classes, sum(len(one.gold) for one in spoken)), *sorted(told)])


def score(spoken: Sequence[Spoken], notes: Mapping[str, list[dict[str, Any]]], *, verbose: bool) -> str:
    """All lines to print."""
    scores, errors = Scores(), []
    stages: Counter[tuple[str, str | None]] = Counter()
    for one in spoken:
        found = score_source(one, notes[str(one.source)], scores=scores)
        timed = [n["finish"]["seconds"] for n in found if n.get("finish", {}).get("how") == "timed"]
        truth = true_finishes(one.lines)
        if len(timed) == len(truth):
            errors += [abs(a - b) for a, b in zip(timed, truth, strict=True)]
        stages.update(stages_of(one, notes[str(one.source)]))
    lines = [report(scores, verbose=verbose)]
    wrong_clocks = len(scores.timed_missing) + len(scores.timed_false)
    count = sum(len(one.gold) for one in spoken)
    lines.append(f"corrections a note: {(len(scores.total.why) + wrong_clocks) / max(1, count):.2f}")
    if errors:
        p95 = sorted(errors)[min(len(errors) - 1, int(0.95 * len(errors)))]
        middle = statistics.median(errors)
        lines.append(
            f"finish error s: median {middle:.3f} p95 {p95:.3f} max {max(errors):.3f} n {len(errors)}"
        )
    right = sum(count for (true, given), count in stages.items() if true == given)
    lines.append(
        f"stages: {right} of {sum(stages.values())} lines right ({right / max(1, stages.total()):.3f})"
    )
    if verbose:
        wrong = [(pair, n) for pair, n in stages.most_common() if pair[0] != pair[1]]
        lines += [f"  stage {true} taken for {given}: {n}" for (true, given), n in wrong]
    return "\n".join(lines)


def main() -> None:
    """Make, run, score, print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--speech", action="store_true")
    parser.add_argument("--snr", type=float)
    parser.add_argument("--voices", default=VOICES)
    parser.add_argument("--per-note", type=int, default=1, metavar="N", help="voices that speak each text")
    parser.add_argument("--keep", type=Path, metavar="DIR")
    parser.add_argument("--only", default="", help="texts whose name begins so")
    parser.add_argument("--budget", action="store_true")
    parser.add_argument("--verbose", action="store_true")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as out:
        spoken = list(make_sources(options.folder, Path(out), options=options))
        if not spoken:
            sys.exit(f"{options.folder}: no texts (*.yaml) in it")
        began = time.perf_counter()
        sources = [one.source for one in spoken]
        notes = hear(sources, options.keep) if options.speech else run_dictate(sources)
        took = time.perf_counter() - began
        where = budget(spoken, notes, Path(out)) if options.budget else ""
    seconds = sum(one.seconds for one in spoken)
    print(score(spoken, notes, verbose=options.verbose))
    if where:
        print(where)
    print(f"speed: {took:.1f} s for {seconds:.0f} s of {len(spoken)} sources (factor {took / seconds:.3f})")


if __name__ == "__main__":
    main()
