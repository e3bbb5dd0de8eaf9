"""The page in a real browser: the clock counts, the text arrives, nothing scrolls sideways.

axe-core, the judge of accessibility, is read from $AXE_CORE, node_modules or a Python package that ships it.
"""

from __future__ import annotations

import os
import time
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from dictate.board.board import Changed, Clock
from dictate.board.web import WebView
from tests.board.boards import board, of, red

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser
ROOT = Path(__file__).parents[2]
CHANGED = (Changed("mouth acidity", "5", "7.5"), Changed("nose aromas", "violet", ""))
SIZES = [(360, 740), (1280, 800), (1920, 1080)]


def axe_file() -> Path | None:
    """Where axe-core is."""
    package = find_spec("axe_playwright_python")
    places = [
        Path(os.environ.get("AXE_CORE", "/nowhere")),
        ROOT / "node_modules/axe-core/axe.min.js",
        *(Path(p) / "axe.min.js" for p in (package.submodule_search_locations or () if package else ())),
    ]
    return next((place for place in places if place.is_file()), None)


@pytest.fixture
def complaints() -> list[str]:
    """What the browser's console complains of."""
    return []


def opened(browser: Browser, view: WebView, complaints: list[str], **more: Any) -> Page:
    """A new window that has been sent to the link."""
    page = browser.new_page(**more)
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto(view.url)
    until(page, "document.body.dataset.mode !== 'waiting'")
    return page


def until(page: Page, true: str) -> None:
    """Wait until this is true in the page. Playwright's own way needs eval, which the page forbids."""
    end = time.monotonic() + 20
    while not page.evaluate(true):
        assert time.monotonic() < end, f"never came true: {true}"
        page.wait_for_timeout(20)


def figures(page: Page) -> float:
    return float(page.text_content("#figures") or "")


def sideways(page: Page) -> int:
    wide: int = page.evaluate("document.documentElement.scrollWidth - innerWidth")
    return wide


