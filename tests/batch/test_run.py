"""A batch: what is done, what is done again, and what of it is there whatever happens between."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile

from dictate.batch.manifest import NAME, Manifest
from dictate.form import by_hand
from dictate.library import Library
from tests.batch.runs import MAKING, Seen, library_of, notes_below, run, write_transcripts

DEMO = Path(__file__).parents[2] / "audio_demo"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Five transcripts, ten wines."""
    write_transcripts(tmp_path / "in", 5)
    return tmp_path / "in"


def piece(path: Path, seconds: float = 8.0, *, at_s: float = 0.0) -> Path:
    """A piece of a recording of the demo."""
    samples, rate = soundfile.read(DEMO / "after-lunch.flac", dtype="float32")
    soundfile.write(path, samples[round(at_s * rate) : round((at_s + seconds) * rate)], rate)
    return path


def made_of(result: object) -> list[str]:
    """The sources whose lines are of this run or an earlier one."""
    return [Path(line.source).name for line in result.lines]  # type: ignore[attr-defined]


def test_all_of_it_and_then_nothing_again(folder: Path, tmp_path: Path) -> None:
    library = tmp_path / "library.sqlite"
    first = run(folder, tmp_path / "out", library=library)
    before, lines = notes_below(tmp_path / "out"), (tmp_path / "out" / NAME).read_text()
    again = run(folder, tmp_path / "out", library=library)
    assert (len(first.lines), first.before, len(again.lines), again.before) == (5, 0, 5, 5)
    assert len(before) == 20
    assert notes_below(tmp_path / "out") == before
    assert (tmp_path / "out" / NAME).read_text() == lines
    assert [revisions for _, revisions in library_of(library)] == [1] * 10


def test_notes_lie_in_a_folder_of_their_recording(folder: Path, tmp_path: Path) -> None:
    run(folder, tmp_path / "out")
    assert {str(p.parent.relative_to(tmp_path / "out")) for p in (tmp_path / "out").rglob("*.md")} == {
        "in/day 0/000.vtt", "in/day 0/001.vtt", "in/day 0/002.vtt", "in/day 0/003.vtt", "in/day 1/004.vtt",
    }  # fmt: skip


def test_a_changed_recording_alone_is_done_again(folder: Path, tmp_path: Path) -> None:
    run(folder, tmp_path / "out")
    changed = folder / "day 0" / "002.vtt"
    changed.write_text(changed.read_text().replace("lime", "pear"))
    again = run(folder, tmp_path / "out")
    assert (len(again.lines), again.before) == (5, 4)


def test_another_model_does_recordings_again_and_no_transcript(folder: Path, tmp_path: Path) -> None:
    piece(folder / "a.wav")
    run(folder, tmp_path / "out")
    assert run(folder, tmp_path / "out", making=replace(MAKING, model="other")).before == 5
    assert run(folder, tmp_path / "out", making=replace(MAKING, model="other")).before == 6


@pytest.mark.parametrize("name", ["program", "lexicon", "own"])
def test_another_program_lexicon_or_words_of_ones_own_do_all_again(
    folder: Path, tmp_path: Path, name: str
) -> None:
    run(folder, tmp_path / "out")
    assert run(folder, tmp_path / "out", making=replace(MAKING, **{name: "other"})).before == 0


def test_notes_that_were_taken_away_are_made_again(folder: Path, tmp_path: Path) -> None:
    run(folder, tmp_path / "out")
    whole = notes_below(tmp_path / "out")
    shutil.rmtree(tmp_path / "out" / "in" / "day 0" / "001.vtt")
    assert run(folder, tmp_path / "out").before == 4
    assert notes_below(tmp_path / "out") == whole


