"""What the board's tests share: the browser, and a running page."""

from __future__ import annotations

import shutil
from collections.abc import Iterator

import pytest

from dictate.board.web import WebView
from tests.board.boards import board

CHROMIUM = shutil.which("chromium") or "/usr/bin/chromium"


@pytest.fixture
def view() -> Iterator[WebView]:
    """A running page that shows one board."""
    made = WebView()
    made.start()
    made.show(board())
    yield made
    made.stop()
