"""The demo, whole: real weights on `audio_demo/`, finish lengths and fields against what was spoken."""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path
from typing import Any

import pytest
import soundfile as sf
import yaml

from dictate.note import as_document
from dictate.pipeline import notes_from_source
from dictate.settings import Settings
from tests.scoring import Scores, report, score_note
from tests.speech.synth import as_vtt, timed_lines

DEMO = Path(__file__).parents[1] / "audio_demo"
NAMES = ("tank-room", "guests-table", "bottling-line", "after-lunch")


def script(name: str) -> dict[str, Any]:
    return yaml.safe_load((DEMO / f"{name}.yaml").read_text(encoding="utf-8"))


def gold(name: str) -> list[dict[str, Any]]:
    return yaml.safe_load((DEMO / f"{name}.gold.yaml").read_text(encoding="utf-8"))


def sound(name: str) -> Path:
    return DEMO / script(name)["sound"]["file"]


@pytest.fixture(scope="module")
def heard(recogniser: Any) -> dict[str, list[dict[str, Any]]]:
    """The demo's notes from its sound, by recording."""
    return {
        name: [
            as_document(n) for n in notes_from_source(sound(name), recogniser=recogniser, settings=Settings())
        ]
        for name in NAMES
    }


@pytest.fixture(scope="module")
def read(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[dict[str, Any]]]:
    """The demo's notes from its true words, as a timed transcript."""
    folder, found = tmp_path_factory.mktemp("demo"), {}
    for name in NAMES:
        _, lines = timed_lines(script(name)["lines"], None, seed=name)
        path = folder / f"{name}.vtt"
        path.write_text(as_vtt(lines), encoding="utf-8")
        found[name] = [as_document(n) for n in notes_from_source(path, recogniser=None, settings=Settings())]
    return found


def scored(notes: dict[str, list[dict[str, Any]]]) -> Scores:
    scores = Scores()
    for name in NAMES:
        for number, (one, note) in enumerate(zip(gold(name), notes[name], strict=True)):
            score_note(f"{name}.{number}", one, note=note, scores=scores)
    return scores


def test_what_the_demo_holds() -> None:
    assert sum(len(gold(name)) for name in NAMES) == 8
    assert len({script(name)["voice"].partition("@")[0] for name in NAMES}) == 3
    forms = {name: sf.info(str(sound(name))) for name in NAMES}
    assert (forms["guests-table"].samplerate, forms["guests-table"].channels) == (44_100, 2)
    assert script("bottling-line")["sound"]["snr_db"] == 20
    assert sum(p.stat().st_size for p in DEMO.iterdir() if p.is_file()) < 6_000_000


def test_the_hashes_in_the_demo_s_readme_are_the_files() -> None:
    told = dict(
        reversed(line) for line in re.findall(r"`([0-9a-f]{64})` (\S+)", (DEMO / "README.md").read_text())
    )
    assert told == {sound(n).name: hashlib.sha256(sound(n).read_bytes()).hexdigest() for n in NAMES}


def test_the_true_words_are_the_script_s() -> None:
    for name in NAMES:
        spoken = [line["say"] for line in script(name)["lines"] if "say" in line]
        assert (DEMO / f"{name}.txt").read_text().splitlines() == spoken


def test_each_recording_times_a_finish() -> None:
    truth = {name: json.loads((DEMO / f"{name}.truth.json").read_text()) for name in NAMES}
    assert all(t["finishes"] for t in truth.values())
    waits = {name: sum(line.get("wait", 0) for line in script(name)["lines"]) for name in NAMES}
    assert all(sum(f["seconds"] for f in truth[n]["finishes"]) > waits[n] for n in NAMES)


def test_from_the_true_words_the_notes_are_the_gold_ones(read: dict[str, list[dict[str, Any]]]) -> None:
    scores = scored(read)
    assert scores.total.f1 >= 0.97, report(scores, verbose=True)
    assert scores.never == []
    assert (scores.timed_missing, scores.timed_false) == ([], [])


def test_private_speech_is_in_no_note(read: dict[str, list[dict[str, Any]]]) -> None:
    assert "never pay" not in json.dumps(read)


@pytest.mark.model
def test_from_the_sound_each_wine_has_its_note(heard: dict[str, list[dict[str, Any]]]) -> None:
    assert {name: [n["wine"].get("position") for n in notes] for name, notes in heard.items()} == {
        name: [one["wine"]["position"] for one in gold(name)] for name in NAMES
    }


@pytest.mark.model
def test_from_the_sound_finishes_are_right_to_three_tenths(heard: dict[str, list[dict[str, Any]]]) -> None:
    for name in NAMES:
        truth = json.loads((DEMO / f"{name}.truth.json").read_text())["finishes"]
        timed = [n["finish"] for n in heard[name] if n.get("finish", {}).get("how") == "timed"]
        assert [f["seconds"] for f in timed] == pytest.approx([f["seconds"] for f in truth], abs=0.3), name
        assert [f["from_s"] for f in timed] == pytest.approx([f["from_s"] for f in truth], abs=0.3), name


@pytest.mark.model
def test_from_the_sound_the_fields_are_those_a_reader_would_sign(
    heard: dict[str, list[dict[str, Any]]],
) -> None:
    scores = scored(heard)
    print(report(scores, verbose=True))
    assert scores.total.f1 >= 0.85, report(scores, verbose=True)
    assert scores.never == []


@pytest.mark.model
def test_private_speech_in_the_sound_is_in_no_note(heard: dict[str, list[dict[str, Any]]]) -> None:
    assert "never pay" not in json.dumps(heard)
