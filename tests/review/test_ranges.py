"""Ranges as RFC 9110, section 14 has them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.review.ranges import asked_part

TAG = '"abc"'


@pytest.mark.parametrize(
    ("asked", "status", "span"),
    [  # the examples of section 14.1.2 for 10,000 bytes, and what section 14.2 and 15.5.17 say of others
        ("bytes=0-499", 206, (0, 500)), ("bytes=500-999", 206, (500, 1000)),
        ("bytes=-500", 206, (9500, 10000)), ("bytes=9500-", 206, (9500, 10000)),
        ("bytes=0-0", 206, (0, 1)), ("bytes=0-", 206, (0, 10000)), ("bytes=9999-20000", 206, (9999, 10000)),
        ("bytes=-20000", 206, (0, 10000)), ("Bytes=0-1", 206, (0, 2)), (" bytes=0-1 ", 206, (0, 2)),
        ("bytes=10000-", 416, (0, 0)), ("bytes=-0", 416, (0, 0)), ("bytes=99999-999999", 416, (0, 0)),
        (None, 200, (0, 10000)), ("", 200, (0, 10000)), ("bytes=", 200, (0, 10000)),
        ("bytes=-", 200, (0, 10000)), ("bytes=5-2", 200, (0, 10000)), ("lines=0-1", 200, (0, 10000)),
        ("bytes=0-1,5-6", 200, (0, 10000)), ("bytes=a-b", 200, (0, 10000)), ("bytes=0x1-2", 200, (0, 10000)),
        ("bytes=" + "9" * 40 + "-", 200, (0, 10000)), ("bytes=٣-٤", 200, (0, 10000)),
    ],
)  # fmt: skip
def test_a_range_asked_for(asked: str | None, status: int, span: tuple[int, int]) -> None:
    part = asked_part(asked, size=10000, tag=TAG)
    assert (part.status, (part.first, part.last)) == (status, span)


def test_the_header_that_tells_it() -> None:
    assert asked_part("bytes=0-499", size=10000, tag=TAG).content_range == "bytes 0-499/10000"
    assert asked_part("bytes=10000-", size=10000, tag=TAG).content_range == "bytes */10000"
    assert asked_part(None, size=10000, tag=TAG).content_range == ""


@pytest.mark.parametrize(
    ("if_range", "status"),
    [(TAG, 206), ('"abd"', 200), ('W/"abc"', 200), ("Sat, 28 Nov 2026 08:00:00 GMT", 200), ("", 200)],
)
def test_a_range_of_another_version_is_none(if_range: str, status: int) -> None:
    assert asked_part("bytes=0-1", size=10, tag=TAG, if_range=if_range).status == status


@given(st.text(max_size=30) | st.from_regex(r"bytes=\d{0,20}-\d{0,20}", fullmatch=True), st.integers(0, 50))
def test_whatever_is_asked_lies_within(asked: str, size: int) -> None:
    part = asked_part(asked, size=size, tag=TAG)
    assert 0 <= part.first <= part.last <= size
    assert part.status in (200, 206, 416)
    assert part.status != 206 or part.first < part.last
