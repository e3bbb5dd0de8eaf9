"""A session that was broken off goes on, or is finished: nothing lost, no note twice. Real recogniser."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dictate import cli
from dictate.audio import SourceError, load_recording
from dictate.board import Board
from dictate.library import Library
from dictate.listen.capture import NoSource
from dictate.listen.eventlog import Began, Ended, HeardEvent, read_log
from dictate.listen.folder import LOG, NOTES, RECORDING, SessionFolder, begin, go_on
from dictate.listen.recorder import Recorder
from dictate.listen.rehearsal import Rehearsal
from dictate.listen.session import Session
from dictate.note import UNCLEAR_BELOW, as_document, read_note
from dictate.pipeline import notes_from_source, second_hearing
from dictate.settings import Settings
from dictate.values import ListedWine
from tests.listen import kills

ROOT = Path(__file__).parents[2]
TANKS = ROOT / "audio_demo" / "tank-room.flac"  # two wines, private speech
LUNCH = ROOT / "audio_demo" / "after-lunch.flac"  # two wines; the first clock runs from 15.9 to 21.8 s
SETTINGS = Settings(model="tiny.en")
RATE = 16000

Documents = list[dict[str, Any]]


@lru_cache(maxsize=4)
def sound(path: Path) -> np.ndarray:
    return np.round(load_recording(path).samples * 32767).astype(np.int16)


@lru_cache(maxsize=4)
def of_the_file(path: Path) -> Documents:
    """The notes that `dictate note --model tiny.en` makes of a recording."""
    from dictate.recognise import find_listeners
    from dictate.recognise.whisper import WhisperRecogniser

    recogniser = WhisperRecogniser(find_listeners("tiny.en"), again=second_hearing(SETTINGS))
    return [as_document(n) for n in notes_from_source(path, recogniser=recogniser, settings=SETTINGS)]


def gist(notes: Documents) -> list[tuple[Any, ...]]:
    """What must be the same; words at the edge of what is heard can fall either way."""
    return [
        (
            n["wine"].get("position"),
            n["finish"].get("how"),
            round(n["finish"]["seconds"], 1) if n["finish"].get("seconds") else None,
        )
        for n in notes
    ]


def written(folder: Path) -> dict[str, dict[str, Any]]:
    """The notes of a session by the names of their files."""
    found = {f.name: json.loads(f.read_text("utf-8")) for f in sorted((folder / NOTES).glob("*.json"))}
    names = {f.name for f in (folder / NOTES).iterdir()}
    assert names == {name for json_name in found for name in (json_name, json_name[:-4] + "md")}
    return found


def ids(notes: dict[str, dict[str, Any]]) -> dict[str, str]:
    return {name: note["id"] for name, note in notes.items()}


def ordered(notes: dict[str, dict[str, Any]]) -> Documents:
    return sorted(notes.values(), key=lambda n: n["id"])


def listen(opened: SessionFolder, source: Path, settings: Settings = SETTINGS) -> list[Board]:
    boards: list[Board] = []
    with opened as folder:
        session = Session(folder, settings, source=Rehearsal(source, pace=0), show=boards.append)
        session.run()
    assert session.failure == ""
    return boards


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A session that nothing happened to; not to be changed."""
    folder = tmp_path_factory.mktemp("whole") / "session"
    listen(begin(folder), TANKS)
    return folder


@pytest.fixture
def session(whole: Path, tmp_path: Path) -> Path:
    """A copy of it, to be damaged."""
    shutil.copytree(whole, tmp_path / "session")
    return tmp_path / "session"


def close(folder: Path) -> int:
    return cli.main(["resume", str(folder), "--close", "--model", "tiny.en"])


def heard_lines(folder: Path) -> list[int]:
    """The places of the log's lines that tell of breath groups with words."""
    lines = (folder / LOG).read_bytes().splitlines()
    return [n for n, line in enumerate(lines) if b'"heard"' in line and b'"private":false' in line]


def cut_log(folder: Path, line: int, *, torn: int = 20) -> None:
    """As though the power had failed while that line was written."""
    lines = (folder / LOG).read_bytes().splitlines(keepends=True)
    (folder / LOG).write_bytes(b"".join(lines[:line]) + lines[line][:torn])


@pytest.mark.model
def test_a_session_is_what_dictate_note_makes_of_its_recording(whole: Path) -> None:
    assert gist(ordered(written(whole))) == gist(of_the_file(TANKS))


