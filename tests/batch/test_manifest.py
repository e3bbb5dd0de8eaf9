"""The manifest: what was written is there, whatever was torn off behind it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from dictate.batch.manifest import NAME, Doubtful, Line, Making, Manifest, NoteMade, Repaired

MAKING = Making("0.1.0", "base", "l", "o")
NOTE = NoteMade(
    "a-1", "Tin Whistle", "in/a.wav/01.json", (Doubtful("palate.acidity", 0.4, "heard unsurely"),)
)
LINE = Line("a" * 64, "/in/caf\udce9\n.wav", MAKING, notes=(NOTE,), repaired=(Repaired("tart", "tar", 2),))


def test_what_was_added_is_there_again_whole(tmp_path: Path) -> None:
    with Manifest(tmp_path) as manifest:
        manifest.add(LINE)
        manifest.add(replace(LINE, sha256="b", reason="is empty"))
    with Manifest(tmp_path) as manifest:
        assert manifest.of("a" * 64) == LINE
        assert manifest.of("b") == replace(LINE, sha256="b", reason="is empty")
        assert manifest.of("c") is None


def test_the_newest_line_of_a_recording_counts(tmp_path: Path) -> None:
    with Manifest(tmp_path) as manifest:
        manifest.add(LINE)
        manifest.add(replace(LINE, took_s=2.0))
    with Manifest(tmp_path) as manifest:
        newest = manifest.of(LINE.sha256)
    assert newest is not None
    assert newest.took_s == 2.0


@settings(max_examples=25)
@given(st.integers(min_value=0, max_value=2000))
def test_torn_anywhere_it_loses_only_what_was_torn(tmp_path_factory, cut: int) -> None:  # type: ignore[no-untyped-def]
    folder = tmp_path_factory.mktemp("m")
    lines = [replace(LINE, sha256=str(n)) for n in range(3)]
    with Manifest(folder) as manifest:
        for line in lines:
            manifest.add(line)
    data = (folder / NAME).read_bytes()
    ends = [i + 1 for i, byte in enumerate(data) if byte == 10]
    (folder / NAME).write_bytes(data[:cut])
    whole = sum(end - 1 <= cut for end in ends[1:])  # a line that lacks its newline alone is whole
    with Manifest(folder) as manifest:
        assert [manifest.of(line.sha256) for line in lines] == [*lines[:whole], *[None] * (3 - whole)]
        manifest.add(lines[2])
    with Manifest(folder) as manifest:
        assert manifest.of("2") == lines[2]
        assert [manifest.of(str(n)) for n in range(whole)] == lines[:whole]


def test_lines_of_a_program_to_come_are_passed_over(tmp_path: Path) -> None:
    (tmp_path / NAME).write_text('{"sha256": "a", "more": 1}\n[]\n3\n"x"\nnull\n\xff\n', encoding="latin-1")
    with Manifest(tmp_path) as manifest:
        assert manifest.of("a") is None


def test_what_was_made_with_serves_only_the_same() -> None:
    assert MAKING.serves(MAKING)
    for name in ("program", "model", "lexicon", "own"):
        assert not MAKING.serves(replace(MAKING, **{name: "other"}))
    salvaged = replace(MAKING, salvage=True)
    assert MAKING.serves(salvaged)
    assert not salvaged.serves(MAKING)
