"""Notes kept, found again, taken away and brought back."""

from __future__ import annotations

import hashlib
import sqlite3
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictate.find import parse_query
from dictate.form import by_hand
from dictate.library import DamagedError, Library, LibraryError, OutdatedError, backups_of
from dictate.note import Level, Note, Text
from tests.library.made import made_notes
from tests.note.notes import NOTE, full_note

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


class Clock:
    """A clock that stands until it is moved."""

    def __init__(self) -> None:
        self.now = NOON

    def __call__(self) -> datetime:
        return self.now

    def move(self, **by: float) -> None:
        self.now += timedelta(**by)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "data" / "library.sqlite"


@pytest.fixture
def library(path: Path, clock: Clock) -> Iterator[Library]:
    with Library.open(path, clock=clock) as library:
        yield library


def sharper(note: Note, level: float = 9) -> Note:
    palate = note.palate.model_copy(update={"acidity": Level(level=level)})
    return note.model_copy(update={"palate": palate})


def test_a_note_comes_back_as_it_was_by_number_id_and_beginning_of_id(library: Library) -> None:
    assert library.add(full_note()).outcome == "new"
    for name in ("1", "test-1", "test"):
        assert library.get(name) == full_note()
    for name in ("2", "tes", "test-2", "", "٣", "9" * 40):
        with pytest.raises(LibraryError, match="dictate find"):
            library.get(name)


def test_the_beginning_of_two_ids_is_none(library: Library) -> None:
    library.add_all([full_note(), full_note().model_copy(update={"id": "test-12"})])
    assert library.get("test-1") == full_note()
    with pytest.raises(LibraryError, match="more than one"):
        library.get("test")


@settings(max_examples=60)
@given(st.lists(NOTE, max_size=4))
def test_any_notes_come_back_and_the_index_is_what_they_say(notes: list[Note]) -> None:
    with tempfile.TemporaryDirectory() as folder, Library.open(Path(folder) / "l.sqlite") as library:
        notes = [note.model_copy(update={"id": f"n{i}"}) for i, note in enumerate(notes)]
        for note in notes:
            assert library.get(str(library.add(note).number)) == note
        assert library.check() == ()
        assert library.rebuild_index() == len(notes)
        assert library.check() == ()


def test_the_same_note_again_changes_nothing(library: Library, clock: Clock) -> None:
    library.add(full_note())
    clock.move(hours=1)
    assert library.add(full_note()).outcome == "same"
    assert library.revisions("1") == ((1, "2026-03-01T12:00:00+00:00", "made"),)


def test_a_changed_note_is_a_new_revision_and_the_older_stays(library: Library) -> None:
    library.add(full_note())
    kept = library.add(sharper(full_note()), why="edited")
    assert (kept.number, kept.revision, kept.outcome) == (1, 2, "changed")
    assert library.get("1") == sharper(full_note())
    assert library.revision("1", 1) == full_note()
    assert [why for _, _, why in library.revisions("1")] == ["made", "edited"]
    assert library.find(parse_query("acidity over 8")).total == 1
    assert library.find(parse_query("acidity 5")).total == 0
    assert library.check() == ()
    with pytest.raises(LibraryError, match="revision 7"):
        library.revision("1", 7)


def test_all_of_several_notes_or_none(library: Library) -> None:
    broken = full_note().model_copy(update={"id": "half \ud800"})
    with pytest.raises(LibraryError, match="id"):
        library.add_all([full_note(), broken])
    assert library.find().total == 0


def test_a_removed_note_is_not_found_and_comes_back(library: Library) -> None:
    library.add_all(made_notes(3))
    (gone,) = library.remove(["2"])
    assert (gone.number, library.find().total) == (2, 2)
    with pytest.raises(LibraryError):
        library.get("2")
    assert library.removed() == (gone,)
    assert library.check() == ()
    library.restore([2])
    assert library.find().total == 3
    assert library.removed() == ()
    assert library.check() == ()
    with pytest.raises(LibraryError, match="undo"):
        library.restore([2])


def test_all_named_are_removed_or_none(library: Library) -> None:
    library.add_all(made_notes(2))
    with pytest.raises(LibraryError):
        library.remove(["1", "nobody's"])
    assert library.find().total == 2


def test_a_removed_note_that_is_made_again_is_back(library: Library) -> None:
    library.add(full_note())
    library.remove(["1"])
    assert library.add(full_note()).outcome == "back"
    assert library.find().total == 1
    assert library.removed() == ()