@pytest.mark.model
@pytest.mark.parametrize("share", [0.2, 0.7])
def test_broken_off_and_closed_it_has_the_same_notes_ids_and_files(
    session: Path, share: float, own_home: Path
) -> None:
    before = written(session)
    told = heard_lines(session)
    cut_log(session, told[round(share * len(told))])
    (last,) = (name for name, note in before.items() if note["id"].endswith("-2"))
    for file in (session / NOTES).glob(f"{Path(last).stem}*"):
        file.unlink()  # its wine had not been closed
    (session / NOTES / ".half.part").write_text("{")  # a note was being written
    assert close(session) == 0
    after = written(session)
    with Library.open(own_home / "library.sqlite") as library:
        assert {hit.id for hit in library.find().hits} == set(ids(after).values())
    assert ids(after) == ids(before)
    assert gist(ordered(after)) == gist(ordered(before))
    assert isinstance(read_log(session / LOG).events[-1], Ended)
    assert "never pay" not in (session / LOG).read_text("utf-8")


@pytest.mark.model
def test_closed_twice_nothing_changes(session: Path) -> None:
    assert close(session) == 0
    before = written(session)
    assert close(session) == 0
    assert written(session) == before


@pytest.mark.model
def test_with_the_log_lost_the_recording_tells_all(session: Path) -> None:
    before = written(session)
    (session / LOG).unlink()
    assert close(session) == 0
    after = written(session)
    assert gist(ordered(after)) == gist(ordered(before))
    assert sorted(ids(after).values()) == sorted(ids(before).values())
    # what was said off the record is still in no file but the recording
    everything = (session / LOG).read_text("utf-8") + json.dumps(after)
    assert any(isinstance(e, HeardEvent) and e.private for e in read_log(session / LOG).events)
    assert "never pay" not in everything.lower()


@pytest.mark.model
def test_while_it_catches_up_the_board_says_so_and_not_that_it_is_off_the_record(session: Path) -> None:
    before = written(session)
    cut_log(session, heard_lines(session)[-4])
    boards: list[Board] = []
    with go_on(session) as folder:
        left = folder.left
        assert left is not None
        Session(folder, SETTINGS, source=NoSource(), show=boards.append).run()
    behind = [b.mode for b in boards if b.to_hear]
    assert behind
    assert set(behind) == {"catching_up"}
    assert "private" not in {b.mode for b in boards}  # nothing is said off the record at the end
    assert boards[0].to_hear >= 4
    assert [b.to_hear for b in boards] == sorted((b.to_hear for b in boards), reverse=True)
    assert not any(b.last_heard for b in boards if b.mode == "catching_up")
    assert ids(written(session)) == ids(before)


@pytest.mark.model
def test_what_was_off_the_record_is_not_heard_anew(session: Path) -> None:
    """Its other words are in the log, so that it stays as private as it was."""
    private = [e for e in read_log(session / LOG).events if isinstance(e, HeardEvent) and e.private]
    assert private
    assert not any(e.withheld for e in private)
    with go_on(session) as folder:
        left = folder.left
        assert left is not None
        assert {e.stretch for e in private} <= {stretch for stretch, _ in left.told}
        assert left.untold == left.private == ()


@pytest.mark.model
def test_a_damaged_line_is_heard_anew(session: Path) -> None:
    before = written(session)
    told = heard_lines(session)
    lines = (session / LOG).read_bytes().splitlines(keepends=True)
    damaged = json.loads(lines[told[4]])
    lines[told[4]] = b"\0" * 40 + b"\n"
    (session / LOG).write_bytes(b"".join(lines))
    assert close(session) == 0
    assert ids(written(session)) == ids(before)
    again = [e for e in read_log(session / LOG).events if isinstance(e, HeardEvent)]
    assert any(abs(e.start_s - damaged["start_s"]) < 0.1 and e.words for e in again)


@pytest.mark.model
@pytest.mark.parametrize(("at_s", "is_exact"), [(26.7, True), (18.5, False)])
def test_two_sessions_of_a_part_each_give_the_wines_of_the_whole(
    tmp_path: Path, at_s: float, is_exact: bool
) -> None:
    place = round(at_s * RATE)
    for name, part in (("one.wav", sound(LUNCH)[:place]), ("two.wav", sound(LUNCH)[place:])):
        with Recorder(tmp_path / name) as recorder:
            recorder.write(part)
    folder = tmp_path / "session"
    listen(begin(folder), tmp_path / "one.wav")
    between = ids(written(folder))
    boards = listen(go_on(folder), tmp_path / "two.wav")
    after = written(folder)
    assert set(between.values()) <= set(ids(after).values())
    true = of_the_file(LUNCH)
    found = ordered(after)
    assert [n["wine"]["position"] for n in found] == [n["wine"]["position"] for n in true]
    assert gist(found)[1] == gist(true)[1]
    finish = found[0]["finish"]
    assert finish["how"] == "timed"
    assert (finish["confidence"] >= UNCLEAR_BELOW) == is_exact
    assert is_exact == (gist(found)[0] == gist(true)[0])
    assert boards[-1].mode == "ended"
    began = [e for e in read_log(folder / LOG).events if isinstance(e, Began)]
    assert [e.from_s for e in began] == [0.0, pytest.approx(at_s + 1.5, abs=0.01)]  # a rehearsal's silence
    assert len({e.identity for e in began}) == 1
    assert load_recording(folder / RECORDING).duration_s == pytest.approx(
        len(sound(LUNCH)) / RATE + 3, abs=0.1
    )


