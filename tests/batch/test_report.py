"""The report of a batch, the words put right in it, and the time that it will take yet."""

from __future__ import annotations

from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from dictate.batch.folders import Unusable
from dictate.batch.manifest import Doubtful, Line, Making, NoteMade, Repaired
from dictate.batch.pace import Going, Pace
from dictate.batch.repaired import repaired_in, together
from dictate.batch.report import page_of, told
from dictate.batch.run import Result, State
from dictate.batch.view import told as told_state
from dictate.note import Note, TranscriptPhrase, TranscriptWord
from dictate.publish import filled
from tests.board.test_browser import axe_file

if TYPE_CHECKING:
    from playwright.sync_api import Browser

MAKING = Making("0.1.0", "m", "l", "o")
EVIL = "<script>alert(1)</script>"


def result(**more: object) -> Result:
    sure = NoteMade("a-1", "Tin Whistle", "in/a.wav/01.json")
    unsure = NoteMade(
        "a-2", EVIL, "in/a.wav/02.json",
        (Doubtful("wine.producer", 0.3, "often misheard"), Doubtful("palate.acidity", 0.5, "short")),
    )  # fmt: skip
    repaired = (Repaired("next one", "next wine", 3), Repaired("tart", "tar", 1))
    line = Line("a", "/in/a.wav", MAKING, notes=(sure, unsure), sound_s=5400.0, repaired=repaired)
    quiet = Line("b", "/in/b.wav", MAKING, sound_s=1800.0)
    failed = Unusable(Path("/in/c\n.wav"), "is empty; record again")
    made = {
        "lines": (line, quiet), "before": 1, "failures": (failed,), "others": 2, "sound_s": 1800.0,
        "wall_s": 90.0, "twins": ((Path("/in/a.wav"), Path("/in/d.wav")),),
    }  # fmt: skip
    return Result(**{**made, **more})  # type: ignore[arg-type]


def test_the_report_tells_all_of_it() -> None:
    assert told(result()) == [
        "2 notes of 2 recordings, 1 of them by an earlier run; 2:00:00 of sound",
        "0:30:00 of sound in 0:01:30: 20.0 times as fast as it was said",
        "1 recording without speech; 1 recording there twice; 2 files without sound left aside; 1 not done",
        "Same recording twice, done once:",
        "  /in/d.wav is /in/a.wav",
        "Not done:",
        "  /in/c .wav: is empty; record again",
        "To look at first (dictate review):",
        f"  {EVIL} (in/a.wav/02.json): wine.producer 30% (often misheard), palate.acidity 50% (short)",
        "Most often put right:",
        "  “next one” to “next wine”, 3 ×",
    ]


def test_a_batch_that_was_stopped_or_has_no_library_says_so() -> None:
    lines = told(result(left=7, problem="/l.sqlite: is damaged"))
    assert "stopped; 7 files left: the same command goes on" in lines
    assert (
        lines[-1] == "Not in the library, but in files: /l.sqlite: is damaged; the same command tries again"
    )
    assert told(Result())[0] == "0 notes of 0 recordings; 0:00:00 of sound"


def html(made: Result) -> str:
    template = (resources.files("dictate.batch") / "templates" / "batch.html.j2").read_text("utf-8")
    return filled(template, page_of(made), name="batch.html.j2", html=True)


def test_nothing_in_the_page_is_markup() -> None:
    page = html(result())
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert "default-src 'none'" in page


@pytest.mark.browser
def test_the_page_is_accessible_and_nothing_scrolls_sideways(tmp_path: Path, browser: Browser) -> None:
    (tmp_path / "batch.html").write_text(html(result(left=1)), encoding="utf-8")
    page = browser.new_page(viewport={"width": 360, "height": 700}, bypass_csp=True)
    page.goto(f"file://{tmp_path}/batch.html")
    page.add_script_tag(path=str(axe_file()))
    found = page.evaluate("axe.run()")
    assert [v["id"] for v in found["violations"]] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.close()


def words(*pairs: tuple[str, str | None]) -> TranscriptPhrase:
    made = [TranscriptWord(text=text, at=(n, n + 1), heard=heard) for n, (text, heard) in enumerate(pairs)]
    return TranscriptPhrase(text="x", at=(0, len(made)), stage="nose", words=made)


def test_words_put_right_are_counted_as_they_were_put() -> None:
    first = words(("next", "next one,"), ("wine,", ""), ("tar", "Tart"), ("and", None), ("Tar.", "tart"))
    second = words(("a", "a"), ("cassis", "cases"), ("cassis", "cases"), ("", ""))
    notes = [Note.model_construct(transcript=[first]), Note.model_construct(transcript=[second])]
    assert repaired_in(notes) == (
        Repaired("cases", "cassis", 2), Repaired("tart", "tar", 2), Repaired("next one", "next wine", 1),
    )  # fmt: skip
    assert together([repaired_in(notes), (Repaired("next one", "next wine", 4),)])[0].times == 5


def test_time_left_is_reckoned_by_ending() -> None:
    pace = Pace(workers=2)
    assert pace.left_s([(".wav", 100)]) is None
    pace.did(".wav", 1000, took_s=10.0)
    pace.did(".opus", 10, took_s=10.0)
    assert pace.left_s([(".wav", 2000), (".opus", 20)]) == pytest.approx((20 + 20) / 2)
    assert pace.left_s([(".mp3", 1010)]) == pytest.approx(20 / 2)  # of an ending not met yet, as all together
    going = Going(".wav", 1000, share=0.5, for_s=5.0)
    assert pace.left_s([], [going]) == pytest.approx(5 / 2)
    assert Pace(1).left_s([(".wav", 500)], [going]) == pytest.approx(5 + 5)


@pytest.mark.parametrize(
    ("left_s", "words"),
    [
        (None, "time left unknown"), (12, "less than a minute left"), (150, "about 2 min left"),
        (12000, "about 3 h 20 min left"),
    ],
)  # fmt: skip
def test_time_left_is_told_as_people_say_it(left_s: float | None, words: str) -> None:
    assert told_state(State(3, 9, 1, (), left_s)) == f"3 of 9 files, 1 not done; {words}"