def test_removed_notes_stay_thirty_days(library: Library, clock: Clock) -> None:
    library.add_all(made_notes(3))
    library.remove(["1"])
    clock.move(days=29, hours=23)
    library.add(full_note())  # what is written first on a day clears up
    assert len(library.removed()) == 1
    clock.move(days=1)
    number = library.add(full_note().model_copy(update={"id": "later"})).number
    assert library.removed() == ()
    assert number == 5, "a number that once was a note's is never another's"
    assert library.check() == ()


def test_check_tells_of_an_index_that_is_not_what_the_notes_say(library: Library, path: Path) -> None:
    library.add_all(made_notes(3))
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("UPDATE facts SET acidity = 11 WHERE number = 2")
    other.execute("DELETE FROM texts WHERE rowid = 3")
    other.execute("UPDATE texts_content SET c0 = 'changed behind its back' WHERE id = 2")
    other.execute("UPDATE revisions SET document = '{}' WHERE number = 1")
    other.close()
    words, *notes = library.check()
    assert words.startswith("the index of words: ")
    assert [line.split(" ")[1].strip(":") for line in notes] == ["1", "2", "3"]


def test_an_unreadable_note_can_still_be_taken_away_and_brought_back(library: Library, path: Path) -> None:
    library.add_all(made_notes(2))
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("UPDATE revisions SET document = '{' WHERE number = 1")
    other.close()
    library.rebuild_index()
    with pytest.raises(LibraryError, match="note 1 cannot be read"):
        library.get("1")
    assert [gone.title for gone in library.remove(["1"])] == ["unreadable"]
    assert [gone.title for gone in library.removed()] == ["unreadable"]
    library.restore([1])
    assert [line[:7] for line in library.check()] == ["note 1 "]


def test_another_file_and_a_newer_one_are_refused(tmp_path: Path, path: Path) -> None:
    other = tmp_path / "other.sqlite"
    with sqlite3.connect(other) as connection:
        connection.execute("CREATE TABLE recipes (name)")
    connection.close()
    before = other.read_bytes()
    with pytest.raises(LibraryError, match="is no library of tasting notes"):
        Library.open(other)
    assert other.read_bytes() == before
    Library.open(path).close()
    newer = sqlite3.connect(path)
    newer.execute("PRAGMA user_version = 99")
    newer.close()
    with pytest.raises(LibraryError, match="newer program"):
        Library.open(path)


def test_a_file_that_is_none_of_sqlite_is_damaged(path: Path) -> None:
    path.parent.mkdir()
    path.write_bytes(b"dear library, " * 100)
    with pytest.raises(DamagedError, match="there is no backup"):
        Library.open(path)
    assert path.read_bytes() == b"dear library, " * 100


def test_damage_is_told_with_the_newest_backup(library: Library, path: Path) -> None:
    library.add_all(made_notes(200))
    library.close()
    (backup,) = backups_of(path)
    size = path.stat().st_size
    with path.open("r+b") as file:
        for at in range(8192, size, 4096):  # every page but the first two
            file.seek(at)
            file.write(b"\xff" * 4096)
    with pytest.raises(DamagedError) as told, Library.open(path) as broken:
        broken.notes(range(1, 201))
    assert f"its newest backup is {backup.name}" in str(told.value)
    assert "\n" not in str(told.value)


