"""`dictate find`, `show`, `edit`, `remove`, `library`, and notes that land there, as a user meets them."""

from __future__ import annotations

import csv
import io
import json
import os
import sys
from pathlib import Path

import pytest

from dictate import cli
from dictate.library import Library
from dictate.note import Note, read_note
from tests.library.made import made_notes
from tests.note.notes import full_note
from tests.test_cli import TWO_WINES, one_line

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A transcript of two wines in the working folder."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bench.vtt").write_text(TWO_WINES, encoding="utf-8")
    return tmp_path


@pytest.fixture
def path(own_home: Path) -> Path:
    return own_home / "library.sqlite"


@pytest.fixture
def library(path: Path) -> Path:
    """A library of a full note and five made ones."""
    with Library.open(path) as library:
        library.add(full_note())
        library.add_all(made_notes(5))
    return path


def said(capsys: Capture, *arguments: str, code: int = 0) -> str:
    """What a command prints, with nothing on standard error."""
    assert cli.main(list(arguments)) == code
    captured = capsys.readouterr()
    assert captured.err == ""
    return captured.out


def get(path: Path, name: str) -> Note:
    with Library.open(path) as library:
        return library.get(name)


def test_notes_land_in_the_library_by_themselves_and_once(bench: Path, path: Path, capsys: Capture) -> None:
    for _ in range(2):
        said(capsys, "note", "bench.vtt")
    with Library.open(path) as library:
        assert library.find().total == 2
        assert library.revisions("1") == library.revisions("1")[:1]
        files = {json.loads(file.read_text())["id"] for file in (bench / "notes").glob("*.json")}
        assert {hit.id for hit in library.find().hits} == files
    out = said(capsys, "find", "smells of green apple")
    assert "Riesling" in out
    assert "1 found" in out
    assert "11.50 s" in out


@pytest.mark.parametrize("options", [["--no-library"], ["--json"]])
def test_no_library_where_none_is_wanted(
    options: list[str], bench: Path, path: Path, capsys: Capture
) -> None:
    said(capsys, "note", "bench.vtt", *options)
    assert not path.exists()


