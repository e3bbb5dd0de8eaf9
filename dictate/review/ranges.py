"""Which bytes a player asks for, by RFC 9110, section 14. Pure."""

from __future__ import annotations

import re
from dataclasses import dataclass

_ONE = re.compile(r"bytes=\s*(\d{0,18})\s*-\s*(\d{0,18})\s*", re.ASCII | re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Part:
    """Bytes [first, last) of `size`, and the status to answer with: 200 all, 206 a part, 416 none there."""

    first: int
    last: int
    size: int
    status: int

    @property
    def content_range(self) -> str:
        """The header's value, "" for the whole."""
        if self.status == 200:
            return ""
        span = f"{self.first}-{self.last - 1}" if self.status == 206 else "*"
        return f"bytes {span}/{self.size}"


def asked_part(asked: str | None, *, size: int, tag: str, if_range: str | None = None) -> Part:
    """The part that a Range header asks for. What is no range of bytes is passed over, and so are several
    at once and a range of another version than `tag` (an entity tag with its quotation marks), as the RFC
    allows and demands: the whole is sent."""
    whole = Part(0, size, size, 200)
    found = _ONE.fullmatch(asked.strip()) if asked else None
    if found is None or (if_range is not None and if_range.strip() != tag):
        return whole
    first, last = found.groups()
    if first:
        if last and int(last) < int(first):
            return whole  # no valid range
        start, end = int(first), min(int(last) + 1, size) if last else size
    elif last:
        start, end = max(0, size - int(last)), size
        if int(last) == 0:
            return Part(0, 0, size, 416)
    else:
        return whole
    return Part(start, end, size, 206) if start < size else Part(0, 0, size, 416)
