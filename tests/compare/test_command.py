"""`dictate compare` as it is called: files and folders in, tables, JSON, CSV and pictures out."""

from __future__ import annotations

import csv
import io
import json
import os
from pathlib import Path
from xml.etree import ElementTree

import pytest

from dictate import cli
from dictate.files import write_note
from dictate.note import Recording
from tests.compare.made import flight, note

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The working folder, with a flight of three in `notes` and two tasters' notes of one flight."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    for one in flight(3, missing=0):
        write_note(one, tmp_path / "notes")
    for seed, taster in enumerate(("ann", "bo")):
        for one in flight(4, seed=seed, missing=0):
            write_note(one, tmp_path / taster)
    return tmp_path


def run(capsys: Capture, *arguments: str) -> tuple[int, str, str]:
    code = cli.main(["compare", *arguments])
    out, err = capsys.readouterr()
    return code, out, err


def test_a_folder_and_its_files_are_the_same_notes(folder: Path, capsys: Capture) -> None:
    code, whole, err = run(capsys, "notes")
    assert (code, err) == (0, "")
    assert "acidity" in whole
    files = sorted(map(str, (folder / "notes").glob("*.json")), reverse=True)
    assert run(capsys, *files)[1] == whole
    assert run(capsys, "notes", *files)[1] == whole  # the same note twice is one note


def test_json_is_json_and_csv_is_one_table(folder: Path, capsys: Capture) -> None:
    for options in (("notes",), ("notes", "--years", "--one-wine"), ("notes", "--repeats", "--one-wine")):
        code, out, _ = run(capsys, *options, "--as", "json")
        assert code == 0
        assert json.loads(out)["kind"] in ("beside", "years", "repeats")
        code, out, _ = run(capsys, *options, "--as", "csv")
        assert code == 0
        rows = list(csv.reader(io.StringIO(out)))
        assert len({len(row) for row in rows}) == 1
        assert len(rows) > 1


def test_a_field_nobody_spoke_of_is_empty_in_the_csv(folder: Path, capsys: Capture) -> None:
    rows = list(csv.DictReader(io.StringIO(run(capsys, "notes", "--as", "csv")[1])))
    assert {row["palate.mousse"] for row in rows} == {""}
    assert all(row["palate.acidity"] for row in rows)


def test_tasters_by_folder_or_by_name(folder: Path, capsys: Capture) -> None:
    plain = json.loads(run(capsys, "ann", "bo", "--tasters", "--as", "json")[1])
    assert plain["tasters"] == ["ann", "bo"]
    named = json.loads(run(capsys, "Ann=ann", "Bo=bo", "--tasters", "--as", "json")[1])
    assert named["tasters"] == ["Ann", "Bo"]
    assert [a["kendall_w"] for a in named["agreement"]] == [a["kendall_w"] for a in plain["agreement"]]
    code, out, _ = run(capsys, "ann", "bo", "--tasters")
    assert code == 0
    assert "Kendall's W" in out


def test_age_is_counted_from_the_year_of_the_recording(folder: Path, capsys: Capture) -> None:
    recording = folder / "tasting.vtt"
    recording.write_text("WEBVTT\n")
    os.utime(recording, (1_700_000_000, 1_700_000_000))  # November 2023
    part = Recording(path=str(recording), sha256="ab" * 32, start_s=0, end_s=1)
    for name, vintage, of in (("a", 2018, part), ("b", 2020, None)):
        one = note(name, producer="Tin Whistle", name="Quarry", vintage=vintage)
        write_note(one.model_copy(update={"recording": of}), folder / "years")
    found = json.loads(run(capsys, "years", "--years", "--as", "json")[1])
    assert [(y["vintage"], y["tasted"], y["age"]) for y in found["wines"][0]["years"]] == [
        (2018, 2023, 5),
        (2020, None, None),
    ]


