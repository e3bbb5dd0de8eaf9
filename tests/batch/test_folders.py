"""What a search of folders finds: by content, each once, whatever the names."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
import soundfile

from dictate.batch.folders import search

QUIET = np.zeros(1600, np.float32)


def write(path: Path, data: bytes) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)
    return path


def sound(path: Path, container: str = "WAV") -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as file:
        soundfile.write(file, QUIET, 16000, format=container)
    return path


def found(folder: Path, without: Path | None = None) -> dict[str, str]:
    searched = search([folder], without=without)
    return {os.fsdecode(os.fsencode(s.path.name)): s.kind for s in searched.sources}


@pytest.mark.parametrize("container", ["WAV", "FLAC", "OGG", "AIFF", "AU", "CAF", "RF64", "W64", "MP3"])
def test_sound_is_known_by_its_content(tmp_path: Path, container: str) -> None:
    sound(tmp_path / "monday.dat", container)
    assert found(tmp_path)["monday.dat"] in ("sound", "guess")


@pytest.mark.parametrize(
    "data",
    [
        b"", b"# Monday\n", b"\x89PNG\r\n\x1a\n" + bytes(99), b"\xff\xd8\xff\xe0\0\x10JFIF" + bytes(99),
        "\ufeffMonday".encode("utf-16"), b"PK\x03\x04" + bytes(99), b"%PDF-1.7", b"{}", bytes(5000),
        b"RIFF\0\0\0\0WEBP", b"SQLite format 3\0",
    ],
)  # fmt: skip
def test_what_is_no_sound_is_counted_and_left_aside(tmp_path: Path, data: bytes) -> None:
    write(tmp_path / "monday", data)
    searched = search([tmp_path])
    assert (searched.sources, searched.unusable, searched.others) == ((), (), 1)


def test_what_a_mac_keeps_beside_a_recording_is_no_recording(tmp_path: Path) -> None:
    sound(tmp_path / "monday.wav")
    write(tmp_path / "._monday.wav", b"\0\x05\x16\x07\0\2\0\0Mac OS X")
    assert found(tmp_path) == {"monday.wav": "sound"}


def test_an_ending_of_sound_is_believed_until_it_is_decoded(tmp_path: Path) -> None:
    write(tmp_path / "monday.M4A", b"nonsense")
    write(tmp_path / "tuesday.vtt", b"WEBVTT\n")
    write(tmp_path / "phone.mov", b"\0\0\0\x14ftypqt  ")
    assert found(tmp_path) == {"monday.M4A": "sound", "tuesday.vtt": "transcript", "phone.mov": "film"}


def test_loops_end_and_nothing_is_found_twice(tmp_path: Path) -> None:
    sound(tmp_path / "a" / "monday.wav")
    (tmp_path / "a" / "loop").symlink_to(tmp_path)
    (tmp_path / "b").symlink_to(tmp_path / "a")
    (tmp_path / "same.wav").symlink_to(tmp_path / "a" / "monday.wav")
    (tmp_path / "self.wav").symlink_to(tmp_path / "self.wav")
    (tmp_path / "nowhere").symlink_to(tmp_path / "gone")
    searched = search([tmp_path, tmp_path / "a"])
    assert len(searched.sources) == 1
    assert [u.path.name for u in searched.unusable] == ["self.wav"]
    assert "cannot be read" in searched.unusable[0].reason


def test_the_folder_of_notes_is_left_out_unless_it_is_named(tmp_path: Path) -> None:
    sound(tmp_path / "notes" / "monday.wav")
    sound(tmp_path / "tuesday.wav")
    assert found(tmp_path, tmp_path / "notes") == {"tuesday.wav": "sound"}
    assert found(tmp_path / "notes", tmp_path / "notes") == {"monday.wav": "sound"}


def test_pipes_are_never_opened(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "monday.wav")
    assert search([tmp_path]).others == 1


def test_names_of_all_sorts_are_found_and_their_places_can_be_shown(tmp_path: Path) -> None:
    names = [
        b"two\nlines.wav",
        "🍷👩\u200d🌾.wav".encode(),
        b"caf\xe9.wav",
        b"caf\xe8.wav",
        "café.wav".encode(),
    ]
    for name in names:
        sound(tmp_path / os.fsdecode(name))
    searched = search([tmp_path])
    places = [s.place.name for s in searched.sources]
    assert {os.fsencode(s.path.name) for s in searched.sources} == set(names)
    assert len(set(places)) == len(names)
    assert {"🍷👩\u200d🌾.wav", "café.wav"} <= set(places)
    assert all(place.isprintable() or "\u200d" in place for place in places)
    assert all(place.encode() for place in places)


def test_places_stand_below_the_folder_named_in_order(tmp_path: Path) -> None:
    for name in ("x/march/b.wav", "x/march/a.wav", "x/a.wav", "y/x/a.wav"):
        sound(tmp_path / name)
    searched = search([tmp_path / "x", tmp_path / "y" / "x"])
    assert [str(s.place) for s in searched.sources] == [
        "x/a.wav", "x/march/a.wav", "x/march/b.wav", "x-2/a.wav",
    ]  # fmt: skip


def test_a_folder_that_is_not_there_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        search([tmp_path / "gone"])


def test_what_may_not_be_read_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shut = sound(tmp_path / "monday.wav")
    locked = sound(tmp_path / "locked" / "tuesday.wav").parent
    shut.chmod(0)
    locked.chmod(0)
    if os.geteuid() == 0:  # root may read all: what the system says to others is said to root here
        really_open, really_list = Path.open, Path.iterdir

        def open_(self: Path, *rest: str) -> object:
            if self == shut:
                raise PermissionError(13, "Permission denied", str(self))
            return really_open(self, *rest)

        def iterdir(self: Path) -> object:
            if self == locked:
                raise PermissionError(13, "Permission denied", str(self))
            return really_list(self)

        monkeypatch.setattr(Path, "open", open_)
        monkeypatch.setattr(Path, "iterdir", iterdir)
    searched = search([tmp_path])
    locked.chmod(0o755)
    assert {(u.path.name, u.reason) for u in searched.unusable} == {
        ("monday.wav", "may not be read; change its permissions"),
        ("locked", "may not be read; change its permissions"),
    }
