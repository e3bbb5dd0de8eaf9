"""The review in a real browser: by hand, by keyboard, in two windows, loaded again in the middle."""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

import pytest

from dictate.library import Library
from dictate.note import Note
from dictate.review.server import ReviewPage
from tests.board.test_browser import axe_file
from tests.review.http import send
from tests.review.made import FROM_S, TO_S

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser
SIZES = [(360, 740), (1280, 800), (1920, 1080)]


@pytest.fixture
def complaints() -> list[str]:
    """What the browser's console complains of."""
    return []


@pytest.fixture
def window(browser: Browser, page: ReviewPage, complaints: list[str]) -> Iterator[Page]:
    """A window that shows the first note."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    made = opened(context, page, complaints)
    yield made
    context.close()


def opened(context: Any, page: ReviewPage, complaints: list[str], number: int = 1) -> Page:
    """A new window of a context, sent to a note."""
    made: Page = context.new_page()
    made.on("console", lambda message: complaints.append(message.text))
    made.on("pageerror", lambda error: complaints.append(str(error)))
    made.goto(page.url)
    made.goto(address(page, f"/note/{number}"))
    until(made, "document.body.dataset.ready === 'yes'")
    return made


def address(page: ReviewPage, path: str) -> str:
    return f"http://{urlsplit(page.url).netloc}{path}"


def until(window: Page, true: str, *, within_s: float = 20) -> None:
    """Wait until this is true in the page, which may be on its way to another."""
    from playwright.sync_api import Error

    end = time.monotonic() + within_s
    found = False
    while not found:
        with contextlib.suppress(Error):
            found = window.evaluate(true)
        assert found or time.monotonic() < end, f"never came true: {true}"
        window.wait_for_timeout(20)


def told(window: Page, text: str) -> None:
    """Wait until the page tells this."""
    until(window, f"document.getElementById('tells').textContent.includes({text!r})")


def kept(path: Path, number: int = 1) -> Note:
    with Library.open(path) as library:
        return library.get(str(number))


def value(window: Page, key: str) -> Any:
    return window.locator(f'[id="v.{key}"]')


def test_a_descriptor_is_put_right_and_stays_after_loading_again(
    window: Page, shelf_path: Path, complaints: list[str]
) -> None:
    assert "sailing" in (value(window, "nose.aromas.1").get_attribute("aria-label") or "")
    value(window, "nose.aromas.1").click()
    assert window.evaluate("document.body.dataset.played") == "5.3 5.6"
    window.fill("#f-text", "salin")
    until(window, "document.querySelectorAll('#terms [role=option]').length > 0")
    window.keyboard.press("ArrowDown")
    assert window.get_attribute("#f-text", "aria-activedescendant") == "term-0"
    window.keyboard.press("Enter")
    assert window.input_value("#f-text") == "saline"
    window.keyboard.press("Enter")
    told(window, "smell: sailing → saline")
    window.reload()
    until(window, "document.body.dataset.ready === 'yes'")
    assert value(window, "nose.aromas.1").text_content() == "saline"
    item = kept(shelf_path).nose.aromas[1]
    assert (item.term, item.source, item.said, item.at, item.known) == (
        "saline", "corrected", "sailing", (5.3, 5.6), True,
    )  # fmt: skip
    window.click("#undo")
    told(window, "undone: smell: sailing → saline")
    assert value(window, "nose.aromas.1").text_content() == "sailing"
    assert kept(shelf_path).nose.aromas[1].term == "sailing"
    assert complaints == []


def test_an_onset_is_dragged_and_the_clock_recomputed(
    window: Page, shelf_path: Path, complaints: list[str]
) -> None:
    until(window, "document.body.dataset.peaks !== undefined")
    assert value(window, "finish.seconds").text_content() == "8.50 s"
    value(window, "finish.seconds").click()
    box = window.locator(".zoom[data-end=to] .zoom-wave").bounding_box()
    assert box is not None
    middle = box["x"] + box["width"] / 2
    window.mouse.move(middle, box["y"] + 40)
    window.mouse.down()
    window.mouse.move(middle + box["width"] / 3, box["y"] + 44, steps=5)  # 0.5 s of the 1.5 s shown
    window.mouse.up()
    window.keyboard.press("ArrowLeft")
    window.click("#save")
    told(window, "length in seconds: 8.5 → ")
    finish = kept(shelf_path).finish
    assert finish.to_s == pytest.approx(TO_S + 0.49, abs=0.02)
    assert finish.from_s == pytest.approx(FROM_S, abs=0.001)
    assert finish.how == "timed"
    assert finish.seconds == pytest.approx(finish.to_s - finish.from_s, abs=0.0051)
    assert value(window, "finish.seconds").text_content() == f"{finish.seconds:.2f} s"
    value(window, "finish.seconds").click()
    window.locator(".zoom[data-end=to] .handle").focus()
    for _ in range(3):
        window.keyboard.press("Shift+ArrowLeft")
    window.keyboard.press("s")  # to where the sound rises
    until(window, "Math.abs(document.querySelector('.zoom[data-end=to] .handle').ariaValueNow - 22.5) < 0.03")
    assert complaints == []


def test_where_the_recording_is_gone_the_panel_says_why_and_seconds_are_typed(
    browser: Browser, page: ReviewPage, shelf_path: Path
) -> None:
    (shelf_path.parent / "bench.wav").unlink()
    context = browser.new_context()
    window = opened(context, page, [])
    until(window, "document.getElementById('sound-told').textContent !== ''")
    value(window, "finish.seconds").click()
    until(window, "document.getElementById('panel-told').textContent.includes('the recording is not there')")
    assert "cannot be moved" in window.inner_text("#panel-told")
    assert not window.locator(".zoom").first.is_visible()
    window.fill("#f-text", "9.25")
    window.keyboard.press("Enter")
    told(window, "length in seconds: 8.5 → 9.25")
    finish = kept(shelf_path).finish
    assert (finish.seconds, finish.how) == (9.25, "stated")
    context.close()


def test_a_clock_that_no_cue_stopped_is_timed_by_hand(
    window: Page, page: ReviewPage, shelf_path: Path
) -> None:
    assert send(page, 1, do="put", path="finish.seconds", text="", revision=1).status == 200
    window.reload()
    until(window, "document.body.dataset.peaks !== undefined")
    window.click(".timing")
    window.keyboard.press("Shift+ArrowRight")
    window.click("#save")
    told(window, "length in seconds: nothing → 8.4")
    finish = kept(shelf_path).finish
    assert (finish.how, finish.seconds, finish.from_s, finish.to_s) == ("timed", 8.4, FROM_S + 0.1, TO_S)


def test_by_keyboard_alone_from_the_link_to_the_next_note(
    browser: Browser, page: ReviewPage, shelf_path: Path, complaints: list[str]
) -> None:
    context = browser.new_context()
    window = opened(context, page, complaints)
    count = window.locator("#look ol li").count()
    assert count >= 2
    window.keyboard.press("p")
    assert window.evaluate("document.body.dataset.played") is not None
    window.keyboard.press("Enter")  # nothing has the focus yet: no value is changed
    assert kept(shelf_path) == kept(shelf_path)
    window.keyboard.press("n")
    looked = window.evaluate("document.activeElement.id")
    assert looked.startswith("v.")
    window.keyboard.press("ArrowRight")
    assert window.evaluate("document.activeElement.id") != looked
    window.keyboard.press("n")
    window.keyboard.press("a")
    told(window, "accepted")
    until(window, f"document.querySelectorAll('#look ol li').length === {count - 1}")
    window.keyboard.press("u")
    told(window, "undone")
    until(window, f"document.querySelectorAll('#look ol li').length === {count}")
    value(window, "palate.acidity").focus()
    window.keyboard.press("+")
    told(window, "acidity: 5.0 → 5.5")
    window.keyboard.press("Enter")
    assert window.evaluate("document.activeElement.id") == "f-level"
    window.keyboard.press("End")
    window.keyboard.press("Enter")
    told(window, "acidity: 5.5 → 10.0")
    assert window.evaluate("document.activeElement.id") == "v.palate.acidity"
    window.keyboard.press("n")
    for _ in range(count):
        left = window.locator("#look ol li").count()
        window.keyboard.press("a")
        until(window, f"document.querySelectorAll('#look ol li').length < {left}")
    window.keyboard.press("a")  # nothing doubtful: one key accepts the note and goes on
    until(window, "location.pathname !== '/note/1' && document.body.dataset.ready === 'yes'")
    note = kept(shelf_path)
    assert note.palate.acidity is not None
    assert note.palate.acidity.level == 10
    assert note.history[-1].after == "accepted"
    assert complaints == []
    context.close()


def test_all_is_accepted_with_one_key_and_can_be_undone(window: Page, shelf_path: Path) -> None:
    window.keyboard.press("Shift+A")
    told(window, "the note: accepted")
    until(window, "document.querySelector('#look').textContent.includes('You accepted this note')")
    assert window.locator(".doubtful").count() == 0
    window.reload()
    until(window, "document.body.dataset.ready === 'yes'")
    assert window.locator(".doubtful").count() == 0
    window.keyboard.press("u")
    told(window, "undone: the note: accepted")
    assert window.locator(".doubtful").count() > 0
    assert kept(shelf_path).history == []


def test_loaded_again_in_the_middle_what_was_saved_is_there_and_what_was_typed_is_not(
    window: Page, shelf_path: Path, complaints: list[str]
) -> None:
    value(window, "palate.acidity").focus()
    for level in ("5.5", "6.0", "6.5"):
        window.keyboard.press("+")
        told(window, f"→ {level}")
    value(window, "wine.producer").click()
    window.fill("#f-text", "half a wo")
    window.reload()
    until(window, "document.body.dataset.ready === 'yes'")
    assert value(window, "wine.producer").text_content() == "Tin Wistle"
    for level in ("6.0", "5.5", "5.0"):
        window.keyboard.press("u")
        told(window, f"undone: acidity: {level} → ")
    until(window, "document.getElementById('undo').disabled")
    assert kept(shelf_path).history == []
    assert complaints == []


def test_two_windows_keep_both_changes_or_tell(
    browser: Browser, page: ReviewPage, shelf_path: Path, complaints: list[str]
) -> None:
    context = browser.new_context()
    one, two = opened(context, page, complaints), opened(context, page, complaints)
    value(one, "palate.acidity").focus()
    one.keyboard.press("+")
    told(one, "5.0 → 5.5")
    value(two, "wine.producer").click()  # it has not seen that, and changes another field: both stay
    two.fill("#f-text", "Tin Whistle")
    two.keyboard.press("Enter")
    told(two, "Changed elsewhere meanwhile: acidity: 5.0 → 5.5")
    note = kept(shelf_path)
    assert note.palate.acidity is not None
    assert note.wine.producer is not None
    assert (note.palate.acidity.level, note.wine.producer.text) == (5.5, "Tin Whistle")
    value(two, "palate.acidity").focus()
    two.keyboard.press("-")
    told(two, "5.5 → 5.0")
    one.keyboard.press("+")  # the same field: told, not written over
    told(one, "changed elsewhere meanwhile; yours is not saved")
    told(one, "There now: acidity: 5.5 → 5.0")
    assert (value(one, "palate.acidity").text_content() or "").endswith("5")
    assert [text for text in complaints if "409" not in text] == []
    context.close()


def test_a_descriptor_is_added_moved_and_taken_out(window: Page, shelf_path: Path) -> None:
    window.locator(".stage-text:has(h2:text-is('Palate'))").locator(".add").first.click()
    window.select_option("#f-field", "palate.flavours")
    window.fill("#f-text", "black cherry")
    window.fill("#f-strength", "7")
    window.keyboard.press("Enter")
    told(window, "taste: nothing → black cherry (7)")
    value(window, "nose.aromas.0").click()
    window.select_option("#f-move", "palate.flavours")
    window.click("#save")
    told(window, "taste: nothing → cedar")
    value(window, "palate.flavours.0").click()
    window.click("#remove")
    told(window, "taste: black cherry (7) → nothing")
    note = kept(shelf_path)
    assert [d.term for d in note.palate.flavours] == ["cedar"]
    assert [d.term for d in note.nose.aromas] == ["sailing"]
    assert note.palate.flavours[0].at == (5.0, 5.3)


def test_what_was_said_is_never_markup(
    browser: Browser, page: ReviewPage, shelf_path: Path, complaints: list[str]
) -> None:
    context = browser.new_context()
    window = opened(context, page, complaints)
    evil = "<img src=x onerror=alert(1)>\"'><script>alert(2)</script>{{7*7}}"
    value(window, "wine.producer").click()
    window.fill("#f-text", evil)
    window.keyboard.press("Enter")
    told(window, "onerror")
    assert value(window, "wine.producer").text_content() == evil
    window.reload()
    until(window, "document.body.dataset.ready === 'yes'")
    assert value(window, "wine.producer").text_content() == evil
    assert window.locator("img, script:not([src])").count() == 0
    window.goto(address(page, "/"))
    assert evil.lower() in (window.text_content("table") or "").lower()
    assert window.locator("img, script:not([src])").count() == 0
    assert complaints == []
    context.close()


def test_sound_is_played_and_told_where_there_is_none(
    window: Page, browser: Browser, page: ReviewPage
) -> None:
    value(window, "nose.aromas.0").click()
    until(window, "document.getElementById('audio').readyState >= 1")
    until(window, "document.getElementById('audio').paused")  # it ends behind the words
    assert window.evaluate("document.getElementById('audio').currentTime") == pytest.approx(3.6, abs=0.5)
    assert window.evaluate("document.getElementById('audio').duration") == pytest.approx(26.0, abs=0.01)
    window.goto(address(page, "/note/2"))
    until(window, "document.body.dataset.ready === 'yes'")
    value(window, "nose.aromas.0").click()
    assert "no recording" in (window.text_content("#sound-told") or "")


def test_letters_are_not_keys_where_they_are_switched_off(window: Page, shelf_path: Path) -> None:
    window.locator("#help summary").click()
    window.locator("#letters").uncheck()
    window.locator("h1").click()
    window.keyboard.press("Shift+A")
    window.wait_for_timeout(200)
    assert kept(shelf_path).history == []


def test_the_key_leaves_the_address_line(browser: Browser, page: ReviewPage) -> None:
    window = browser.new_page()
    window.goto(page.url)
    assert urlsplit(window.url).path == "/"
    assert window.evaluate("document.cookie") == ""
    window.close()


def test_the_library_finds_compares_and_publishes(
    window: Page, page: ReviewPage, complaints: list[str]
) -> None:
    window.goto(address(page, "/"))
    window.fill("#find", "smells of cedar")
    window.keyboard.press("Enter")
    window.wait_for_url("**/?find=*")
    assert window.locator("tbody tr").count() == 3
    for box in window.locator("tbody input").all():
        box.check()
    with window.expect_download() as download:
        window.click("[formaction='/publish']")
    assert download.value.suggested_filename == "tasting.md"
    window.click("[formaction='/compare']")
    window.wait_for_url("**/compare?*")
    assert "acidity" in (window.text_content("main") or "")
    until_picture(window)
    assert complaints == []
    window.goto(address(page, "/?find=acidity+over"))
    assert window.locator("[role=alert]").count() == 1


def test_what_corrections_teach_is_learnt_when_the_taster_says_so(
    window: Page, page: ReviewPage, shelf_path: Path, complaints: list[str]
) -> None:
    from dictate.personal.store import load_words

    for number in (1, 2, 3):
        right = {"do": "amend", "path": "nose.aromas", "index": 1, "text": "saline"}
        assert send(page, number, revision=1, **right).status == 200
    window.goto(address(page, "/learning"))
    proposal = window.locator(".proposal", has_text="saline").first
    assert "sailing" in (proposal.text_content() or "")
    assert load_words() == ()
    proposal.get_by_role("button", name="Learn it").click()
    until(window, "document.querySelector('[role=status]').textContent.startsWith('Learnt: ')")
    assert [(word.term, word.heard_as) for word in load_words()] == [("saline", ("sailing",))]
    assert window.locator(".proposal", has_text="saline").count() == 0
    assert "aromas" in (window.text_content("table") or "")
    assert complaints == []


def until_picture(window: Page) -> None:
    end = time.monotonic() + 30
    while not window.evaluate("document.querySelector('figure img').naturalWidth > 0"):
        assert time.monotonic() < end
        window.wait_for_timeout(50)


STATES = {
    "/note/1": ["v.nose.aromas.1", "v.palate.acidity", "v.finish.seconds", ".add"],
    "/": [], "/?find=%28": [], "/compare?note=1&note=2": [], "/note/99": [],
    "/learning": [],
}  # fmt: skip


def states(window: Page, page: ReviewPage, *paths: str) -> Iterator[tuple[str, str]]:
    """The pages, and what is opened on them, one after the other."""
    for path in paths:
        window.goto(address(page, path))
        for click in ["", *STATES[path]]:
            if click:
                window.locator(click if click.startswith(".") else f'[id="{click}"]').first.click()
            yield path, click


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_nothing_scrolls_sideways(browser: Browser, page: ReviewPage, *, width: int, height: int) -> None:
    context = browser.new_context(viewport={"width": width, "height": height})
    window = opened(context, page, [])
    for state in states(window, page, *STATES):
        assert window.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0, state
    context.close()


@pytest.mark.parametrize(("width", "scheme"), [(360, "dark"), (1280, "light")])
def test_axe_finds_nothing_serious(browser: Browser, page: ReviewPage, *, width: int, scheme: Any) -> None:
    axe = axe_file()
    if axe is None:
        reason = "needs axe-core: npm install --no-save axe-core, or AXE_CORE=path of axe.min.js"
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)(reason)
    context = browser.new_context(
        bypass_csp=True, viewport={"width": width, "height": 800}, color_scheme=scheme
    )
    window = opened(context, page, [])
    for state in states(window, page, "/note/1", "/", "/compare?note=1&note=2"):
        if not window.evaluate("'axe' in window"):
            window.add_script_tag(path=axe)
        found = window.evaluate("axe.run(document)")["violations"]
        serious = [f"{v['id']}: {v['nodes'][0]['html']}" for v in found if v["impact"] != "minor"]
        assert serious == [], state
    context.close()
