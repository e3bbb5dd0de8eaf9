"""Requests to the page, byte by byte where a client library would not send them."""

from __future__ import annotations

import http.client
import json
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

from dictate.board.web import WebView


@dataclass(frozen=True)
class Answer:
    """What came back."""

    status: int
    headers: dict[str, str]
    body: bytes


def port_of(view: WebView) -> int:
    """The page's port."""
    port = urlsplit(view.url).port
    assert port is not None
    return port


def link_path(view: WebView) -> str:
    """The link's path, which is the token."""
    return urlsplit(view.url).path


def ask(view: WebView, path: str, *, method: str = "GET", **headers: str) -> Answer:
    """One request; header names with "_" for "-"; `host` overrides the Host header."""
    connection = http.client.HTTPConnection("127.0.0.1", port_of(view), timeout=10)
    try:
        connection.putrequest(method, path, skip_host="host" in headers, skip_accept_encoding=True)
        for name, value in headers.items():
            connection.putheader(name.replace("_", "-"), value)
        connection.endheaders()
        answer = connection.getresponse()
        names = {name.lower(): value for name, value in answer.getheaders()}
        return Answer(answer.status, names, answer.read())
    finally:
        connection.close()


def cookie(view: WebView) -> str:
    """The cookie that the link gives."""
    return ask(view, link_path(view)).headers["set-cookie"].partition(";")[0]


@contextmanager
def open_stream(view: WebView, given: str | None = None) -> Iterator[socket.socket]:
    """A socket on which the events were asked for."""
    with socket.create_connection(("127.0.0.1", port_of(view)), timeout=10) as made:
        request = (
            f"GET /events HTTP/1.1\r\nHost: 127.0.0.1:{port_of(view)}\r\nCookie: {given or cookie(view)}"
        )
        made.sendall(f"{request}\r\n\r\n".encode())
        yield made


def events(stream: socket.socket) -> Iterator[dict[str, Any]]:
    """The boards that come, until the stream ends."""
    rest = b""
    while piece := stream.recv(65536):
        rest += piece
        *whole, rest = rest.split(b"\n\n")
        for event in whole:
            lines = [line for line in event.split(b"\n") if line.startswith(b"data: {")]
            if lines:
                yield json.loads(lines[0][6:])
