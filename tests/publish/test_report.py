"""A tasting's report in every form: escaped, whole, self-contained; templates; what goes wrong."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Sequence
from html.parser import HTMLParser
from importlib import resources
from pathlib import Path

import html5lib
import jsonschema
import pytest
from hypothesis import given
from hypothesis import settings as with_settings
from markdown_it import MarkdownIt

from dictate import note as n
from dictate.commands.named import notes_named
from dictate.csvsafe import cell_text
from dictate.export import CAUTIONS, CLOCK_LINE, SCALE_LINE
from dictate.files import notes_as_json
from dictate.publish import LayoutError, as_csv, as_prose, filled, report_of
from dictate.publish.row import columns
from tests.note.notes import NOTE, full_note
from tests.publish.made import ROOT, note_of

TEMPLATES = resources.files("dictate.publish") / "templates"
EVIL = "<script>alert('x')</script> & \"quoted\" {{ 7*7 }} {% raw %} *bold* [a](http://b) =1+1"


def template(ending: str) -> str:
    return (TEMPLATES / f"report.{ending}.j2").read_text(encoding="utf-8")


def as_html(notes: Sequence[n.Note], title: str = "") -> str:
    return filled(template("html"), report_of(notes, title=title), name="report.html.j2", html=True)


def as_md(notes: Sequence[n.Note], title: str = "") -> str:
    return filled(template("md"), report_of(notes, title=title), name="report.md.j2", html=False)


def evil_note(position: int = 1) -> n.Note:
    """A note of which each text tries to be more than a text."""
    return n.Note(
        id=EVIL,
        wine=n.Wine(position=position, producer=n.Text(text=EVIL), code=EVIL),
        nose=n.Nose(aromas=[n.Descriptor(term=EVIL)]),
        palate=n.Palate(acidity=n.Level(level=8, said=EVIL)),
        remarks=[n.Text(text=EVIL)],
        transcript=[
            n.TranscriptPhrase(
                text=EVIL, at=(0, 1), stage="nose", words=[n.TranscriptWord(text=EVIL, at=(0, 1))]
            )
        ],
    )


class _Elements(HTMLParser):
    """The elements, attributes and text of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data


def check_page(text: str) -> _Elements:
    """One page by HTML's own rules, without script, without anything from elsewhere."""
    html5lib.HTMLParser(strict=True).parse(text)
    page = _Elements(text)
    tags = {tag for tag, _ in page.found}
    assert tags.isdisjoint({"script", "img", "link", "iframe", "object", "embed", "form", "svg", "base"})
    for _, attributes in page.found:
        assert not any(name.startswith("on") or name in ("src", "style", "srcset") for name in attributes)
        assert (attributes.get("href") or "#").startswith("#")
    style = re.search(r"<style>(.*?)</style>", text, flags=re.DOTALL)
    assert style
    assert not re.search(r"url\(|@import|expression", style.group(1))
    return page


def test_every_spoken_word_is_escaped_in_html() -> None:
    page = check_page(as_html([evil_note(), evil_note(2)], title=EVIL))
    assert page.text.count(EVIL.replace("  ", " ")) >= 8  # it is read as it was said, and as nothing else
    assert "49" not in page.text


@given(NOTE)
@with_settings(max_examples=40)
def test_any_note_is_a_page_by_the_rules(note: n.Note) -> None:
    check_page(as_html([note, note]))


def test_every_spoken_word_is_escaped_in_markdown() -> None:
    rendered = MarkdownIt("commonmark", {"html": True}).render(as_md([evil_note(), evil_note(2)], title=EVIL))
    page = _Elements(rendered)
    assert {tag for tag, _ in page.found} <= {"h1", "h2", "ul", "li", "p", "strong", "em", "hr"}
    assert page.text.count("<script>alert('x')</script>") >= 6
    assert "bold" not in re.findall(r"<(?:em|strong)>(.*?)</", rendered)


def test_the_report_has_its_parts_in_order() -> None:
    flight = [full_note().model_copy(update={"id": str(i), "wine": n.Wine(position=i)}) for i in (3, 1, 2)]
    report = report_of([*flight, n.Note(id="last")], title="Tuesday")
    assert report["title"] == "Tuesday"
    assert [wine["number"] for wine in report["wines"]] == [1, 2, 3, None]
    assert report["table"]["columns"] == [
        "depth", "sweetness", "acidity", "body", "finish, s", "quality",
    ]  # fmt: skip
    assert report["table"]["rows"][0]["cells"] == ["5", "0.5", "5", "8", "13.42", "8"]
    assert report["table"]["rows"][3]["cells"] == [""] * 6
    assert (report["scale"], report["clock"], report["cautions"]) == (SCALE_LINE, CLOCK_LINE, CAUTIONS)
    for text in (as_html([*flight]), as_md([*flight])):
        plain = _Elements(text).text if text.startswith("<") else text
        assert plain.count("Do not drive after a tasting") == 1
        assert plain.index("Side by side") > plain.index("Perhaps volatile acidity")


def test_one_note_is_a_page_of_its_own() -> None:
    text = as_md([full_note()])
    assert text.startswith("# Copper Ladle, Chardonnay, Margaret River, 2020\n\nClear.")
    assert "Side by side" not in text
    assert "**Also said.** one for the list." in text


