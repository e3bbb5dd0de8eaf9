"""What the page's routes share: a request's body, its numbers, an answer that tells what is wrong. EDGE."""

from __future__ import annotations

from typing import Final

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

MOST_BYTES: Final = 16384  # of a change


async def body_of(request: Request) -> bytes:
    """The body. Raises HTTPException where it is longer than any change."""
    body = b""
    async for part in request.stream():
        body += part
        if len(body) > MOST_BYTES:
            raise HTTPException(413, "what is sent is longer than any change")
    return body


async def json_of(request: Request) -> bytes:
    """The body of a request that says it is JSON: no form of another page can. Raises HTTPException."""
    if request.headers.get("content-type", "").partition(";")[0].strip().lower() != "application/json":
        raise HTTPException(415, "send JSON")
    return await body_of(request)


def whole(text: str) -> int | None:
    """A whole number of at most ten figures, None where it is none."""
    return int(text) if text.isascii() and text.isdigit() and len(text) <= 10 else None


def number_in(request: Request) -> int:
    """The note's number in the address. Raises HTTPException."""
    found = whole(request.path_params["number"])
    if found is None:
        raise HTTPException(404, "there is no such note")
    return found


def refused(status: int, error: str) -> Response:
    """An answer that says in one line what is wrong."""
    return JSONResponse({"error": error}, status)