def test_a_note_that_has_another_name_now_leaves_none_under_the_old_one(folder: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    run(folder, out)
    whole = notes_below(out)
    (old,) = (out / "in" / "day 1" / "004.vtt").glob("09-*.json")
    for path in (old, old.with_suffix(".md")):
        path.rename(path.with_name(f"09-old-name{path.suffix}"))
    other = old.with_name("of another recording.json")
    other.write_text('{"id": "0123456789abcdef-1"}')
    run(folder, out)
    other.unlink()
    assert notes_below(out) == whole


def test_the_same_recording_under_two_names_is_done_once_and_told(folder: Path, tmp_path: Path) -> None:
    shutil.copy(folder / "day 0" / "000.vtt", folder / "day 1" / "again.vtt")
    result = run(folder, tmp_path / "out")
    assert [(a.name, b.name) for a, b in result.twins] == [("000.vtt", "again.vtt")]
    assert len(result.lines) == 5


def test_one_broken_file_stops_nothing_and_is_tried_again(folder: Path, tmp_path: Path) -> None:
    (folder / "broken.wav").write_bytes(b"RIFF\0\0\0\0WAVEnonsense")
    (folder / "film.mp4").write_bytes(b"\0\0\0\x14ftypisom" + bytes(200))
    seen = Seen()
    result = run(folder, tmp_path / "out", seen=seen)
    assert len(result.lines) == 5
    assert [f.path.name for f in result.failures] == ["broken.wav", "film.mp4"]
    assert all("\n" not in f.reason and str(folder) not in f.reason for f in result.failures)
    assert len(seen.told) == 2
    reasons = [json.loads(line).get("reason") for line in (tmp_path / "out" / NAME).read_text().splitlines()]
    assert sum(bool(reason) for reason in reasons) == 2
    piece(folder / "broken.wav")
    mended = run(folder, tmp_path / "out")
    assert (len(mended.failures), mended.before) == (1, 5)
    assert "broken.wav" in made_of(mended)


def test_what_could_not_go_into_the_library_goes_there_the_next_time(folder: Path, tmp_path: Path) -> None:
    library = tmp_path / "library.sqlite"
    library.write_bytes(b"no library" * 100)
    result = run(folder, tmp_path / "out", library=library)
    assert len(result.lines) == 5
    assert str(library) in result.problem
    library.unlink()
    again = run(folder, tmp_path / "out", library=library)
    assert (again.before, again.problem) == (5, "")
    assert len(library_of(library)) == 10


def test_what_a_hand_put_right_stays_right_when_all_is_done_again(folder: Path, tmp_path: Path) -> None:
    library = tmp_path / "library.sqlite"
    run(folder, tmp_path / "out", library=library)
    with Library.open(library) as opened:
        note = opened.get(str(opened.find().hits[0].number))
        right = note.model_copy(update={"wine": note.wine.model_copy(update={"code": "B7"})})
        opened.add(by_hand(note, right, when="2026-11-28"), why="put right")
    run(folder, tmp_path / "out", library=library, making=replace(MAKING, lexicon="other"))
    with Library.open(library) as opened:
        assert opened.get(note.id).wine.code == "B7"
    written = [
        d for d in notes_below(tmp_path / "out").values() if isinstance(d, dict) and d["id"] == note.id
    ]
    assert [document["wine"]["code"] for document in written] == ["B7"]


def test_a_salvaged_recording_counts_only_where_salvage_is_asked_for(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    whole = piece(tmp_path / "in" / "a.wav")
    whole.write_bytes(whole.read_bytes()[:-50000])
    assert len(run(tmp_path / "in", tmp_path / "out").failures) == 1
    salvage = replace(MAKING, salvage=True)
    assert run(tmp_path / "in", tmp_path / "out", making=salvage).failures == ()
    assert run(tmp_path / "in", tmp_path / "out", making=salvage).before == 1
    assert len(run(tmp_path / "in", tmp_path / "out").failures) == 1


def test_a_bug_costs_one_recording_and_tells_no_words(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    for number, name in enumerate(("a", "b breaks", "c")):
        piece(tmp_path / "in" / f"{name}.wav", at_s=number)
    result = run(tmp_path / "in", tmp_path / "out")
    assert made_of(result) == ["a.wav", "c.wav"]
    (failure,) = result.failures
    assert "RuntimeError at fakes.py" in failure.reason
    assert "off the record" not in (tmp_path / "out" / NAME).read_text()


def test_what_could_not_be_looked_into_is_told_first_and_in_order(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    for name in ("a", "c", "d"):
        (tmp_path / "in" / f"{name}.wav").write_bytes(b"")
    (tmp_path / "in" / "b.wav").write_bytes(b"RIFF\0\0\0\0WAVEnonsense")
    seen = Seen()
    result = run(tmp_path / "in", tmp_path / "out", seen=seen)
    assert [f.path.name for f in result.failures] == ["a.wav", "c.wav", "d.wav", "b.wav"]
    assert result.left == 0
    assert {(s.failed, s.done, s.total) for s in seen.states} <= {(3, 3, 4), (4, 4, 4)}


def test_how_far_it_is_is_told(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    for number in range(3):
        piece(tmp_path / "in" / f"{number}.wav", at_s=number)
    seen = Seen()
    result = run(tmp_path / "in", tmp_path / "out", seen=seen)
    assert result.sound_s == pytest.approx(24.0)
    assert seen.states
    assert {state.total for state in seen.states} == {3}
    assert [s.done for s in seen.states] == sorted(s.done for s in seen.states)


def test_a_manifest_is_written_when_the_notes_are(folder: Path, tmp_path: Path) -> None:
    run(folder, tmp_path / "out")
    with Manifest(tmp_path / "out") as manifest:
        for line in (tmp_path / "out" / NAME).read_text().splitlines()[1:]:
            told = manifest.of(json.loads(line)["sha256"])
            assert told is not None
            assert all((tmp_path / "out" / note.file).is_file() for note in told.notes)


def test_silence_gives_no_note_and_is_done(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    soundfile.write(tmp_path / "in" / "a.wav", np.zeros(48000, np.float32), 16000)
    result = run(tmp_path / "in", tmp_path / "out")
    assert [line.notes for line in result.lines] == [()]
    assert run(tmp_path / "in", tmp_path / "out").before == 1