@pytest.mark.parametrize(("width", "height"), SIZES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_clock_counts_and_the_text_arrives(
    browser: Browser, view: WebView, complaints: list[str], *, width: int, height: int, scheme: Any
) -> None:
    page = opened(browser, view, complaints, viewport={"width": width, "height": height}, color_scheme=scheme)
    view.show(board(at_s=110.0, clock=Clock("running", since_s=100.0)))
    shown_s = time.monotonic()
    until(page, "document.querySelector('#figures').textContent.startsWith('1')")
    page.wait_for_timeout(1500)
    assert figures(page) == pytest.approx(
        10 + time.monotonic() - shown_s, abs=1.0
    )  # a busy machine may be late
    assert "pencil shavings" in (page.text_content("#rows") or "")
    assert page.text_content("#heard") == "“spitting now”"
    assert page.locator(".row.here dt").text_content() == "after (now)"
    assert [x.text_content() for x in page.locator(".missing li").all()] == [
        "grip", "sugar", "warmth", "how good",
    ]  # fmt: skip
    view.show(board(clock=Clock("stopped", seconds=13.42), ask_missing=True))
    until(page, "document.querySelector('#figures').textContent === '13.42'")
    assert page.is_visible("#asked")
    assert sideways(page) <= 0
    view.show(board(title="x" * 300, last_heard="y" * 200, problem="z " * 80))
    until(page, "document.querySelector('#problem').textContent !== ''")
    assert sideways(page) <= 0
    view.show(board(mode="paused", changed=(Changed("x" * 100, "y" * 100, "z " * 50),), notice="n" * 200))
    until(page, "document.body.dataset.mode === 'paused'")
    assert sideways(page) <= 0
    assert complaints == []
    page.close()


@pytest.mark.parametrize(("width", "height"), SIZES[1:])
def test_on_a_tablet_all_is_on_one_screen(
    browser: Browser, view: WebView, complaints: list[str], *, width: int, height: int
) -> None:
    page = opened(browser, view, complaints, viewport={"width": width, "height": height})
    bare = of(red().model_copy(update={"appearance": type(red().appearance)()}), problem="Plug it in.")
    for made in (
        board(), board(problem="The disk is full: free some space."), bare, board(ask_missing=True),
        board(mode="paused"), board(changed=CHANGED), board(mode="catching_up", to_hear=120),
    ):  # fmt: skip
        view.show(made)
        page.wait_for_timeout(300)
        assert page.evaluate("document.documentElement.scrollHeight - innerHeight") <= 0
        last = page.locator(".row").last.bounding_box()
        assert last is not None
        assert last["y"] + last["height"] <= height
        assert page.evaluate("parseFloat(getComputedStyle(document.querySelector('.row dd')).fontSize)") >= 20
    page.close()


def test_paused_is_to_be_read_from_afar_and_goes_again(
    browser: Browser, view: WebView, complaints: list[str]
) -> None:
    page = opened(browser, view, complaints, viewport={"width": 1280, "height": 800})
    assert not page.is_visible("#paused")
    view.show(board(mode="paused"))
    until(page, "document.body.dataset.mode === 'paused'")
    assert page.is_visible("#paused")
    size = page.evaluate("parseFloat(getComputedStyle(document.querySelector('#paused strong')).fontSize)")
    assert size >= 100  # pixels; the rows have 40
    assert "resume the notes" in (page.text_content("#paused") or "")
    view.show(board())
    until(page, "document.body.dataset.mode === 'listening'")
    assert not page.is_visible("#paused")
    assert complaints == []
    page.close()


def test_what_a_correction_changed_is_seen_and_goes_again(
    browser: Browser, view: WebView, complaints: list[str]
) -> None:
    page = opened(browser, view, complaints)
    view.show(board(changed=CHANGED, notice="The pause is over: next wine."))
    until(page, "document.querySelectorAll('#changed li').length === 2")
    assert [x.text_content() for x in page.locator("#changed li").all()] == [
        "mouth acidity: 5 → 7.5", "nose aromas: violet → nothing",
    ]  # fmt: skip
    assert page.text_content("#notice") == "The pause is over: next wine."
    view.show(board())
    until(page, "document.querySelectorAll('#changed li').length === 0")
    assert page.text_content("#notice") == ""
    assert complaints == []
    page.close()


def test_a_clock_that_has_ended_stands_still_and_an_unsure_one_says_so(
    browser: Browser, view: WebView, complaints: list[str]
) -> None:
    page = opened(browser, view, complaints)
    view.show(board(mode="ended", at_s=107.04))
    until(page, "document.body.dataset.mode === 'ended'")
    page.wait_for_timeout(500)
    assert page.text_content("#figures") == "7.0"
    view.show(board(clock=Clock("stopped", seconds=13.42, sure=False)))
    until(page, "document.querySelector('#figures').textContent === '13.4'")
    assert "not yet checked" in (page.text_content("#caption") or "")
    page.close()


def test_private_words_are_taken_off_the_page(browser: Browser, view: WebView, complaints: list[str]) -> None:
    page = opened(browser, view, complaints)
    assert page.text_content("#heard") == "“spitting now”"
    view.show(board(mode="private", last_heard="SECRET"))
    until(page, "document.querySelector('#mode').textContent === 'off the record'")
    assert page.text_content("#heard") == ""
    assert "SECRET" not in page.content()
    page.close()


def test_what_was_said_is_never_markup(browser: Browser, view: WebView, complaints: list[str]) -> None:
    page = opened(browser, view, complaints)
    evil = "<img src=x onerror=alert(1)><script>alert(2)</script>"
    view.show(replace(board(), title=evil, last_heard=evil, problem=evil, filled=(("eye", (evil,)),)))
    until(page, "document.querySelector('#problem').textContent !== ''")
    assert page.text_content("#title") == evil
    assert page.locator("img, script:not([src])").count() == 0
    assert complaints == []
    page.close()


def test_the_key_leaves_the_address_line_and_the_page_can_be_loaded_again(
    browser: Browser, view: WebView, complaints: list[str]
) -> None:
    page = opened(browser, view, complaints)
    assert view.url.rpartition("/")[2] not in page.url
    page.reload()
    until(page, "document.body.dataset.mode === 'listening'")
    assert page.evaluate("document.cookie") == ""  # scripts do not see the key
    page.close()


def test_a_lost_connection_is_told_and_comes_back_by_itself(
    browser: Browser, view: WebView, complaints: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    page = opened(browser, view, complaints)
    assert page.text_content("#lost") == ""
    page.context.set_offline(True)
    server = view._server
    assert server is not None
    for connection in [*server.server_state.connections]:  # the network is gone
        view._news.in_loop(connection.transport.abort)  # type: ignore[union-attr]
    until(page, "document.querySelector('#lost').textContent.startsWith('Connection lost')")
    view.show(board(title="While away"))
    page.context.set_offline(False)
    until(page, "document.querySelector('#title').textContent === 'While away'")
    assert page.text_content("#lost") == ""
    page.close()


def test_the_end_is_no_lost_connection(browser: Browser, view: WebView, complaints: list[str]) -> None:
    page = opened(browser, view, complaints)
    view.show(board(mode="ended"))
    view.stop()
    until(page, "document.querySelector('#mode').textContent === 'ended'")
    page.wait_for_timeout(500)
    assert page.text_content("#lost") == ""
    page.close()


@pytest.mark.parametrize(("width", "height"), SIZES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_serious(
    browser: Browser, view: WebView, complaints: list[str], *, width: int, height: int, scheme: Any
) -> None:
    axe = axe_file()
    if axe is None:
        reason = "needs axe-core: npm install --no-save axe-core, or AXE_CORE=path of axe.min.js"
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)(reason)
    context = browser.new_context(
        bypass_csp=True, viewport={"width": width, "height": height}, color_scheme=scheme
    )
    page = context.new_page()
    page.goto(view.url)
    until(page, "document.body.dataset.mode === 'listening'")
    page.add_script_tag(path=axe)
    for made in (
        board(),
        board(ask_missing=True, clock=Clock("stopped", seconds=13.42, sure=False), problem="Plug it in."),
        board(mode="private", clock=Clock()),
        board(mode="paused", changed=CHANGED, notice="The pause is over."),
        of(None, number=0),
    ):
        view.show(made)
        page.wait_for_timeout(300)
        found = page.evaluate("axe.run(document)")["violations"]
        serious = [f"{v['id']}: {v['nodes'][0]['html']}" for v in found if v["impact"] != "minor"]
        assert serious == []
    context.close()
