"""The review by voice in a real browser: what is said is done, shown and read out; the keyboard goes on."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from dictate.review.server import ReviewPage
from dictate.review.voice import Voice
from dictate.settings import Settings
from tests.board.test_browser import axe_file
from tests.review.http import send
from tests.review.said import Script
from tests.review.test_browser import kept, opened, until, value

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser


@pytest.fixture
def script() -> Script:
    return Script()


@pytest.fixture
def page(shelf_path: Path, tmp_path: Path, script: Script) -> Iterator[ReviewPage]:
    """A running page with its microphone on."""
    made = ReviewPage(shelf_path, cache=tmp_path / "cache", voice=Voice(script, Settings()))
    made.start()
    yield made
    made.stop()


@pytest.fixture
def complaints() -> list[str]:
    return []


@pytest.fixture
def context(browser: Browser) -> Iterator[Any]:
    made = browser.new_context(viewport={"width": 1280, "height": 900})
    yield made
    made.close()


@pytest.fixture
def window(context: Any, page: ReviewPage, complaints: list[str]) -> Page:
    """A window that shows the first note, and listens."""
    made = opened(context, page, complaints)
    until(made, "document.getElementById('voice').dataset.on === 'yes'")
    return made


def heard(window: Page, script: Script, text: str, told: str) -> None:
    """Say something, and wait until the page tells what came of it."""
    script.say(text)
    line = f"“{text}” {told}"
    until(window, f"document.getElementById('voice-told').textContent.trim().startsWith({line!r})")


def looked_at(window: Page) -> Any:
    return window.evaluate("document.querySelector('.looked')?.id")


def test_a_note_is_put_right_by_voice_alone(
    window: Page, script: Script, shelf_path: Path, complaints: list[str]
) -> None:
    assert looked_at(window) == "v.nose.aromas.1"
    assert "USB microphone" in window.inner_text("#voice-state")
    heard(window, script, "acidity is high", "acidity: 5.0 → 8.0")
    assert value(window, "palate.acidity").text_content() == "8"
    heard(window, script, "That's saline.", "smell: sailing → saline")
    heard(window, script, "add tobacco to the nose", "smell: nothing → tobacco")
    heard(window, script, "undo", "undone: smell: nothing → tobacco")
    heard(window, script, "go to the acidity", "acidity: ")
    assert looked_at(window) == "v.palate.acidity"
    heard(window, script, "a bit lower", "acidity: 8.0 → 7.5")
    heard(window, script, "scrap that", "acidity: 7.5 → nothing")
    heard(window, script, "strike that", "undone: acidity: 7.5 → nothing")
    heard(window, script, "play the cedar", "playing: smell: cedar")
    assert window.evaluate("document.body.dataset.played") == "5 5.3"
    until(window, "document.getElementById('audio').paused")
    window.wait_for_timeout(300)  # until the server knows
    heard(window, script, "accept all", "the note: accepted")
    note = kept(shelf_path)
    assert [d.term for d in note.nose.aromas] == ["cedar", "saline"]
    assert note.palate.acidity is not None
    assert (note.palate.acidity.level, note.palate.acidity.source) == (7.5, "corrected")
    assert {c.by for c in note.history} == {"voice"}
    said = "acidity is high", "That's saline.", "a bit lower", "accept all"
    assert tuple(c.said for c in note.history) == said
    assert complaints == []


def test_next_and_accept_go_through_the_doubtful_and_to_the_next_note(
    window: Page, script: Script, shelf_path: Path
) -> None:
    heard(window, script, "next", "producer: Tin Wistle")
    assert looked_at(window) == "v.wine.producer"
    heard(window, script, "back", "smell: sailing")
    while window.locator("#accept kbd").count() and "Right" in window.inner_text("#accept"):
        before = window.inner_text("#look .count >> nth=0")
        heard(window, script, "accept", looked_name(window))
        until(window, f"!document.querySelector('#look .count').textContent.includes({before!r})")
    script.say("accept")
    until(window, "location.pathname === '/note/3' && document.body.dataset.ready === 'yes'")
    assert kept(shelf_path).history[-1].field == "note"
    until(window, "document.getElementById('voice-told').textContent.includes('“accept”')")
    heard(window, script, "acidity is high", "acidity: 5.0 → 8.0")
    assert kept(shelf_path, 3).palate.acidity.level == 8  # type: ignore[union-attr]


def looked_name(window: Page) -> str:
    """What begins the line that tells of the value looked at."""
    name: str = window.evaluate("document.querySelector('.looked').dataset.name")
    return f"{name}: "


def test_what_is_not_understood_is_told_and_words_stay_words(
    window: Page, script: Script, shelf_path: Path, complaints: list[str]
) -> None:
    for text in (
        "could you pass the water please",
        "<img src=x onerror=alert(1)>",
        "'; DROP TABLE notes; --",
    ):
        heard(window, script, text, "not understood")
    assert window.locator("#voice img").count() == 0
    assert kept(shelf_path).history == []
    assert window.get_attribute("#voice-told", "role") == "status"  # read out, not only seen
    assert complaints == []


def test_what_is_heard_while_the_page_plays_is_not_done(
    window: Page, script: Script, shelf_path: Path
) -> None:
    window.click("#play-all")
    until(window, "!document.getElementById('audio').paused")
    window.wait_for_timeout(200)
    heard(window, script, "accept all", "not listened to while the note plays")
    window.click("#play-all")
    until(window, "document.getElementById('audio').paused")
    window.wait_for_timeout(200)
    assert kept(shelf_path).history == []
    heard(window, script, "accept all", "the note: accepted")


def test_listening_is_turned_off_and_on_by_button_key_and_voice(window: Page, script: Script) -> None:
    window.click("#listen")
    until(window, "document.getElementById('voice-state').textContent.startsWith('Not listening')")
    assert not script.is_on
    assert window.get_attribute("#listen", "aria-pressed") == "false"
    window.keyboard.press("l")
    until(window, "document.getElementById('voice-state').textContent.startsWith('Listening')")
    heard(window, script, "stop listening", "not listening any more")
    assert not script.is_on
    window.keyboard.press("l")
    until(window, "document.getElementById('voice').dataset.on === 'yes'")
    script.problem = "the microphone is gone"
    script.turn(on=True)
    until(window, "document.getElementById('voice-problem').textContent === 'the microphone is gone'")


def test_of_two_windows_the_one_used_last_does_it_and_a_conflict_is_told(
    window: Page, context: Any, page: ReviewPage, script: Script, shelf_path: Path, complaints: list[str]
) -> None:
    other = opened(context, page, complaints, number=2)
    until(other, "document.getElementById('voice').dataset.on === 'yes'")
    heard(other, script, "acidity is high", "acidity: 5.0 → 8.0")
    window.bring_to_front()
    window.keyboard.press("n")
    window.wait_for_timeout(200)
    assert send(page, 1, do="put", path="palate.acidity", text="2", revision=1).status == 200
    heard(window, script, "acidity is high", "This was changed elsewhere meanwhile; yours is not saved.")
    assert "acidity: 5.0 → 2.0" in window.inner_text("#voice-told")
    heard(window, script, "acidity is high", "acidity: 2.0 → 8.0")
    assert [len(kept(shelf_path, n).history) for n in (1, 2)] == [2, 1]
    assert other.inner_text("#voice-told").count("“") == 1


@pytest.mark.parametrize("width", [360, 1280])
def test_it_can_be_used_by_everybody(window: Page, script: Script, width: int) -> None:
    heard(window, script, "acidity is high", "acidity")
    window.set_viewport_size({"width": width, "height": 780})
    assert window.evaluate("document.documentElement.scrollWidth <= innerWidth")
    axe = axe_file()
    if axe is None:
        reason = "needs axe-core: npm install --no-save axe-core, or AXE_CORE=path of axe.min.js"
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)(reason)
    window.evaluate(Path(axe).read_text("utf-8"))
    found = window.evaluate("axe.run(document)")["violations"]
    assert [f"{v['id']}: {v['nodes'][0]['html']}" for v in found if v["impact"] != "minor"] == []
    window.keyboard.press("n")
    below = window.evaluate(
        "document.querySelector('.looked').getBoundingClientRect().top >="
        " document.getElementById('voice').getBoundingClientRect().bottom - 1"
    )
    assert below, "what is looked at is not hidden by what was heard"
    assert window.evaluate("document.getElementById('listen').tabIndex") == 0
