"""`dictate words` and `dictate note --list` as a user meets them."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from dictate import cli
from dictate.note import json_schema, read_note
from dictate.personal.store import load_words, words_path
from tests.test_cli import one_line, run

FLIGHT = """WEBVTT

00:00:01.000 --> 00:00:05.000
next wine, number one, a Cabernet Franc, from Herein Rake, twenty nineteen

00:00:06.000 --> 00:00:08.000
on the nose, cherry and old cupboard

00:00:23.000 --> 00:00:25.000
next wine, number two

00:00:26.000 --> 00:00:28.000
on the nose, lime
"""
LIST = """No.;Estate;Appellation;Cépage;Year;Price
1;Heron's Rake;Chinon;Cabernet Franc;2018;9
2;Tin Whistle;Clare Valley;Riesling;NV;8
"""


@pytest.fixture
def flight(tmp_path: Path) -> Path:
    (tmp_path / "list.csv").write_text(LIST, encoding="cp1252")
    path = tmp_path / "flight.vtt"
    path.write_text(FLIGHT)
    return path


def said(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """What a command that goes well prints."""
    assert cli.main(["words", *arguments]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    return captured.out


def test_words_come_and_go(tmp_path: Path) -> None:
    added = run(
        "words", "add", "Heron's Rake", "--said", "the rake", "--heard-as", "herein rake", cwd=tmp_path
    )
    line = "Heron's Rake (producer); also said: the rake; heard as: herein rake\n"
    assert (added.returncode, added.stdout, added.stderr) == (0, line, "")
    assert run("words", "list", cwd=tmp_path).stdout == line
    gone = run("words", "remove", "herons rake", cwd=tmp_path)
    assert (gone.returncode, gone.stdout) == (2, "")
    assert (
        gone.stderr == "dictate: “herons rake” is none of your words; did you mean Heron's Rake (producer)?\n"
    )
    assert run("words", "remove", "HERON'S RAKE", cwd=tmp_path).stdout == "removed: Heron's Rake (producer)\n"
    assert "add one" in run("words", "list", cwd=tmp_path).stdout


def test_adding_again_adds_forms_and_keeps_the_kind(capsys: pytest.CaptureFixture[str]) -> None:
    said(capsys, "add", "oyster leaf", "--kind", "texture")
    out = said(
        capsys, "add", "oyster leaf", "--said", "leaf of oyster", "oyster plant", "--said", "mertensia"
    )
    assert out == "oyster leaf (texture); also said: leaf of oyster, oyster plant, mertensia\n"
    said(capsys, "add", "oyster leaf", "--kind", "descriptor")
    assert [w.kind for w in load_words()] == ["descriptor", "texture"]
    assert said(capsys, "remove", "oyster leaf", "--kind", "texture") == "removed: oyster leaf (texture)\n"
    assert [w.kind for w in load_words()] == ["descriptor"]


def test_out_and_in_again(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for term in ("Tin Whistle", "Château Hérisson", "old cupboard"):
        said(capsys, "add", term, "--heard-as", f"{term} x")
    before = load_words()
    for name in ("w.csv", "w.json"):
        path = str(tmp_path / name)
        assert said(capsys, "export", path) == f"3 words written to {path}\n"
        said(capsys, "remove", "Tin Whistle")
        assert said(capsys, "import", path) == "3 words read: 1 new, 2 known before; 3 in all\n"
        assert load_words() == before


WRONG = {
    "no such file": (["import", "none.csv"], "none.csv: No such file"),
    "a folder": (["import", "."], ".: Is a directory"),
    "a bad line": (["import", "bad.csv"], "bad.csv: line 3: kind must be one of"),
    "10 MB": (["import", "big.csv"], "big.csv: more than 4 MB"),
    "no word": (["add", "1998"], "no letter"),
    "an escape": (["add", "tin\x1b[31m"], "U+001B"),
    "not one of yours": (["remove", "Tin Whistle"], "dictate words list"),
    "another ending": (["export", "x.txt"], ".csv or .json"),
    "no folder": (["export", "none/x.csv"], "No such file or directory"),
}


@pytest.mark.parametrize("case", WRONG)
def test_what_goes_wrong_is_one_line_and_changes_nothing(
    case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bad.csv").write_text("term,kind\nTin Whistle,producer\nx,tree\n")
    (tmp_path / "big.csv").write_bytes(b"term\n" + b"tin whistle\n" * 900_000)
    said(capsys, "add", "copper")
    before = words_path().read_bytes()
    arguments, why = WRONG[case]
    assert cli.main(["words", *arguments]) == 2
    assert why in one_line(capsys)
    assert words_path().read_bytes() == before
    assert sorted(p.name for p in tmp_path.iterdir()) == ["bad.csv", "big.csv"]


@pytest.mark.parametrize(
    "arguments", [[], ["add"], ["add", "x", "--kind", "tree"], ["frob"], ["remove"], ["import"], ["export"]]
)
def test_a_wrong_command_line_is_one_line(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        cli.main(["words", *arguments])
    assert stopped.value.code == 2
    assert "--help" in one_line(capsys)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such lock")
def test_programs_that_add_at_once_lose_nothing(tmp_path: Path) -> None:
    names = ["Alder", "Birch", "Cedar", "Dogwood", "Elm"]
    environment = os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])}
    at_work = [
        subprocess.Popen(
            [sys.executable, "-m", "dictate", "words", "add", name],
            env=environment,
            stdout=subprocess.DEVNULL,
        )
        for name in names
    ]
    assert [program.wait(timeout=120) for program in at_work] == [0] * len(names)
    assert [w.term for w in load_words()] == names


def noted(path: Path, *more: str) -> tuple[list[dict[str, Any]], str]:
    done = run("note", path, *more, "--json", cwd=path.parent)
    assert done.returncode == 0, done.stderr
    notes = json.loads(done.stdout)
    for note in notes:
        jsonschema.validate(note, json_schema())
        read_note(note)
    return notes, done.stderr


def test_a_list_fills_in_and_never_overrides(flight: Path) -> None:
    (first, second), err = noted(flight, "--list", "list.csv")
    assert first["wine"]["producer"]["text"] == "Heron's Rake"
    heard = [w["heard"] for phrase in first["transcript"] for w in phrase["words"] if w.get("heard")]
    assert "Herein Rake" in " ".join(heard)  # what was heard stays beside what was put right
    assert (first["wine"]["vintage"]["year"], first["wine"]["vintage"]["source"]) == (2019, "spoken")
    assert (first["wine"]["origin"]["text"], first["wine"]["origin"]["source"]) == ("Chinon", "listed")
    assert second["wine"]["grapes"] == [
        {"said": "", "confidence": 1.0, "source": "listed", "term": "riesling"}
    ]
    assert second["wine"]["vintage"]["year"] == "NV"
    assert err.splitlines() == [
        "dictate: list.csv: columns not used: “Price”",
        "dictate: number 1: vintage 2018 on the list, 2019 said",
    ]


def test_without_a_list_nothing_is_filled_in(flight: Path) -> None:
    (first, second), err = noted(flight)
    assert first["wine"]["producer"]["text"] == "Herein Rake"
    assert set(second["wine"]) == {"position"}
    assert err == ""


def test_the_summary_tells_what_is_listed(flight: Path) -> None:
    done = run("note", flight, "--list", "list.csv", "--to", "out", cwd=flight.parent)
    assert "\n  From list:    origin.\n  List differs: vintage 2018 on the list, 2019 said.\n" in done.stdout
    assert done.stdout.startswith("1, Heron's Rake, Cabernet Franc, Chinon, 2019\n")
    (page,) = (flight.parent / "out").glob("01-*.md")
    assert "**List differs.** vintage 2018 on the list, 2019 said." in page.read_text()


def test_the_order_of_a_list_goes_on_from_recording_to_recording(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text("producer\nTin Whistle\nCopper Ladle\n")
    for name in "ab":
        (tmp_path / f"{name}.vtt").write_text(
            "WEBVTT\n\n00:01.000 --> 00:03.000\nnext wine\n\n00:04.000 --> 00:06.000\non the nose, lime\n"
        )
    notes, _ = noted(tmp_path / "a.vtt", "b.vtt", "--list", "list.csv")
    assert [n["wine"]["producer"]["text"] for n in notes] == ["Tin Whistle", "Copper Ladle"]


def test_a_number_that_is_not_listed_is_told(flight: Path) -> None:
    (flight.parent / "list.csv").write_text("position,producer\n2,Tin Whistle\n")
    assert (
        noted(flight, "--list", "list.csv")[1]
        == "dictate: number 1 is not on the list, so nothing was filled in\n"
    )


def test_own_words_are_known_in_notes_at_once(flight: Path, capsys: pytest.CaptureFixture[str]) -> None:
    aroma = {a["term"]: a for a in noted(flight)[0][0]["nose"]["aromas"]}
    assert aroma.get("old cupboard", {}).get("known", False) is False
    said(capsys, "add", "aunt's cupboard", "--said", "old cupboard")
    aroma = {a["term"]: a for a in noted(flight)[0][0]["nose"]["aromas"]}
    assert (aroma["aunt's cupboard"]["known"], aroma["aunt's cupboard"]["family"]) == (True, "own words")
    assert aroma["aunt's cupboard"]["said"] == "old cupboard"


BAD_LISTS = {
    "none": (None, "No such file"),
    "empty": (b"", "the file is empty"),
    "no columns": (b"Dear all,\n", "line 1: no column is known"),
    "a bad position": (b"pos\nfirst\n", "line 2: position"),
    "NUL": (b"pos\n1\x00\n", "line 2"),
    "too big": (b"pos\n" + b"1\n" * 1_100_000, "more than 2 MB"),
}


@pytest.mark.parametrize("case", BAD_LISTS)
def test_a_list_that_cannot_be_read_is_one_line_before_any_work(
    case: str, flight: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data, why = BAD_LISTS[case]
    path = flight.parent / "bad.csv"
    if data is not None:
        path.write_bytes(data)
    out = flight.parent / "out"
    assert cli.main(["note", str(flight), "--list", str(path), "--to", str(out)]) == 2
    line = one_line(capsys)
    assert line.startswith(f"dictate: {path}: ")
    assert why in line
    assert not out.exists()


def test_a_list_without_wines_is_told_and_the_notes_are_made(flight: Path) -> None:
    (flight.parent / "list.csv").write_text("position,producer\n")
    notes, err = noted(flight, "--list", "list.csv")
    assert len(notes) == 2
    assert err == "dictate: list.csv: no wine in it\n"


def test_damaged_own_words_are_told_before_any_work(flight: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said(capsys, "add", "Tin Whistle")
    words_path().write_text('{"words": [\n{"term": 7}]}')
    assert cli.main(["note", str(flight), "--json"]) == 2
    assert f"{words_path()}: line 2" in one_line(capsys)