@pytest.mark.parametrize("name", ["flight.svg", "flight.PNG"])
def test_a_picture_is_written_whole(folder: Path, capsys: Capture, name: str) -> None:
    code, out, err = run(capsys, "notes", "--plot", name)
    assert (code, err) == (0, "")
    assert out.endswith(f"Picture: {name}\n")
    data = (folder / name).read_bytes()
    if name.endswith(".svg"):
        assert ElementTree.fromstring(data).tag.endswith("svg")
    else:
        assert data.startswith(b"\x89PNG")
    assert not list(folder.glob("*.part"))
    assert run(capsys, "notes", "--plot", name, "--as", "json")[0] == 0  # and JSON stays JSON


def test_markup_in_what_was_said_is_shown_as_it_is(folder: Path, capsys: Capture) -> None:
    odd = "[bold]Tin[/bold] \x1b[31mWhistle"
    for number in (1, 2):
        one = note(
            f"{number}", position=number, producer=odd, smells=("[red]rose[/red]",), hue="[link=x]y[/link]"
        )
        write_note(one, folder / "odd")
    out = run(capsys, "odd")[1]
    assert "[bold]Tin[/bold]" in out
    assert "[red]rose[/red]" in out
    assert "\x1b" not in out


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["empty"], "empty: no note there"),
        (["ann", "empty", "--tasters"], "empty: no note there"),
        (["notes", "--tasters"], "needs two folders"),
        (["ann", "other/ann", "--tasters"], "two folders are called ann"),
        (["notes", "--one-wine"], "--one-wine goes with"),
        (["notes", "--plot", "x.jpg"], ".svg or .png"),
        (["notes", "--plot", "nowhere/x.svg"], "no such folder"),
        (["bare", "--plot", "x.svg"], "nothing to draw"),
        (["notes", "--years", "--repeats"], "not allowed with"),
    ],
)
def test_bad_input_is_one_line_that_says_what_to_do(
    folder: Path, capsys: Capture, arguments: list[str], told: str
) -> None:
    (folder / "empty").mkdir()
    write_note(note("n"), folder / "bare")
    write_note(note("n"), folder / "other" / "ann")
    try:
        code = cli.main(["compare", *arguments])
    except SystemExit as stop:  # argparse
        code = int(stop.code or 0)
    out, err = capsys.readouterr()
    assert code == 2
    assert out == ""
    assert err.count("\n") == 1
    assert told in err
    assert not (folder / "x.svg").exists()


LEVEL_ELEVEN = '{"schema": "tasting-note/1", "id": "a", "palate": {"acidity": {"level": 11}}}'


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (None, "No such file"),
        ("{", "no JSON"),
        ("[]", "no note in it"),
        ('{"schema": "x/9"}', "schema 'x/9' is not known"),
        (LEVEL_ELEVEN, "palate.acidity.level"),
    ],
)
def test_what_cannot_be_used_is_named_and_the_rest_compared(
    folder: Path, capsys: Capture, text: str | None, told: str
) -> None:
    if text is not None:
        (folder / "bad.json").write_text(text)
    code, out, err = run(capsys, "bad.json")
    assert (code, out) == (2, "")
    assert [line.partition("bad.json")[2] != "" for line in err.splitlines()] == [True, True]
    assert told in err
    code, out, err = run(capsys, "notes", "bad.json")
    assert code == 1
    assert told in err
    assert out == run(capsys, "notes")[1]


def wines(document: str) -> list[str]:
    return sorted(json.dumps(glass, sort_keys=True) for glass in json.loads(document)["glasses"])


def test_notes_of_the_library_are_found_by_a_query(folder: Path, capsys: Capture) -> None:
    assert cli.main(["library", "add", "notes", "--library", "l.sqlite"]) == 0
    capsys.readouterr()
    library = ("--library", "l.sqlite", "--as", "json")
    code, found, err = run(capsys, "--find", "acidity over 0", *library)
    assert (code, err) == (0, "")
    assert wines(found) == wines(run(capsys, "notes", "--as", "json")[1])
    assert run(capsys, "--find", "smells of nothingatall", *library)[0] == 2
    for wrong in (("--find", "acidity over", *library), (), ("--find", "x", "--tasters", "ann", "bo")):
        code, out, err = run(capsys, *wrong)
        assert (code, out, err.count("\n")) == (2, "", 1)
