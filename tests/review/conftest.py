"""What the review's tests share: a library with notes, and its page."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from dictate.library import Library
from dictate.review.server import ReviewPage
from tests.review.made import made, recording


@pytest.fixture
def shelf_path(tmp_path: Path) -> Path:
    """A library of three notes; the first has a recording."""
    path = tmp_path / "library.sqlite"
    with Library.open(path) as library:
        library.add_all([made(recording(tmp_path)), made(number=2), made(number=3)])
    return path


@pytest.fixture
def page(shelf_path: Path, tmp_path: Path) -> Iterator[ReviewPage]:
    """Its running page."""
    made_page = ReviewPage(shelf_path, cache=tmp_path / "cache")
    made_page.start()
    yield made_page
    made_page.stop()
