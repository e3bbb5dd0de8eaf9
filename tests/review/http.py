"""Requests to the review's page, byte by byte."""

from __future__ import annotations

import http.client
import json
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

from dictate.review.server import ReviewPage


@dataclass(frozen=True)
class Answer:
    """What came back."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def json(self) -> Any:
        """The body read."""
        return json.loads(self.body)


def port_of(page: ReviewPage) -> int:
    """The page's port."""
    port = urlsplit(page.url).port
    assert port is not None
    return port


def ask(page: ReviewPage, path: str, *, method: str = "GET", body: bytes = b"", **headers: str) -> Answer:
    """One request; header names with "_" for "-"; `host` overrides the Host header."""
    connection = http.client.HTTPConnection("127.0.0.1", port_of(page), timeout=20)
    try:
        connection.putrequest(method, path, skip_host="host" in headers, skip_accept_encoding=True)
        for name, value in headers.items():
            connection.putheader(name.replace("_", "-"), value)
        if body:
            connection.putheader("content-length", str(len(body)))
        connection.endheaders(body or None)
        answer = connection.getresponse()
        names = {name.lower(): value for name, value in answer.getheaders()}
        return Answer(answer.status, names, answer.read())
    finally:
        connection.close()


def cookie(page: ReviewPage) -> str:
    """The cookie that the link gives."""
    return ask(page, urlsplit(page.url).path).headers["set-cookie"].partition(";")[0]


def get(page: ReviewPage, path: str, **headers: str) -> Answer:
    """As the page's own script asks."""
    return ask(page, path, cookie=cookie(page), **headers)


def change_of(change: dict[str, Any], *, revision: int, said: str = "") -> dict[str, Any]:
    """One change, or an undo, as a request's body."""
    if change["do"] == "undo":
        return {"do": "undo", "revision": revision}
    return {"do": "change", "revision": revision, "changes": [change], "said": said}


def send(page: ReviewPage, number: int, *, revision: int, said: str = "", **change: Any) -> Answer:
    """A change, as the page's own script sends it."""
    return post(page, f"/note/{number}/change", change_of(change, revision=revision, said=said))


def post(page: ReviewPage, path: str, body: Any) -> Answer:
    """Anything as JSON, as the page's own script sends it."""
    return ask(
        page,
        path,
        method="POST",
        body=json.dumps(body).encode(),
        cookie=cookie(page),
        content_type="application/json",
        origin=f"http://127.0.0.1:{port_of(page)}",
    )
