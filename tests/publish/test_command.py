"""`dictate publish` as it is used: files, standard output, PDF, faults of one line."""

from __future__ import annotations

import csv
import io
import json
import sys
from pathlib import Path

import pypdfium2 as pdfium
import pytest

from dictate import cli
from dictate import note as n
from dictate.files import write_note
from dictate.note import as_document, read_note
from tests.note.notes import full_note

pytest.importorskip("typst")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder `notes` with a flight of two, the working folder above it."""
    monkeypatch.chdir(tmp_path)
    for position, producer in ((1, "Árvíztűrő Kőműves"), (2, "Domaine de l'Œuvre")):
        wine = n.Wine(position=position, producer=n.Text(text=producer), origin=n.Text(text="Gewächs süß"))
        write_note(full_note().model_copy(update={"id": str(position), "wine": wine}), tmp_path / "notes")
    return tmp_path / "notes"


def run(*arguments: str) -> int:
    try:
        return cli.main(["publish", *arguments])
    except SystemExit as stop:
        return int(str(stop.code))


def text_of(path: Path) -> str:
    """The text of a PDF, its lines joined."""
    with pdfium.PdfDocument(path) as document:
        return " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in document)


def test_each_form_goes_to_a_file(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    forms = {"markdown": "md", "html": "html", "pdf": "pdf", "csv": "csv", "json": "json"}
    for form, ending in forms.items():
        assert run("notes", "--as", form, "--to", f"report.{ending}") == 0
        assert capsys.readouterr().out == f"written: report.{ending}\n"
    made = {p.suffix: p.read_bytes() for p in folder.parent.glob("report.*")}
    assert made[".md"].startswith(b"# Tasting notes")
    assert made[".html"].startswith(b"<!DOCTYPE html>")
    assert made[".pdf"].startswith(b"%PDF-")
    assert made[".csv"].startswith(b"\xef\xbb\xbfid,")  # the mark by which spreadsheets know UTF-8
    assert [read_note(d).id for d in json.loads(made[".json"])] == ["1", "2"]


def test_text_forms_go_to_standard_output(folder: Path, capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    assert run("notes", "--as", "csv") == 0
    out = capfdbinary.readouterr().out.decode()
    assert [row["wine.producer"] for row in csv.DictReader(io.StringIO(out, newline=""))] == [
        "Árvíztűrő Kőműves", "Domaine de l'Œuvre",
    ]  # fmt: skip


def test_into_a_folder_with_a_name_of_its_own(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("notes", "--as", "html", "--to", ".") == 0
    assert run(str(next(folder.glob("01-*.json"))), "--as", "html", "--to", ".") == 0
    assert capsys.readouterr().out.split() == [
        "written:", "tasting.html", "written:", "01-arvizturo-komuves-gewachs-suss.html",
    ]  # fmt: skip


def test_the_pdf_is_read_by_others_and_has_every_accent(folder: Path) -> None:
    assert run("notes", "--as", "pdf", "--to", "r.pdf", "--title", "Dégustation — “ő, ű, ß, œ”") == 0
    path = folder.parent / "r.pdf"
    text = text_of(path)
    for said in ("Dégustation — “ő, ű, ß, œ”", "Árvíztűrő Kőműves", "Domaine de l'Œuvre", "Gewächs süß",
                 "Perhaps volatile acidity", "Side by side", "Do not drive after a tasting."):  # fmt: skip
        assert said in text
    with pdfium.PdfDocument(path) as document:
        assert len(document) == 4  # the flight, a page a wine, the comparison
        for page in document:
            drawn = page.render(scale=2).to_pil().convert("L")
            dark = sum(count for grey, count in enumerate(drawn.histogram()) if grey < 128)
            assert 0.0005 < dark / (drawn.width * drawn.height) < 0.2  # neither blank nor black
    assert b"LibertinusSerif" in path.read_bytes()


def test_nothing_in_a_note_is_markup_to_the_typesetter(folder: Path) -> None:
    evil = '#panic("x") *bold* $x$ @ref <label> \\ `raw` // gone /* gone */'
    note = full_note().model_copy(update={"remarks": [n.Text(text=evil)]})
    (folder / "evil.json").write_text(json.dumps(as_document(note)), encoding="utf-8")
    assert run("notes/evil.json", "--as", "pdf", "--to", "e.pdf", "--title", evil) == 0
    text = text_of(folder.parent / "e.pdf").replace(" ", "")
    assert text.count(evil.replace(" ", "")) == 2


def test_a_user_s_template_takes_the_place_of_ours(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Path("mine.j2").write_text("{% for wine in wines %}{{ wine.name }}|{% endfor %}", encoding="utf-8")
    assert run("notes", "--as", "markdown", "--template", "mine.j2", "--to", "out.md") == 0
    made = Path("out.md").read_text("utf-8")
    assert made == "Árvíztűrő Kőműves, Gewächs süß|Domaine de l'Œuvre, Gewächs süß|"
    Path("mine.typ").write_text(
        "#let report = json(bytes(sys.inputs.report))\n#for w in report.wines [ Mine: #w.name. ]\n",
        encoding="utf-8",
    )
    assert run("notes", "--as", "pdf", "--template", "mine.typ", "--to", "out.pdf") == 0
    assert "Mine: Domaine de l'Œuvre, Gewächs süß." in text_of(Path("out.pdf"))


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["nowhere", "--as", "csv"], "nowhere: No such file or directory"),
        (["empty", "--as", "csv"], "no note there"),
        (["notes", "--as", "pdf"], "a PDF goes into a file; name one with --to"),
        (["notes", "--as", "docx"], "invalid choice: 'docx'"),
        (["notes", "--as", "csv", "--template", "bad.j2"], "--template is for markdown, html, pdf"),
        (["notes", "--as", "html", "--template", "bad.j2"], "bad.j2, line 2: 'nope' is undefined"),
        (["notes", "--as", "html", "--template", "none.j2"], "none.j2: No such file or directory"),
        (["notes", "--as", "html", "--template", "bytes.j2"], "bytes.j2: it is no text; save it as UTF-8"),
        (["notes", "--as", "pdf", "--template", "bad.typ", "--to", "x.pdf"], "bad.typ, line 2: "),
        (["notes", "--as", "html", "--to", "no/where.html"], "no: No such folder"),
        (["bad.json", "--as", "json"], "bad.json: line 1: no JSON"),
        (["one.json", "--as", "json", "--to", "one.json"], "one.json: that is one of the notes"),
    ],
    ids=lambda value: "" if isinstance(value, str) else " ".join(value),
)  # fmt: skip
def test_what_cannot_be_done_is_one_line_and_exit_code_2(
    folder: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], told: str
) -> None:
    Path("empty").mkdir()
    Path("bad.j2").write_text("\n{{ nope }}", encoding="utf-8")
    Path("bad.typ").write_text("= A\n#nope\n", encoding="utf-8")
    Path("bytes.j2").write_bytes(b"\xff\xfe\xfa")
    Path("bad.json").write_text("{", encoding="utf-8")
    Path("one.json").write_text(json.dumps(as_document(full_note())), encoding="utf-8")
    before = Path("one.json").read_bytes()
    assert run(*arguments) == 2
    error = capsys.readouterr().err
    assert told in error
    assert len(error.strip().splitlines()) == 1
    assert Path("one.json").read_bytes() == before
    assert not Path("x.pdf").exists()


def test_one_bad_note_does_not_stop_the_others(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "03.json").write_text('{"schema": "tasting-note/1"}', encoding="utf-8")
    assert run("notes", "--as", "json", "--to", "out.json") == 1
    assert len(json.loads(Path("out.json").read_text("utf-8"))) == 2
    assert "notes/03.json: id: Field required" in capsys.readouterr().err


def test_without_the_extra_it_says_which_to_install(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "typst", None)  # as if it were not installed
    assert run("notes", "--as", "pdf", "--to", "x.pdf") == 2
    assert capsys.readouterr().err == "dictate: PDF needs the extra “pdf”: pip install 'dictate[pdf]'\n"


def test_a_report_of_what_the_library_finds(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["library", "add", "notes", "--library", "l.sqlite"]) == 0
    capsys.readouterr()
    assert run("--find", "from Gewächs", "--library", "l.sqlite", "--as", "json") == 0
    assert sorted(d["id"] for d in json.loads(capsys.readouterr().out)) == ["1", "2"]
    assert run("--as", "json") == 2
    assert capsys.readouterr().err.count("\n") == 1
