"""What the board's tests share: the marker of tests that drive a real browser, and a running page."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator

import pytest

from dictate.board.web import WebView
from tests.board.boards import board

CHROMIUM = shutil.which("chromium") or "/usr/bin/chromium"


def why_no_browser() -> str | None:
    """Why tests marked `browser` cannot run here, or None."""
    if not shutil.which(CHROMIUM):
        return "needs a browser: apt-get install chromium"
    try:
        import playwright.sync_api  # noqa: F401
    except ImportError:
        return "needs Playwright: pip install playwright"
    return None


def pytest_runtest_setup(item: pytest.Item) -> None:
    if item.get_closest_marker("browser") and (reason := why_no_browser()):
        if os.environ.get("CI") == "true":
            pytest.fail(f"in CI nothing is skipped: {reason}", pytrace=False)
        pytest.skip(reason)


@pytest.fixture
def view() -> Iterator[WebView]:
    """A running page that shows one board."""
    made = WebView()
    made.start()
    made.show(board())
    yield made
    made.stop()
