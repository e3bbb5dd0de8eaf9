"""What the board's tests share: a running page."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from dictate.board.web import WebView
from tests.board.boards import board


@pytest.fixture
def view() -> Iterator[WebView]:
    """A running page that shows one board."""
    made = WebView()
    made.start()
    made.show(board())
    yield made
    made.stop()
