"""The file of a taster's own words: whole or not at all, and a damaged one is never written over."""

from __future__ import annotations

import errno
import sys
from pathlib import Path

import platformdirs
import pytest
from hypothesis import HealthCheck, given, settings

from dictate import files
from dictate.personal import PersonalWord, WordsError, make_word, merge_words
from dictate.personal.sheet import SheetError
from dictate.personal.store import (
    change_words,
    export_words,
    import_words,
    load_words,
    read_wine_list,
    words_path,
)
from dictate.values import ListedWine
from tests.personal.made import WORDS

WHISTLE, RAKE = make_word("Tin Whistle", heard_as=["thin thistle"]), make_word("Heron's Rake")


def keep(*words: PersonalWord) -> tuple[PersonalWord, ...]:
    return change_words(lambda _: merge_words((), words))


def test_no_file_is_no_words() -> None:
    assert load_words() == ()
    assert not words_path().parent.exists()


def test_words_are_kept_in_one_file_of_ours(own_home: Path) -> None:
    assert keep(WHISTLE, RAKE) == load_words() == (RAKE, WHISTLE)
    assert {p.name for p in own_home.iterdir()} == {"words.json", "words.lock"}
    assert change_words(lambda words: words[:1]) == load_words() == (RAKE,)


def test_without_a_home_told_it_is_the_user_s_data_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("DICTATE_HOME")
    assert words_path().parent == Path(platformdirs.user_data_dir("dictate", appauthor=False))


@settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(words=WORDS)
def test_round_trip_through_each_file(tmp_path: Path, words: list[PersonalWord]) -> None:
    merged = keep(*words)
    assert load_words() == merged
    for name in ("out.csv", "out.json"):
        export_words(merged, tmp_path / name)
        assert import_words(tmp_path / name) == merged


DAMAGED = {
    "cut short": (b'{\n "format": "dictate-words/1",\n "words": [\n  {"term": "Tin', "line 4"),
    "a kind unknown": (b'{"words": [\n{"term": "Tin"},\n{"term": "Tin", "kind": "tree"}]}', "line 3: kind"),
    "bytes": (b"\xff\xfe\x00", "not whole"),
    "empty": (b"", "empty"),
}


@pytest.mark.parametrize("case", DAMAGED)
def test_a_damaged_file_is_refused_with_name_and_line_and_kept(case: str) -> None:
    data, why = DAMAGED[case]
    keep(WHISTLE)
    path = words_path()
    path.write_bytes(data)
    for act in (load_words, lambda: keep_more(RAKE)):
        with pytest.raises(WordsError, match=why) as refused:
            act()
        assert str(refused.value).startswith(str(path))
        assert "mend the file" in str(refused.value)
        assert path.read_bytes() == data


def keep_more(*words: PersonalWord) -> tuple[PersonalWord, ...]:
    return change_words(lambda old: merge_words(old, words))


def test_a_change_that_fails_changes_nothing(own_home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    keep(WHISTLE)
    before = words_path().read_bytes()

    def refuse(_: tuple[PersonalWord, ...]) -> tuple[PersonalWord, ...]:
        raise WordsError("no")

    with pytest.raises(WordsError):
        change_words(refuse)

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(files.os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        keep_more(RAKE)
    assert words_path().read_bytes() == before
    assert {p.name for p in own_home.iterdir()} == {"words.json", "words.lock"}


@pytest.mark.skipif(sys.platform == "win32", reason="links need rights on Windows")
def test_a_link_stays_a_link(tmp_path: Path) -> None:
    keep(WHISTLE)
    real = tmp_path / "elsewhere.json"
    words_path().rename(real)
    words_path().symlink_to(real)
    keep_more(RAKE)
    assert words_path().is_symlink()
    assert import_words(real) == load_words() == (RAKE, WHISTLE)


def test_an_export_replaces_words_but_nothing_else(tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    export_words((WHISTLE,), path)
    export_words((RAKE,), path)
    assert import_words(path) == (RAKE,)
    prices = tmp_path / "prices.csv"
    prices.write_text("wine,price\nTin Whistle,3\n")
    with pytest.raises(WordsError, match="give another name"):
        export_words((RAKE,), prices)
    assert prices.read_text() == "wine,price\nTin Whistle,3\n"
    with pytest.raises(WordsError, match=r"name it \.csv or \.json"):
        export_words((RAKE,), tmp_path / "out.txt")
    assert {p.name for p in tmp_path.iterdir()} == {"out.csv", "prices.csv"}


def test_only_as_much_of_a_file_is_read_as_tells_that_it_is_too_big(tmp_path: Path) -> None:
    endless = Path("/dev/zero")
    if not endless.exists():
        pytest.skip("needs /dev/zero")
    with pytest.raises(WordsError, match="4 MB"):
        import_words(endless)
    with pytest.raises(SheetError, match="2 MB"):
        read_wine_list(endless)


def test_a_wine_list_names_its_file_in_what_is_wrong(tmp_path: Path) -> None:
    path = tmp_path / "flight.csv"
    path.write_text("No;Estate\n1;Tin Whistle\n")
    assert read_wine_list(path).wines == (ListedWine(1, producer="Tin Whistle"),)
    path.write_text("No;Estate\nx;Tin Whistle\n")
    with pytest.raises(SheetError, match="line 2") as refused:
        read_wine_list(path)
    assert str(refused.value).startswith(f"{path}: ")
    for other in (tmp_path, tmp_path / "none.csv"):
        with pytest.raises(SheetError, match="--list"):
            read_wine_list(other)
