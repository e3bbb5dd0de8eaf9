"""`dictate redo` as a user meets it: older notes made again, corrections kept, nothing doubled or dropped."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path
from typing import Any

import pytest

from dictate import cli
from dictate.files import write_note
from dictate.form import Accept, Put, Vocabulary, amended
from dictate.library import REVIEWED, Library
from dictate.note import Level, MadeWith, Note, read_note
from dictate.pipeline import notes_from_source
from dictate.review.shelf import Shelf
from dictate.settings import Settings
from tests.redo.made import vtt
from tests.test_cli import one_line

Capture = pytest.CaptureFixture[str]
OLDER = MadeWith(program="0.0.1", model="transcript", lexicon="0ld")
RIESLING = (
    ("next wine, number one, Riesling, Clare Valley, twenty twenty two", 1.0, 5.0),
    ("lime and wet stone on the nose", 6.0, 9.0),
    ("bone dry, the acidity is high", 10.0, 13.0),
)
MERLOT = (
    ("next wine, number two, Merlot", 20.0, 22.0),
    ("the palate has high acidity, the body is medium", 23.0, 27.0),
)
CHABLIS = (
    ("next wine, number three, Chardonnay, Chablis", 40.0, 43.0),
    ("apple and chalk on the nose", 44.0, 47.0),
)


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The working folder, with two transcripts."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "first.vtt").write_text(vtt(*RIESLING, *MERLOT))
    (tmp_path / "second.vtt").write_text(vtt(*CHABLIS))
    return tmp_path


@pytest.fixture
def library(bench: Path, own_home: Path) -> Path:
    """Their three notes, as an older program made them: it read the Riesling's acidity as 5, no stone in its
    smell, and no body of the Merlot."""
    path = own_home / "library.sqlite"
    riesling, merlot = notes(bench / "first.vtt")
    stone = [a for a in riesling.nose.aromas if a.term != "wet stone"]
    riesling = changed(riesling, palate={"acidity": Level(level=5, said="acidity")}, nose={"aromas": stone})
    with Library.open(path) as opened:
        opened.add(riesling)
        opened.add(changed(merlot, palate={"body": None}))
        opened.add(changed(notes(bench / "second.vtt")[0]))
    return path


def notes(source: Path) -> tuple[Note, ...]:
    return notes_from_source(source, recogniser=None, settings=Settings())


def changed(note: Note, **sections: dict[str, Any]) -> Note:
    """As the older program made it."""
    parts: dict[str, Any] = {
        name: getattr(note, name).model_copy(update=fields) for name, fields in sections.items()
    }
    return note.model_copy(update={"made_with": OLDER, **parts})


def by_hand(path: Path, number: int, *amendments: Any) -> None:
    with Library.open(path) as opened:
        for amendment in amendments:
            note, revision = opened.get(str(number)), opened.revisions(str(number))[-1][0]
            made = amended(note, amendment, known=Vocabulary(), when="2026-03-01")
            opened.change(number, made, revision=revision, why=REVIEWED)


def said(capsys: Capture, *arguments: str, code: int = 0, err: str = "") -> str:
    """What a command prints; on standard error only what is expected."""
    assert cli.main(list(arguments)) == code
    captured = capsys.readouterr()
    assert re.fullmatch(err or "", captured.err), captured.err
    return captured.out


def get(path: Path, name: int) -> Note:
    with Library.open(path) as opened:
        return opened.get(str(name))


def whys(path: Path, number: int) -> list[str]:
    with Library.open(path) as opened:
        return [why for _, _, why in opened.revisions(str(number))]


DONE_ONE = "dictate: 1 of 2 recordings done\n"


def test_older_notes_are_made_again_and_the_second_time_nothing_is(library: Path, capsys: Capture) -> None:
    out = said(capsys, "redo", "--yes", err=DONE_ONE)
    assert "3 notes of 2 recordings to make again:" in out
    assert "program 0.0.1 → 0.1.0; lexicon" in out
    assert "Read otherwise: smell: + wet stone | acidity: 5 → 8" in out
    assert "Read otherwise: body: nothing → 5" in out
    assert "3 notes made again; 2 read otherwise, in 0 a correction" in out
    riesling = get(library, 1)
    assert riesling.palate.acidity is not None
    assert riesling.palate.acidity.level == 8
    assert riesling.made_with is not None
    assert riesling.made_with.program == "0.1.0"
    (made,) = whys(library, 1)[1:]
    assert made.startswith("made again with program 0.1.0, transcript, lexicon ")
    assert said(capsys, "redo", "--yes") == "Nothing to make again: 3 notes not older than what is here.\n"
    assert "1 note made again; 0 read otherwise" in said(capsys, "redo", "1", "--yes")
    assert len(whys(library, 1)) == 2, "named, it was made again, and is the same"
    assert said(capsys, "library", "check").endswith("3 notes, all well\n")


def test_what_a_hand_put_stays_and_the_three_readings_are_shown(library: Path, capsys: Capture) -> None:
    by_hand(library, 1, Put("palate.acidity", "8"), Put("wine.vintage", "2021"), Put("verdict.quality", "7"))
    by_hand(library, 2, Put("palate.body", "3"))
    out = said(capsys, "redo", "--yes", err=DONE_ONE)
    assert "As you put it: vintage: 2021 (read as before: 2022) | quality: 7 (read as before: nothing)" in out
    assert "Now read as you had put it: acidity: 8 (read before: 5)" in out
    assert "Yours stands, and is read otherwise again: body: 3 (read before: nothing; now: 5)" in out
    riesling, merlot = get(library, 1), get(library, 2)
    assert riesling.wine.vintage is not None
    assert merlot.palate.body is not None
    assert (riesling.wine.vintage.year, merlot.palate.body.level) == (2021, 3)
    assert (riesling.wine.vintage.source, merlot.palate.body.source) == ("corrected", "corrected")
    assert [c.field for c in riesling.history if c.by == "hand"] == [
        "palate.acidity", "wine.vintage", "verdict.quality"
    ]  # fmt: skip
    assert [why.partition(" with")[0] for why in whys(library, 2)] == [
        "made", "reviewed", "read again", "made again"
    ]  # fmt: skip
    with Library.open(library) as opened:  # what the program read alone is there too, for the next time
        alone = opened.revision("2", 3).palate.body
    assert alone is not None
    assert (alone.level, alone.source) == (5, "spoken")
    assert said(capsys, "redo", "--yes").startswith("Nothing to make again")
    for number in (1, 2):
        before = get(library, number)
        said(capsys, "redo", str(number), "--yes")
        assert get(library, number) == before


def test_the_next_time_the_reading_of_the_last_time_is_known(library: Path, capsys: Capture) -> None:
    by_hand(library, 2, Put("palate.body", "3"))
    said(capsys, "redo", "--yes", err=DONE_ONE)
    (note,) = json.loads(said(capsys, "redo", "2", "--as", "json", "--yes"))
    (field,) = note["fields"]
    assert field == {
        "field": "palate.body", "kind": "kept", "before": ["5"], "now": ["5"], "stands": ["3"]
    }  # fmt: skip
    assert (note["number"], note["outcome"], note["words_otherwise"]) == (2, "same", 0)


def test_each_can_be_put_back_and_stays_back_until_it_is_named(library: Path, capsys: Capture) -> None:
    by_hand(library, 2, Put("palate.body", "3"))
    before = [get(library, number) for number in (1, 2, 3)]
    said(capsys, "redo", "--yes", err=DONE_ONE)
    out = said(capsys, "library", "undo", "1", "2")
    assert "as before its last change: note 1 (1, Riesling, Clare Valley, 2022)" in out
    assert [get(library, number) for number in (1, 2)] == before[:2]
    told = "dictate: put back by hand after they were made again so: 1, 2; they stay; .*\n"
    assert "1 note not older" in said(capsys, "redo", "--yes", err=told)
    out = said(capsys, "redo", "1", "--yes", err=told.replace("1, 2", "2"))
    assert "acidity: 5 → 8" in out
    assert get(library, 2) == before[1]
    said(capsys, "library", "undo", "2")  # and on: the hand's own change goes
    assert get(library, 2).palate.body is None
    assert cli.main(["library", "undo", "2"]) == 2
    assert "nothing to undo" in one_line(capsys)


def test_the_review_undoes_it_as_any_other_change(library: Path, capsys: Capture) -> None:
    by_hand(library, 2, Put("palate.body", "3"))
    before = [get(library, number) for number in (1, 2)]
    said(capsys, "redo", "--yes", err=DONE_ONE)
    shelf = Shelf(library)
    saved = [shelf.undo(number, revision=shelf.open(number).revision) for number in (1, 2)]
    assert [each.now.note for each in saved] == before
    assert saved[0].told == ("undone: smell: nothing → wet stone", "undone: acidity: 5.0 → 8.0")
    assert [shelf.last_change(number) for number in (1, 2)] == [None, 2]
    shelf.close()


def test_a_note_that_was_accepted_stays_so_only_where_it_says_the_same(
    library: Path, capsys: Capture
) -> None:
    by_hand(library, 1, Accept())
    by_hand(library, 3, Accept())
    said(capsys, "redo", "--yes", err=DONE_ONE)
    whole = {
        number: [c.after for c in get(library, number).history if c.field == "note"] for number in (1, 3)
    }
    assert whole == {1: ["accepted", "made again"], 3: ["accepted"]}


def test_a_file_from_before_does_not_take_it_back(bench: Path, library: Path, capsys: Capture) -> None:
    for number in (1, 2, 3):
        write_note(get(library, number), bench / "notes")
    said(capsys, "redo", "--yes", err=DONE_ONE)
    made = [get(library, number) for number in (1, 2, 3)]
    assert said(capsys, "library", "add", "notes") == "3 notes: 0 new, 0 changed, 3 known before\n"
    assert [get(library, number) for number in (1, 2, 3)] == made
    said(capsys, "remove", "1", "--yes")
    assert "1 changed" in said(capsys, "library", "add", "notes"), "one that was taken out comes back"
    assert get(library, 1).palate.acidity == Level(level=5, said="acidity")


def test_looking_and_being_asked_change_nothing(library: Path, capsys: Capture) -> None:
    out = said(capsys, "redo", "--look")
    assert "first.vtt   1, 2   0:27" in out
    assert "second.vtt  3      0:47" in out
    assert "nothing is heard again" in out
    data = json.loads(said(capsys, "redo", "--look", "--as", "json"))
    assert [[n["number"] for n in r["notes"]] for r in data["recordings"]] == [[1, 2], [3]]
    said(capsys, "redo", code=2, err="dictate: Make 3 notes again\\?.*add --yes\n")
    assert [len(whys(library, number)) for number in (1, 2, 3)] == [1, 1, 1]


def test_notes_named_or_found_and_all_older_ones_of_their_recording(library: Path, capsys: Capture) -> None:
    assert "2 notes of 1 recording" in said(capsys, "redo", "1", "--look")
    assert "1 note of 1 recording" in said(capsys, "redo", "--find", "chablis", "--yes")
    assert "Nothing to make again: 1 note" in said(capsys, "redo", "--find", "chablis", "--yes")
    assert len(whys(library, 1)) == 1


def test_files_are_written_where_they_are_wanted(bench: Path, library: Path, capsys: Capture) -> None:
    by_hand(library, 2, Put("palate.body", "3"))
    said(capsys, "redo", "--yes", "--to", "out", err=DONE_ONE)
    written = [read_note(json.loads(f.read_text())) for f in sorted((bench / "out").glob("*.json"))]
    assert written == [get(library, number) for number in (1, 2, 3)]
    by_hand(library, 2, Put("wine.producer", "Tin Whistle"))  # and so another name
    (bench / "out" / "other.json").write_text("{}")
    said(capsys, "redo", "2", "--yes", "--to", "out")
    names = sorted(f.name for f in (bench / "out").glob("*.json"))
    assert [name for name in names if name.startswith("02")] == ["02-tin-whistle-merlot.json"]
    (bench / "out" / "other.json").unlink()
    assert len(list((bench / "out").glob("*.md"))) == 3


def test_one_that_cannot_be_used_stops_no_other(bench: Path, library: Path, capsys: Capture) -> None:
    (bench / "first.vtt").write_text("WEBVTT\n\n00:01.000 --> 00:02.000\nquite another\n")
    before = get(library, 1)
    told = "dictate: .*first.vtt: is another recording than its notes were made from; .*\n" + DONE_ONE
    out = said(capsys, "redo", "--yes", code=1, err=told)
    assert "1 note made again" in out
    assert get(library, 1) == before
    out = said(capsys, "redo", "--yes", code=2, err="dictate: .*is another recording.*\n")
    assert "2 notes of 1 recording" in out


def test_a_recording_that_is_gone_is_told_and_its_words_can_be_read_anew(
    bench: Path, library: Path, capsys: Capture
) -> None:
    os.remove(bench / "first.vtt")  # noqa: PTH107
    told = "dictate: first.vtt is not where it was; its notes \\(1, 2\\) stay; .*--from words\n"
    assert "1 note made again" in said(capsys, "redo", "--yes", code=1, err=told)
    assert said(capsys, "redo", "--yes", code=2, err=told).startswith("Nothing to make again")
    out = said(capsys, "redo", "--from", "words", "--yes")
    assert "acidity: 5 → 8" in out
    assert "body: nothing → 5" in out
    assert said(capsys, "redo", "--from", "words", "--yes").startswith("Nothing to make again: 3 notes")


def test_a_recording_that_was_renamed_is_found(bench: Path, library: Path, capsys: Capture) -> None:
    (bench / "first.vtt").rename(bench / "monday.vtt")
    said(capsys, "redo", "--yes", err=DONE_ONE)
    place = get(library, 1).recording
    assert place is not None
    assert place.path == str(bench / "monday.vtt")


def put_in(path: Path, *older: Note) -> None:
    with Library.open(path) as opened:
        opened.add_all(older)


def test_wines_that_are_parted_otherwise_are_told_and_taken_only_when_asked(
    bench: Path, own_home: Path, capsys: Capture
) -> None:
    """The older program took both wines for one."""
    path = own_home / "library.sqlite"
    riesling, merlot = notes(bench / "first.vtt")
    assert riesling.recording is not None
    assert merlot.recording is not None
    span = riesling.recording.model_copy(update={"end_s": merlot.recording.end_s})
    joined = [*riesling.transcript, *merlot.transcript]
    put_in(path, changed(riesling).model_copy(update={"recording": span, "transcript": joined}))
    told = (
        "dictate: note 1 .*: parted otherwise now, as “1, Riesling.*” .0:01 to 0:13. and “2, Merlot” "
        ".0:20 to 0:27.; stays as it was; take the new parting with --recut\n"
    )
    out = said(capsys, "redo", "--yes", code=2, err=told)
    assert len(whys(path, 1)) == 1
    out = said(capsys, "redo", "--yes", "--recut")
    assert "first.vtt: “2, Merlot” (0:20 to 0:27) is a note of its own now" in out
    assert [get(path, n).wine.position for n in (1, 2)] == [1, 2]
    assert get(path, 1).recording == riesling.recording
    for more in ((), ("--recut",)):
        assert said(capsys, "redo", "--yes", *more).startswith("Nothing to make again: 2 notes")
    said(capsys, "redo", "1", "2", "--yes")
    said(capsys, "redo", "1", "--from", "words", "--yes")
    with Library.open(path) as opened:
        assert opened.find().total == 2
        assert opened.check() == ()


@pytest.mark.parametrize("handled", [False, True])
def test_of_notes_that_are_one_now_the_other_goes_but_where_a_hand_was_at_it(
    bench: Path, own_home: Path, capsys: Capture, handled: bool
) -> None:
    """The older program took one wine for two."""
    path = own_home / "library.sqlite"
    (chablis,) = notes(bench / "second.vtt")
    assert chablis.recording is not None
    for number, span in enumerate([(40.0, 42.4), (42.5, 47.0)], 1):
        place = chablis.recording.model_copy(update={"start_s": span[0], "end_s": span[1]})
        put_in(path, changed(chablis).model_copy(update={"recording": place, "id": f"old-{number}"}))
    if handled:
        by_hand(path, 1, Put("palate.body", "3"))
    parted = "dictate: notes 1 .* and 2 .*: parted otherwise now, as .*; stay as they were; .*--recut\n"
    said(capsys, "redo", "--yes", code=2, err=parted)
    stays = "dictate: note 1 .*: its words are in another note now, but a hand .*: dictate remove 1\n"
    out = said(capsys, "redo", "--yes", "--recut", code=int(handled), err=stays if handled else "")
    with Library.open(path) as opened:
        assert opened.find().total == (2 if handled else 1)
        assert opened.get("2").recording == chablis.recording
        assert opened.get("2").id == "old-2"
    assert ("so it is removed; bring it back with: dictate library undo 1" in out) is not handled
    if not handled:
        assert said(capsys, "redo", "--yes", "--recut").startswith("Nothing to make again")
        assert "back: note 1" in said(capsys, "library", "undo", "1")


def test_a_note_that_was_taken_out_does_not_come_back(library: Path, capsys: Capture) -> None:
    said(capsys, "remove", "2", "--yes")
    assert "1 note of 1 recording" in said(capsys, "redo", "1", "--yes", "--recut")
    with Library.open(library) as opened:
        assert opened.find().total == 2
        assert [r.number for r in opened.removed()] == [2]


def test_a_wine_that_no_note_has_is_told(bench: Path, own_home: Path, capsys: Capture) -> None:
    path = own_home / "library.sqlite"
    riesling, merlot = notes(bench / "first.vtt")
    put_in(path, changed(riesling))
    told = "dictate: first.vtt: “2, Merlot” .0:20 to 0:27. is in no note; add it with --recut\n"
    assert "1 note made again" in said(capsys, "redo", "--yes", code=1, err=told)
    said(capsys, "redo", "1", "--yes", "--recut")
    assert get(path, 2).palate == merlot.palate


LIST = """No.,Producer,Grape,Year,Origin
1,Tin Whistle,Riesling,2022,Clare Valley
2,Heron's Rake,Merlot,2019,Chinon
"""


def test_what_a_list_gave_is_not_lost_and_a_list_given_again_wins(
    bench: Path, own_home: Path, capsys: Capture
) -> None:
    path = own_home / "library.sqlite"
    (bench / "flight.csv").write_text(LIST)
    said(capsys, "note", "first.vtt", "--list", "flight.csv")
    before = [get(path, n) for n in (1, 2)]
    for note in before:
        with Library.open(path) as opened:
            opened.add(changed(note), why="edited")
    said(capsys, "redo", "--yes")
    assert [get(path, n).wine for n in (1, 2)] == [n.wine for n in before]
    assert get(path, 2).wine.producer is not None
    (bench / "flight.csv").write_text(LIST.replace("Heron's Rake", "Copper Ladle"))
    assert "producer: Heron's Rake → Copper Ladle" in said(
        capsys, "redo", "1", "2", "--list", "flight.csv", "--yes"
    )
    assert cli.main(["redo", "--list", "flight.csv", "--yes"]) == 2
    assert "a list is of one flight" in one_line(capsys)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("redo", "99"), "no note has this number"),
        (("redo", "--find", "acidity over"), "acidity over"),
        (("redo", "--from", "memory"), "invalid choice"),
        (("redo", "1", "--list", "nowhere.csv"), "nowhere.csv"),
        (("redo", "--to", "first.vtt"), "first.vtt"),
    ],
    ids=str,
)
def test_bad_input_is_one_line(library: Path, capsys: Capture, arguments: tuple[str, ...], told: str) -> None:
    try:
        assert cli.main(list(arguments)) == 2
    except SystemExit as ended:  # argparse's own
        assert ended.code == 2  # noqa: PT017
    assert told in capsys.readouterr().err.splitlines()[-1]


def test_a_note_of_no_recording_and_an_unreadable_one_are_told(library: Path, capsys: Capture) -> None:
    import sqlite3

    put_in(library, Note(id="typed"))
    with sqlite3.connect(library) as db:
        db.execute("UPDATE revisions SET document = '{' WHERE number = 3")
    told = "dictate: 1 note of no recording: 4; they stay\ndictate: cannot be read: 3; see: .*check\n"
    assert "2 notes made again" in said(capsys, "redo", "--yes", code=1, err=told)
    said(
        capsys,
        "redo",
        "4",
        "--yes",
        code=2,
        err="dictate: no recording is known of: 4; they stay as they are\n",
    )


def test_an_empty_library_has_nothing_to_make_again(bench: Path, own_home: Path, capsys: Capture) -> None:
    assert said(capsys, "redo", "--yes") == "Nothing to make again: 0 notes not older than what is here.\n"
