"""Export: what a page and a summary say, and that nothing said by a taster becomes markup."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import given, settings
from markdown_it import MarkdownIt

from dictate import note as n
from dictate.export import (
    as_markdown,
    as_summary,
    clean,
    closing_lines,
    escape,
    file_name,
    list_differences,
    wine_title,
)
from dictate.files import notes_as_json, write_note
from tests.note.notes import NOTE, TEXTS, full_note


class _Shown(HTMLParser):
    """The text of a page, and the tags that made it."""

    def __init__(self) -> None:
        super().__init__()
        self.text, self.tags = "", []  # type: str, list[str]

    def handle_data(self, data: str) -> None:
        self.text += data

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.tags.append(tag)


def shown(markdown: str) -> _Shown:
    page = _Shown()
    page.feed(MarkdownIt("commonmark").render(markdown))
    return page


def test_the_page_gives_words_first_and_the_value_behind() -> None:
    page = as_markdown(full_note())
    assert page.startswith("# 4, glass 741, Copper Ladle, Chardonnay, Margaret River, 2020\n")
    assert "**Appearance.** clear; depth: medium (5); gold." in page
    assert "**Nose.** peach, vanilla; not there: butter." in page
    assert "**Palate.** dry (0.5); medium acidity (5); body: full (8)." in page
    assert "**Faults named.** volatile acidity perhaps." in page
    assert "**Verdict.** very good (8); drink by 2031." in page


def test_what_a_list_gave_and_where_it_differs_is_shown() -> None:
    wine = n.Wine(
        position=1,
        producer=n.Text(text="Tin Whistle", source="listed"),
        origin=n.Text(text="chinon", said="chinon"),
        grapes=[n.Term(term="cabernet franc", source="listed")],
        vintage=n.Vintage(year=2019, said="2019"),
    )
    told = n.Change(
        when="1.00 s into the recording", field="wine.vintage", before=f"{n.LISTED}2018", after=2019
    )
    other = n.Change(when="1.00 s into the recording", field="wine.position", before=None, after=1)
    note = n.Note(id="x", wine=wine, history=[other, told])
    assert list_differences(note) == ["vintage 2018 on the list, 2019 said"]
    assert "**From list.** producer, grapes." in as_markdown(note)
    assert "  List differs: vintage 2018 on the list, 2019 said.\n" in as_summary(note) + "\n"


def test_without_a_list_nothing_is_said_of_one() -> None:
    assert list_differences(full_note()) == []
    assert not re.search("From list|List differs", as_summary(full_note()) + as_markdown(full_note()))


def test_a_timed_finish_is_shown_with_what_the_clock_is_worth() -> None:
    page = as_markdown(full_note())
    assert "**Finish.** held 13.42 s, timed by cue." in page
    assert page.count("resolution, not the accuracy") == 1


def test_a_stated_finish_has_no_hundredths_and_no_word_of_the_clock() -> None:
    note = n.Note(id="x", finish=n.Finish(seconds=12, how="stated"))
    assert "about 12 s, as stated" in as_markdown(note)
    assert "accuracy" not in as_markdown(note)
    assert not any("accuracy" in line for line in closing_lines([note]))


def test_stages_stand_in_the_order_of_tasting() -> None:
    names = re.findall(r"^\*\*(.+?)\.\*\*", as_markdown(full_note()), flags=re.MULTILINE)
    assert names == ["Wine", "Appearance", "Nose", "Palate", "Finish", "Faults named", "Verdict", "Also said"]


def test_nothing_said_is_told() -> None:
    assert "Nothing was said of this wine." in as_markdown(n.Note(id="x"))
    assert wine_title(n.Note(id="x")) == "A wine without a name"


@pytest.mark.parametrize(
    ("said", "shown_as"),
    [("heron's rake", "Heron's Rake"), ("bric d'alba", "Bric D'Alba"), ("Heron and rake", "Heron and rake")],
)
def test_a_name_in_capitals(said: str, shown_as: str) -> None:
    note = n.Note(id="x", wine=n.Wine(producer=n.Text(text=said)))
    assert wine_title(note) == shown_as


@settings(max_examples=300)
@given(text=TEXTS)
def test_escaped_text_shows_as_itself(text: str) -> None:
    page = shown(f"x {escape(text)} x")
    assert page.text.strip() == f"x {clean(text)} x"
    assert set(page.tags) == {"p"}


@pytest.mark.parametrize(
    "text", ["<script>x</script>", "**bold**", "[a](http://b)", "`code`", "a_b_c", "&amp;", "![](x)", "\\"]
)
def test_markup_said_or_typed_stays_text(text: str) -> None:
    page = shown(as_markdown(n.Note(id="x", remarks=[n.Text(text=text)])))
    assert f"“{text}”" in page.text
    assert set(page.tags) <= {"h1", "p", "strong", "em"}


@settings(max_examples=40, deadline=None)
@given(note=NOTE)
def test_no_note_breaks_out_of_its_page_or_line(note: n.Note) -> None:
    page = shown(as_markdown(note))
    assert set(page.tags) <= {"h1", "p", "strong", "em"}
    assert page.tags.count("h1") == 1
    summary = as_summary(note)
    assert all(line.startswith("  ") for line in summary.split("\n")[1:])
    assert all(c == "\n" or c.isprintable() for c in summary)


def test_terminal_codes_in_a_transcript_are_taken_out() -> None:
    note = n.Note(id="x", remarks=[n.Text(text="\x1b]0;owned\x07 fine\r\n# no")])
    assert "“]0;owned fine # no”" in as_summary(note)


def test_what_was_not_said_but_inferred_is_told_so() -> None:
    colour = n.Term(term="white", said="lemon", source="inferred")
    assert "white (not said; from “lemon”)" in as_summary(n.Note(id="x", wine=n.Wine(colour=colour)))


def test_a_file_name_tells_position_code_and_wine() -> None:
    assert file_name(full_note()) == "04-741-copper-ladle-chardonnay-margaret-river-2020"


@settings(max_examples=40, deadline=None)
@given(note=NOTE)
def test_file_names_are_safe_anywhere(note: n.Note) -> None:
    assert re.fullmatch(r"(note|\d{2,})(-[a-z0-9]+)*", file_name(note))
    assert len(file_name(note)) <= 80


def test_hostile_names_stay_inside_the_folder(tmp_path: Path) -> None:
    note = n.Note(id="x", wine=n.Wine(name=n.Text(text="../../etc/passwd\0"), code="/../CON"))
    written = write_note(note, tmp_path / "out")
    assert {p.parent for p in written} == {tmp_path / "out"}
    assert written[0].name == "note-con-etc-passwd.json"


def test_a_note_is_replaced_by_itself_but_never_by_another(tmp_path: Path) -> None:
    first, again = write_note(full_note(), tmp_path), write_note(full_note(), tmp_path)
    other = write_note(full_note().model_copy(update={"id": "another"}), tmp_path)
    assert first == again
    assert other[0].name == first[0].stem + "-2.json"
    assert len(list(tmp_path.iterdir())) == 4


def test_a_foreign_file_of_that_name_is_left_alone(tmp_path: Path) -> None:
    foreign = tmp_path / (file_name(full_note()) + ".json")
    foreign.write_text("not ours")
    written, _ = write_note(full_note(), tmp_path)
    assert foreign.read_text() == "not ours"
    assert written != foreign


def test_json_keeps_accents_readable() -> None:
    assert "Grüner" in notes_as_json([n.Note(id="x", wine=n.Wine(name=n.Text(text="Grüner")))])


def test_a_quality_that_is_the_score_is_said_once() -> None:
    verdict = n.Verdict(
        quality=n.Level(level=9.6, said="96 out of 100"),
        score=n.Score(points=96, out_of=100, said="96 out of 100"),
    )
    assert "**Verdict.** 96 out of 100.\n" in as_markdown(n.Note(id="x", verdict=verdict))
