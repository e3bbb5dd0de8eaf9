"""200 hostile files: each is done or told, and the one good recording among them is as it is alone."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

from dictate.batch.report import page_of, told
from dictate.publish import filled
from tests.batch import fakes, hostile
from tests.batch.runs import notes_below, run
from tests.batch.test_run import piece


def test_each_is_done_or_told_and_nothing_else_is_disturbed(tmp_path: Path) -> None:
    folder = tmp_path / "in"
    fates = hostile.make(folder)
    (folder / "zz").mkdir()
    piece(folder / "zz" / "good.wav")
    result = run(folder, tmp_path / "out", work=fakes.quick, library=tmp_path / "library.sqlite")
    done = {os.path.relpath(line.source, folder) for line in result.lines}
    failed = {str(f.path.relative_to(folder)): f.reason for f in result.failures}
    assert done - {"zz/good.wav"} == {name for name, fate in fates.items() if fate == "done"}
    assert set(failed) == {name for name, fate in fates.items() if fate == "failed"}
    assert [str(b.relative_to(folder)) for _, b in result.twins] == ["names/zz twin.wav"]
    # what was found before under another name is neither done nor counted again
    links = ["loop/again", "rate/link.wav"]
    assert result.others == sum(f == "none" and name not in links for name, f in fates.items())
    assert result.left == 0
    assert not [
        reason for reason in failed.values() if "\n" in reason or "died" in reason or "report" in reason
    ]
    shutil.copytree(folder / "zz", tmp_path / "alone" / "in" / "zz")
    run(tmp_path / "alone" / "in", tmp_path / "out alone")
    one, other = (
        {k: v for k, v in notes_below(out).items() if k.endswith(".md")}
        for out in (tmp_path / "out", tmp_path / "out alone")
    )
    assert one == other != {}
    text = "\n".join(told(result))
    assert not [c for c in text if not c.isprintable() and c not in "\n\u200d"]
    page = filled(
        Path("dictate/batch/templates/batch.html.j2").read_text(), page_of(result), name="x", html=True
    )
    assert "<script>alert" not in page