@pytest.mark.model
def test_tasted_blind_the_list_is_shut_until_the_end(tmp_path: Path) -> None:
    wines = (ListedWine(7, producer="Otter Weir", origin="Chinon"), ListedWine(8, producer="Glass Orchard"))
    settings = Settings(model="tiny.en", wines=wines, blind=True)
    folder = tmp_path / "session"
    boards = listen(begin(folder, blind=True), LUNCH, settings)
    assert not any("Otter" in repr(board) for board in boards[:-1])
    first, second = ordered(written(folder))
    assert (first["wine"]["producer"]["text"], first["wine"]["producer"]["source"]) == (
        "Otter Weir",
        "listed",
    )
    assert second["wine"]["position"] == 8
    with go_on(folder) as again:
        assert again.blind


@pytest.mark.model
@pytest.mark.parametrize("at_s", [9.3, 40.1])
def test_killed_at_any_moment_nothing_is_lost_and_no_note_is_there_twice(tmp_path: Path, at_s: float) -> None:
    verdict = kills.run(LUNCH, at_s, folder=tmp_path, model="tiny.en")
    assert verdict.faults == ()


def told(capsys: pytest.CaptureFixture[str]) -> str:
    """The one line of an error."""
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.count("\n") == 1
    return shown.err


def a_session(path: Path) -> Path:
    begin(path).close()
    return path


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("none", "no such folder"),
        ("empty", "is no session"),
        ("other", "is no recording"),
        ("dir", RECORDING),
    ],
)
@pytest.mark.parametrize("more", [(), ("--close",)])
def test_a_folder_that_cannot_be_used_is_told_in_a_line_before_any_microphone_is_opened(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, says: str, more: tuple[str, ...],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setattr("dictate.listen.devices.input_devices", lambda: pytest.fail("asked for a microphone"))
    (tmp_path / "empty").mkdir()
    for folder in ("other", "dir"):
        (tmp_path / folder).mkdir()
    (tmp_path / "other" / RECORDING).write_bytes(b"no sound" * 100)
    (tmp_path / "dir" / RECORDING).mkdir()
    assert cli.main(["resume", str(tmp_path / name), *more]) == 2
    line = told(capsys)
    assert says in line
    assert str(tmp_path / name) in line


def test_what_another_program_has_open_is_left_alone(tmp_path: Path) -> None:
    with begin(tmp_path / "session"):
        other = subprocess.run(
            [sys.executable, "-m", "dictate", "resume", "--close", str(tmp_path / "session")],
            capture_output=True, text=True, cwd=ROOT, check=False,
        )  # fmt: skip
    assert (other.returncode, other.stdout) == (2, "")
    assert "another program has this session" in other.stderr
    assert other.stderr.count("\n") == 1


def test_where_no_microphone_can_be_opened_listen_leaves_no_folder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("dictate.listen.devices.input_devices", lambda: ())
    monkeypatch.setattr("dictate.commands.listen.find_listeners", lambda _: ())
    assert cli.main(["listen", "--to", str(tmp_path / "to")]) == 2
    assert "plug one in" in told(capsys)
    assert not (tmp_path / "to").exists()


def test_a_folder_that_opens_half_way_gives_all_back(tmp_path: Path) -> None:
    """Files left open would fail the test by their ResourceWarning; the lock is free again."""
    folder = a_session(tmp_path / "session")
    (folder / LOG).unlink()
    (folder / LOG).mkdir()
    with pytest.raises(IsADirectoryError):
        go_on(folder)
    (folder / LOG).rmdir()
    go_on(folder).close()
    with pytest.raises(FileExistsError):
        begin(folder)


def test_closed_twice_a_folder_is_no_harm(tmp_path: Path) -> None:
    opened = begin(tmp_path / "session")
    opened.close()
    opened.close()
    with go_on(tmp_path / "session"), pytest.raises(SourceError, match="another program"):
        go_on(tmp_path / "session")


@pytest.mark.model
def test_a_note_under_two_names_is_one_again(tmp_path: Path, whole: Path) -> None:
    """Killed between writing a note under its new name and taking away the old."""
    folder = a_session(tmp_path / "session")
    (folder / NOTES).mkdir()
    source = sorted((whole / NOTES).glob("*.json"))[0]
    for name in ("01", "01-a-name"):
        shutil.copy(source, folder / NOTES / f"{name}.json")
        shutil.copy(source.with_suffix(".md"), folder / NOTES / f"{name}.md")
    note = read_note(json.loads(source.read_text("utf-8")))
    with go_on(folder) as opened:
        opened.write(note)
    assert [n["id"] for n in written(folder).values()] == [note.id]