def test_another_library_by_option_and_by_environment(
    bench: Path, path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    said(capsys, "note", "bench.vtt", "--library", "mine.sqlite")
    monkeypatch.setenv("DICTATE_LIBRARY", str(bench / "mine.sqlite"))
    assert "2 found" in said(capsys, "find")
    assert not path.exists()


def test_a_library_that_fails_costs_no_note(bench: Path, path: Path, capsys: Capture) -> None:
    path.parent.mkdir(parents=True)
    path.write_bytes(b"no library" * 1000)
    assert cli.main(["note", "bench.vtt"]) == 0
    captured = capsys.readouterr()
    assert captured.err.count("\n") == 1
    assert "not in the library, but in files" in captured.err
    assert len(list((bench / "notes").glob("*.json"))) == 2
    assert "Riesling" in captured.out
    path.unlink()
    assert said(capsys, "library", "add", "notes") == "2 notes: 2 new, 0 changed, 0 known before\n"
    assert said(capsys, "library", "add", "notes") == "2 notes: 0 new, 0 changed, 2 known before\n"


def test_found_as_json_comes_back_equal(library: Path, tmp_path: Path, capsys: Capture) -> None:
    out = said(capsys, "find", "finish over 0", "--by", "position", "--as", "json")
    notes = [read_note(document) for document in json.loads(out)]
    assert notes == [*made_notes(3), full_note(), *list(made_notes(5))[3:]]
    (tmp_path / "all.json").write_text(out)
    assert "6 known before" in said(capsys, "library", "add", str(tmp_path / "all.json"))
    assert json.loads(said(capsys, "find", "smells of nothing on earth", "--as", "json")) == []


def test_found_as_csv_runs_no_formula(path: Path, capsys: Capture) -> None:
    note = full_note()
    producer = note.wine.producer
    assert producer is not None
    wine = note.wine.model_copy(
        update={
            "producer": producer.model_copy(update={"text": "=HYPERLINK(1)"}),
            "position": None,
            "code": None,
        }
    )
    with Library.open(path) as library:
        library.add(note.model_copy(update={"wine": wine}))
    rows = list(csv.DictReader(io.StringIO(said(capsys, "find", "--as", "csv"))))
    assert rows[0]["producer"] == "'=HYPERLINK(1)"
    assert rows[0]["wine"].startswith("'=")
    assert (rows[0]["acidity"], rows[0]["finish"], rows[0]["tannin"]) == ("5", "13.42", "")


def test_a_table_shows_what_was_asked_for_and_how_many_more(library: Path, capsys: Capture) -> None:
    out = said(capsys, "find", "--limit", "2", "--by", "tannin")
    assert "Tannin" in out
    assert "6 found, 2 shown; all: --limit 6" in out
    assert said(capsys, "find", "by", "nobody") == "No note found.\n\n"


@pytest.mark.parametrize(
    "arguments",
    [
        ["find", "acidity over high"], ["find", "--by", "luck"], ["show", "77"], ["show", "no such id"],
        ["remove", "1", "77", "--yes"], ["library", "undo"], ["library", "restore"], ["edit", "77"],
        ["library", "restore", "nothing.sqlite", "--yes"], ["library", "add", "nothing.json"],
        ["library", "recordings", "nowhere"],
    ],
    ids=" ".join,
)  # fmt: skip
def test_bad_input_is_one_line_and_exit_code_2(
    arguments: list[str], tmp_path: Path, path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (made,) = made_notes(1)
    assert made.recording is not None
    gone = made.recording.model_copy(update={"path": str(tmp_path / "gone.wav")})
    with Library.open(path) as library:
        library.add(made.model_copy(update={"recording": gone}))
    for backup in path.with_name("library-backups").iterdir():
        backup.unlink()
    assert cli.main(arguments) == 2
    one_line(capsys)
    with Library.open(path) as library:
        assert library.find().total == 1


def test_shown_as_it_was(library: Path, capsys: Capture) -> None:
    out = said(capsys, "show", "1", "test-1")
    assert out.count("4, glass 741, Copper Ladle") == 2
    assert f"{library}, note 1, revision 1" in out
    assert "Do not drive after a tasting." in out


def test_removing_asks_and_can_be_undone(
    library: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert cli.main(["remove", "2"]) == 2
    assert "add --yes" in one_line(capsys)
    for answer, code in (("n\n", 2), ("y\n", 0)):
        terminal = io.StringIO(answer)
        terminal.isatty = lambda: True  # type: ignore[method-assign]
        monkeypatch.setattr(sys, "stdin", terminal)
        assert cli.main(["remove", "2", "3"]) == code
        assert "Remove 2 notes? For 30 days it can be undone. [y/N]" in capsys.readouterr().err
    assert "4 found" in said(capsys, "find")
    said(capsys, "remove", "4", "--yes")
    assert said(capsys, "library", "removed").count("\n") == 3
    assert "back: note 2 (" in said(capsys, "library", "undo", "2")
    said(capsys, "library", "undo")
    said(capsys, "library", "undo")
    assert "6 found" in said(capsys, "find")


def editor(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, script: str) -> None:
    """An editor that runs Python on the text's path, `file`."""
    program = tmp_path / "my editor.py"
    program.write_text(f"import sys\nfrom pathlib import Path\nfile = Path(sys.argv[1])\n{script}\n")
    monkeypatch.setenv("VISUAL", f'"{sys.executable}" "{program}"')
    monkeypatch.setenv("EDITOR", "false")


def replacing(old: str, new: str) -> str:
    return f"file.write_text(file.read_text().replace({old!r}, {new!r}))"


def test_edited_in_the_user_s_editor(
    library: Path, tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    editor(tmp_path, monkeypatch, replacing("  acidity: 5\n", "  acidity: 8.5\n"))
    out = said(capsys, "edit", "test-1")
    assert "medium acidity (8.5)" in out
    note = get(library, "1")
    assert note.palate.acidity is not None
    assert (note.palate.acidity.level, note.palate.acidity.source) == (8.5, "corrected")
    assert [(c.field, c.before, c.after, c.by) for c in note.history] == [("palate.acidity", 5, 8.5, "hand")]
    with Library.open(library) as opened:
        assert [why for _, _, why in opened.revisions("1")] == ["made", "edited"]
        assert opened.revision("1", 1) == full_note()
    assert said(capsys, "edit", "1") == "Nothing changed.\n"
    assert list(library.with_name("library-edits").iterdir()) == []


def test_a_mistake_keeps_the_text_and_the_next_edit_takes_it_up(
    library: Path, tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    editor(tmp_path, monkeypatch, replacing("  acidity: 5\n", "  acidity: sharp\n"))
    assert cli.main(["edit", "1"]) == 2
    line = one_line(capsys)
    assert "line " in line
    assert "acidity: a number from 0" in line
    assert get(library, "1") == full_note()
    editor(tmp_path, monkeypatch, replacing("acidity: sharp", "acidity: 9"))
    assert cli.main(["edit", "1"]) == 0
    assert "taken up again" in capsys.readouterr().err
    acidity = get(library, "1").palate.acidity
    assert acidity is not None
    assert acidity.level == 9


@pytest.mark.parametrize("end", ["sys.exit(3)", "import os; os.kill(os.getpid(), 9)"])
def test_an_editor_that_dies_loses_nothing(
    end: str, library: Path, tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    editor(tmp_path, monkeypatch, replacing("  acidity: 5\n", "  acidity: 7\n") + f"\n{end}")
    assert cli.main(["edit", "1"]) == 2
    assert "ended with" in one_line(capsys)
    assert get(library, "1") == full_note()
    (kept,) = library.with_name("library-edits").iterdir()
    assert "  acidity: 7\n" in kept.read_text()


def test_without_an_editor_it_says_what_to_do(
    library: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("VISUAL", "no-such-editor-here")
    assert cli.main(["edit", "1"]) == 2
    assert "name an editor in VISUAL or EDITOR" in one_line(capsys)


def test_what_came_meanwhile_stays_beside_an_edit(
    library: Path, tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While the editor is open the note is made anew with another body."""
    program = (
        "from dictate.library import Library\nfrom dictate.note import Level\n"
        f"with Library.open(Path({str(library)!r})) as l:\n"
        "    note = l.get('1')\n"
        "    palate = note.palate.model_copy(update={'body': Level(level=1)})\n"
        "    l.add(note.model_copy(update={'palate': palate}))\n"
    )
    editor(tmp_path, monkeypatch, program + replacing("  acidity: 5\n", "  acidity: 7\n"))
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).parents[2]))
    said(capsys, "edit", "1")
    palate = get(library, "1").palate
    assert palate.acidity is not None
    assert palate.body is not None
    assert (palate.acidity.level, palate.body.level) == (7, 1)


def test_corrections_stay_when_a_recording_is_done_again(
    bench: Path, path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    said(capsys, "note", "bench.vtt")
    editor(bench, monkeypatch, replacing("  acidity:\n", "  acidity: 3\n"))
    said(capsys, "edit", "1")
    out = said(capsys, "note", "bench.vtt")
    assert "acidity: 3 of 10" in out
    (riesling,) = (bench / "notes").glob("*riesling*.json")
    assert json.loads(riesling.read_text())["palate"]["acidity"]["source"] == "corrected"
    assert "2 found" in said(capsys, "find")


def test_checked_backed_up_and_restored(library: Path, tmp_path: Path, capsys: Capture) -> None:
    assert said(capsys, "library", "check").splitlines()[-1] == f"{library}: 6 notes, all well"
    backup = Path(said(capsys, "library", "backup").strip())
    assert str(backup) in said(capsys, "library", "backups")
    library.write_bytes(b"\1" * 9000)
    for arguments in (["find"], ["library", "check"], ["show", "1"], ["library", "backup"]):
        assert cli.main(arguments) == 2
        line = one_line(capsys)
        assert "the library is damaged" in line
        assert backup.name in line
    assert cli.main(["library", "restore"]) == 2
    assert "add --yes" in one_line(capsys)
    assert f"{library}: 6 notes; what was there before is " in said(capsys, "library", "restore", "--yes")
    assert "6 found" in said(capsys, "find")


def test_a_recording_that_was_moved_is_found(bench: Path, path: Path, capsys: Capture) -> None:
    said(capsys, "note", "bench.vtt")
    assert "not there" not in said(capsys, "library", "check")
    (bench / "older").mkdir()
    os.rename("bench.vtt", bench / "older" / "2026.vtt")  # noqa: PTH104
    assert f"not there: {bench}/bench.vtt" in said(capsys, "library", "check")
    assert said(capsys, "library", "recordings", code=1) == f"not there: {bench}/bench.vtt\n"
    assert said(capsys, "library", "recordings", "older") == f"found again: {bench}/older/2026.vtt\n"
    assert f"Recording: {bench}/older/2026.vtt" in said(capsys, "show", "1")