def test_what_was_never_said_of_a_wine_is_said() -> None:
    assert "Nothing was said of this wine." in as_md([n.Note(id="x")])
    assert "Nothing was said of this wine." in as_html([n.Note(id="x")])


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("ok\n{{ title", "mine.j2, line 2: unexpected end of template"),
        ("\n\n{{ nope }}", "mine.j2, line 3: 'nope' is undefined"),
        ("{% for w in wines %}\n{{ w.prose.nope.no }}{% endfor %}", "mine.j2, line 2: 'str object' has no"),
        ("{{ 1 / 0 }}", "mine.j2, line 1: division by zero (ZeroDivisionError)"),
        ("{{ ''.__class__.__mro__ }}", "mine.j2, line 1: access to attribute '__class__'"),
        ("{{ wines.append(1) }}", "mine.j2, line 1: access to attribute 'append'"),
        ('\n{% include "other.j2" %}', "it asks for “other.j2”; a template is one file"),
        ("{% for a in range(99999) %}{% for b in range(99999) %}xxxxxxxxxxxxxxxx{% endfor %}{% endfor %}",
         "it makes more than 20,000,000 characters"),
    ],
    ids=["syntax", "name", "attribute", "nought", "sandbox", "change", "include", "circle"],
)  # fmt: skip
def test_a_template_s_fault_is_told_with_its_line(text: str, told: str) -> None:
    with pytest.raises(LayoutError) as fault:
        filled(text, report_of([full_note()]), name="mine.j2", html=True)
    assert told in str(fault.value)
    assert "\n" not in str(fault.value)


def test_a_user_s_template_is_escaped_as_well() -> None:
    report = report_of([evil_note()])
    assert "<script>" not in filled("{{ wines[0].prose }}", report, name="t", html=True)
    assert "\\<script\\>" in filled("{{ wines[0].prose }}", report, name="t", html=False)


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_a_row_has_every_field_of_the_contract() -> None:
    """tests/note/contract_fields.txt, but for what is of the recording or of the document."""
    listed = (ROOT / "tests" / "note" / "contract_fields.txt").read_text(encoding="utf-8").split("\n")
    fields = {line.split()[0] for line in listed if line.strip() and not line.startswith("#")}
    gone = {f for f in fields if re.match(r"recording|transcript|made_with|history|asides|schema", f)}
    gone |= {"finish.from_s", "finish.to_s", "finish.confidence"}
    assert fields - gone <= set(columns())


def test_a_row_tells_the_note() -> None:
    (row,) = rows(as_csv([full_note()]))
    assert row["wine.producer"] == "copper ladle"
    assert row["palate.acidity"] == "5"
    assert row["nose.aromas"] == "peach; vanilla"
    assert row["nose.absent"] == "butter"
    assert row["faults"] == "volatile acidity perhaps"
    assert row["finish.seconds"] == "13.42"
    assert row["prose"] == as_prose(full_note())


@given(NOTE)
@with_settings(max_examples=60)
def test_no_cell_is_taken_for_a_formula(note: n.Note) -> None:
    """OWASP, "CSV Injection": a cell that begins with = + - @ or a control character is a formula."""
    begins = tuple("=+-@\t\r\n＝＋－＠")
    for line in csv.reader(io.StringIO(as_csv([note]))):
        assert not any(cell.startswith(begins) for cell in line)


def test_formulas_are_kept_as_text() -> None:
    note = n.Note(id="=1+1", remarks=[n.Text(text='=HYPERLINK("http://x")')], verdict=n.Verdict())
    (row,) = rows(as_csv([note]))
    assert row["remarks"].startswith("'=")
    assert cell_text(row["id"]) == "=1+1"


@given(NOTE)
@with_settings(max_examples=40)
def test_json_keeps_to_the_schema_and_comes_back_equal(note: n.Note) -> None:
    schema = json.loads((ROOT / "dictate" / "tasting-note-1.schema.json").read_text(encoding="utf-8"))
    documents = json.loads(notes_as_json([note]))
    jsonschema.validate(documents[0], schema)
    assert n.read_note(documents[0]) == note


def test_notes_are_found_by_file_and_by_folder_each_once(tmp_path: Path) -> None:
    spoken = note_of("next wine, number one", "lemon on the nose")
    (tmp_path / "b.json").write_text(notes_as_json([full_note()]), encoding="utf-8")
    (tmp_path / "a.json").write_text(json.dumps(n.as_document(spoken)), encoding="utf-8")
    (tmp_path / "other.json").write_text('{"a": 1}', encoding="utf-8")
    (tmp_path / "broken.json").write_text('{"schema": "tasting-note/1", "id": 7}', encoding="utf-8")
    (tmp_path / "newer.json").write_text('{"schema": "tasting-note/9"}', encoding="utf-8")
    found = notes_named([tmp_path / "b.json", tmp_path, tmp_path / "none.json"])
    assert found.notes == (full_note(), spoken)
    problems = [p.removeprefix(f"{tmp_path}/") for p in found.problems]
    assert problems[0].startswith("broken.json: id: ")
    assert problems[1].startswith("newer.json: schema 'tasting-note/9' is not known")
    assert problems[2] == "none.json: No such file or directory"