def test_while_another_writes_too_long_it_says_so(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("dictate.library.opening.WAIT_S", 0.05)
    with Library.open(path) as library:
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(LibraryError, match="another program is writing"):
            library.add(full_note())
        other.execute("ROLLBACK")
        other.close()
        assert library.add(full_note()).outcome == "new"


def moved(note: Note, **fields: object) -> Note:
    """A note with another id or another part of its recording."""
    recording = note.recording
    assert recording is not None
    place = {k: v for k, v in fields.items() if k in ("start_s", "end_s", "sha256")}
    others = {k: v for k, v in fields.items() if k not in place}
    return note.model_copy(update={**others, "recording": recording.model_copy(update=place)})


def test_a_note_made_again_from_the_same_speech_is_not_doubled(library: Library) -> None:
    (note,) = made_notes(1)
    library.add(note)
    again = library.add(moved(note, id="session-1", start_s=2.0, end_s=58.0))
    assert (again.number, again.revision, again.outcome) == (1, 2, "changed")
    for name in (note.id, "session-1", "1"):
        assert library.get(name).id == "session-1"
    back = library.add(note)
    assert (back.number, back.revision) == (1, 3)
    assert library.find().total == 1
    assert library.check() == ()


def test_other_speech_is_another_note(library: Library) -> None:
    (note,) = made_notes(1)
    other_position = note.wine.model_copy(update={"position": 2})
    library.add(note)
    library.add(moved(note, id="b", start_s=50.0, end_s=110.0))
    library.add(moved(note, id="c", sha256="f" * 64))
    library.add(moved(note, id="d", wine=other_position))
    assert library.find().total == 4


def test_where_wines_are_parted_otherwise_no_note_takes_another_wine_s_place(library: Library) -> None:
    """Ids count the wines of a recording through: parted otherwise, the same id is another wine."""
    (note,) = made_notes(1)
    before = [("n-1", 0.0, 60.0), ("n-2", 62.0, 100.0)]
    now = [("n-1", 0.0, 35.0), ("n-2", 36.0, 60.0), ("n-3", 62.0, 100.0)]

    def at(name: str, start_s: float, end_s: float) -> Note:
        wine = note.wine.model_copy(update={"position": None})
        return moved(note, id=name, start_s=start_s, end_s=end_s, wine=wine)

    library.add_all(at(*each) for each in before)
    second = at(*before[1])
    library.add(by_hand(second, sharper(second), when="2026-03-01"), why="edited")
    for _ in range(3):  # and again: it stays so
        kept = library.add_all(at(*each) for each in now)
        assert [k.number for k in kept] == [1, 3, 2]
        assert [k.note.palate.acidity == Level(level=9) for k in kept] == [False, False, True]
    assert [k.outcome for k in library.add_all(at(*each) for each in now)] == ["same"] * 3
    for _ in range(2):  # and back: what is one wine again is one note again, and the other is nobody's
        kept = library.add_all(at(*each) for each in before)
        assert [k.number for k in kept] == [1, 2]
        assert [k.note.palate.acidity == Level(level=9) for k in kept] == [False, True]
    assert library.find().total == 3
    assert library.check() == ()


def test_of_the_same_part_told_another_number_each_has_its_id(library: Library) -> None:
    (note,) = made_notes(1)
    for position in (1, 2, 3):
        wine = note.wine.model_copy(update={"position": position})
        library.add(moved(note, id="b", start_s=100.0, end_s=120.0))
        library.add(moved(note, id="b", wine=wine, start_s=0.0, end_s=50.0))
    assert library.check() == ()


def test_what_a_hand_put_right_outlives_a_note_made_again(library: Library) -> None:
    (note,) = made_notes(1)
    library.add(note)
    mended = by_hand(note, sharper(note), when="2026-03-01")
    library.add(mended, why="edited")
    again = library.add(moved(note, id="session-1"))
    assert again.note.palate.acidity == Level(level=9)
    assert [change.by for change in again.note.history] == ["hand"]
    assert library.find(parse_query("acidity 9")).total == 1


def test_recordings_are_found_by_their_sound(library: Library, tmp_path: Path) -> None:
    first, second = tmp_path / "tank.wav", tmp_path / "far" / "away" / "renamed.wav"
    first.write_bytes(b"sound")
    digest = hashlib.sha256(b"sound").hexdigest()
    (made,) = made_notes(1)
    assert made.recording is not None
    note = made.model_copy(
        update={"recording": made.recording.model_copy(update={"path": str(first), "sha256": digest})}
    )
    library.add(note)
    assert library.recording(note) == first
    assert library.missing_recordings() == ()
    second.parent.mkdir(parents=True)
    first.rename(second)
    assert library.recording(note) is None
    assert library.missing_recordings() == (first,)
    assert library.look_for_recordings([tmp_path / "far"]) == (second,)
    assert library.recording(note) == second
    (second.parent / "other.wav").write_bytes(b"noise")
    second.rename(second.with_name("again.wav"))
    assert library.look_for_recordings() == (second.with_name("again.wav"),), "beside where it was"
    second.with_name("again.wav").rename(first)
    assert library.look_for_recordings() == ()
    assert library.look_for_recordings([tmp_path]) == (first,)
    assert first.read_bytes() == b"sound"
    first.unlink()
    with pytest.raises(OSError, match="nowhere"):
        library.look_for_recordings([tmp_path / "nowhere"])


def test_a_change_of_a_revision_that_is_no_longer_the_newest_is_refused(tmp_path: Path) -> None:
    note = next(made_notes(1))
    other = note.model_copy(update={"remarks": [Text(text="more")]})
    with Library.open(tmp_path / "l.sqlite") as library:
        number = library.add(note).number
        assert library.change(number, other, revision=1, why="reviewed").revision == 2
        with pytest.raises(OutdatedError, match="meanwhile"):
            library.change(number, note, revision=1, why="reviewed")
        assert library.get(str(number)) == other
        with pytest.raises(LibraryError, match="another one"):
            library.change(
                number, next(made_notes(1, seed=2)).model_copy(update={"id": "x"}), revision=2, why="x"
            )
        with pytest.raises(LibraryError, match="no note"):
            library.change(99, note, revision=1, why="x")
