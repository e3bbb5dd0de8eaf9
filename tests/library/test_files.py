"""The file of a library: older schemas, backups, damage, several programs at once, kill -9."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from dictate.find import parse_query
from dictate.library import (
    DamagedError,
    Library,
    LibraryError,
    backups_of,
    newest_backup,
    restore_backup,
)
from dictate.library.schema import SCHEMA
from tests.library.kills import judge, killed_while_writing
from tests.library.made import made_notes
from tests.note.notes import full_note

SCHEMAS = Path(__file__).parent / "schemas"
NOW = datetime(2026, 3, 1, 12, tzinfo=UTC)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "library.sqlite"


def test_there_is_a_file_of_each_older_schema() -> None:
    assert {int(p.stem.partition("-")[2]) for p in SCHEMAS.glob("*.sqlite")} == set(range(1, SCHEMA))


@pytest.mark.parametrize("old", sorted(SCHEMAS.glob("*.sqlite")), ids=lambda p: p.stem)
def test_a_library_of_an_older_schema_is_read_and_backed_up_first(old: Path, path: Path) -> None:
    """Made by the program of that schema: `full_note` and its second revision without remarks, three made
    notes, the second of them removed."""
    shutil.copy(old, path)
    before = old.read_bytes()
    with Library.open(path) as library:
        assert library.check() == ()
        assert library.revision("test-1", 1) == full_note()
        assert library.get("test-1") == full_note().model_copy(update={"remarks": []})
        assert [gone.number for gone in library.removed()] == [3]
        library.restore([3])
        assert library.notes([2, 3, 4]) == tuple(made_notes(3))
        assert library.find(parse_query("smells of peach"), by="acidity").total == 1
        note = next(made_notes(1))
        assert library.add(note.model_copy(update={"id": "again"})).number == 2, "known by its recording"
    (backup,) = [p for p in backups_of(path) if "schema" in p.name]
    with closing(sqlite3.connect(backup)) as copy, closing(sqlite3.connect(old)) as first:
        assert list(copy.iterdump()) == list(first.iterdump())
        assert copy.execute("PRAGMA user_version").fetchone() == (int(old.stem.partition("-")[2]),)
    assert old.read_bytes() == before


def test_a_step_that_fails_leaves_the_older_schema(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from dictate.library import opening

    shutil.copy(SCHEMAS / "schema-1.sqlite", path)
    broken = (*opening.STEPS[:1], opening.STEPS[1] + "CREATE TABLE notes (id);")
    monkeypatch.setattr(opening, "STEPS", broken)
    with pytest.raises(LibraryError):
        Library.open(path)
    monkeypatch.undo()
    with closing(sqlite3.connect(path)) as left:
        assert left.execute("PRAGMA user_version").fetchone() == (1,)
        assert left.execute("SELECT name FROM sqlite_schema WHERE name = 'places'").fetchall() == []
    with Library.open(path) as library:
        assert library.check() == ()


def test_the_first_write_of_a_day_makes_a_backup_and_the_rule_keeps_some(path: Path) -> None:
    now = [NOW]
    with Library.open(path, clock=lambda: now[0]) as library:
        for number, note in enumerate(made_notes(420)):
            if number % 2:
                now[0] += timedelta(days=2)
            library.add(note)
        hand = library.backup()
    backups = backups_of(path)
    daily = [p for p in backups if "daily" in p.name]
    assert hand in backups
    assert len(daily) == 7 + 11, "seven, and the newest of each of the eleven months before"
    assert len({p.name[:6] for p in daily}) == 12
    with Library.open(daily[-1]) as copy:
        assert copy.check() == ()
        assert copy.find().total == 420


def test_a_backup_takes_the_place_of_a_damaged_library(path: Path) -> None:
    with Library.open(path) as library:
        library.add_all(made_notes(30))
        backup = library.backup()
    path.write_bytes(b"\0" * 5000)
    with pytest.raises(DamagedError, match=backup.name):
        Library.open(path)
    newest = newest_backup(path)
    assert newest is not None
    aside = restore_backup(path, newest, now=NOW)
    assert aside is not None
    assert aside.read_bytes() == b"\0" * 5000
    with Library.open(path) as library:
        assert library.find().total == 30
        assert library.check() == ()


def test_a_damaged_backup_is_refused_and_the_library_stays(path: Path, tmp_path: Path) -> None:
    with Library.open(path) as library:
        library.add_all(made_notes(100))
        backup = library.backup(tmp_path / "copy.sqlite")
        with pytest.raises(LibraryError, match="is there already"):
            library.backup(backup)
    data = bytearray(backup.read_bytes())
    data[20_000:60_000] = b"\xff" * 40_000
    backup.write_bytes(data)
    for wrong in (backup, tmp_path / "none.sqlite"):
        with pytest.raises(LibraryError, match=wrong.name):
            restore_backup(path, wrong, now=NOW)
    with Library.open(path) as library:
        assert library.find().total == 100


WRITER = """
import sys
from pathlib import Path
from dictate.library import Library
from tests.library.made import made_notes
with Library.open(Path(sys.argv[1])) as library:
    for note in made_notes(40, seed=int(sys.argv[2])):
        library.add(note.model_copy(update={"id": f"{sys.argv[2]}-{note.id}", "recording": None}))
"""


def test_two_programs_that_write_at_once_lose_nothing(path: Path) -> None:
    root = str(Path(__file__).parents[2])
    programs = [
        subprocess.Popen([sys.executable, "-c", WRITER, str(path), str(seed)], cwd=root) for seed in (1, 2, 3)
    ]
    assert [program.wait(timeout=300) for program in programs] == [0, 0, 0]
    with Library.open(path) as library:
        assert library.find().total == 120
        assert library.check() == ()


def test_killed_in_the_middle_of_writes_nothing_acknowledged_is_lost(tmp_path: Path) -> None:
    """Ten kills (kill -9); a hundred in tests/bench/bench_library_kill.py."""
    acknowledged = 0
    for number in range(10):
        told = killed_while_writing(tmp_path / f"{number}.sqlite", after_s=0.05 + number * 0.09)
        acknowledged += len(told)
        assert judge(tmp_path / f"{number}.sqlite", told) == []
    assert acknowledged > 20, "killed before anything was written, nothing is tested"
