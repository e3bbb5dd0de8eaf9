"""The bench view as a local web page. EDGE.

A thread runs the server; `show` only leaves the newest board for it. Nobody but this computer is served
unless an address is given, and then only whoever has the link.
"""

from __future__ import annotations

import asyncio
import json
import socket
import threading
from importlib.resources import files
from typing import Final

import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import Receive, Scope, Send

from dictate.board.board import Board, as_json
from dictate.board.news import Latest, News
from dictate.localweb.guard import Guard, in_url, new_token, security_headers, who_can_see
from dictate.localweb.serving import SEND_S, Connection, Door, bound_socket, config_of, started

__all__ = ["BenchPageError", "WebView", "who_can_see"]

BEAT_S: Final = 4.0  # a sign of life when nothing changes; the page takes 3 missed ones for a lost connection
APART_S: Final = 0.05  # between two boards to one client
MAX_STREAMS: Final = 12
_TYPES = {"index.html": "text/html", "board.css": "text/css", "board.js": "text/javascript"}


class BenchPageError(Exception):
    """The page cannot be opened; the message is one line that says what to do."""


class _Stream:
    """Server-sent events, as ASGI: the newest board at once, then each change; a beat in between."""

    def __init__(self, news: News) -> None:
        self._news = news
        self.open = 0
        self.connections: set[object] = set()  # the server's, to drop one that is stuck

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if self.open >= MAX_STREAMS:
            await PlainTextResponse("Too many look at this page already.", 503)(scope, receive, send)
            return
        self.open += 1
        sending = asyncio.ensure_future(self._send_all(send))
        leaving = asyncio.ensure_future(_until_gone(receive))
        try:
            await asyncio.wait((sending, leaving), return_when=asyncio.FIRST_COMPLETED)
            if sending.done() and isinstance(sending.exception(), TimeoutError):
                self._abort(scope)
        finally:
            self.open -= 1
            for task in (sending, leaving):
                task.cancel()
            await asyncio.gather(sending, leaving, return_exceptions=True)

    async def _send_all(self, send: Send) -> None:
        headers = [(b"content-type", b"text/event-stream; charset=utf-8")]
        await _within(send, {"type": "http.response.start", "status": 200, "headers": headers})
        await _part(send, b"retry: 1000\n\n")
        seen = 0
        while True:
            changed = self._news.changed  # taken before looking, so that no change is slept through
            latest = self._news.latest()
            if latest.number != seen:
                seen = latest.number
                await _part(send, _event(latest))
                await asyncio.sleep(APART_S)
            elif latest.closed:
                await _within(send, {"type": "http.response.body", "body": b"event: end\ndata: \n\n"})
                return
            else:
                try:
                    async with asyncio.timeout(BEAT_S):
                        await changed.wait()
                except TimeoutError:
                    await _part(send, b"event: beat\ndata: \n\n")

    def _abort(self, scope: Scope) -> None:
        for connection in [*self.connections]:
            if isinstance(connection, Connection) and connection.client == tuple(scope["client"] or ()):
                connection.transport.abort()


async def _until_gone(receive: Receive) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass


async def _part(send: Send, body: bytes) -> None:
    await _within(send, {"type": "http.response.body", "body": body, "more_body": True})


async def _within(send: Send, message: dict[str, object]) -> None:
    async with asyncio.timeout(SEND_S):
        await send(message)


def _event(latest: Latest) -> bytes:
    shown = as_json(latest.board) if latest.board is not None else None
    return f"data: {json.dumps({'board': shown, 'age_s': round(latest.age_s, 4)})}\n\n".encode()


def _pages(guard: Guard, stream: _Stream) -> Starlette:
    folder = files("dictate.board") / "page"
    bodies = {name: (folder / name).read_bytes() for name in _TYPES}

    def file(name: str) -> Response:
        return Response(bodies[name], media_type=f"{_TYPES[name]}; charset=utf-8")

    async def page(request: Request) -> Response:
        answer = file("index.html")
        if request.scope.get("linked"):
            answer.headers["set-cookie"] = guard.set_cookie()
        return answer

    async def other(request: Request) -> Response:
        return file(request.url.path.lstrip("/"))

    async def icon(request: Request) -> Response:  # noqa: ARG001
        return Response(status_code=204)  # browsers ask by themselves

    return Starlette(
        routes=[
            Route("/", page, methods=["GET"]),
            Route("/board.css", other, methods=["GET"]),
            Route("/board.js", other, methods=["GET"]),
            Route("/favicon.ico", icon, methods=["GET"]),
            Route("/events", stream),
        ]
    )


class WebView:
    """The page. `address` and `port` to open it at (0: a free port); `name` is another name of this computer
    by which it may be called. Raises BenchPageError from `start` alone."""

    def __init__(self, *, address: str = "127.0.0.1", port: int = 0, name: str = "") -> None:
        self._address, self._port, self._name = address, port, name
        self._token = new_token()
        self._news = News()
        self._server: uvicorn.Server | None = None
        self._thread: threading.Thread | None = None

    @property
    def url(self) -> str:
        """The link, which holds the session's token. Known after `start`."""
        shown = self._name or in_url(self._address)
        if self._address in ("0.0.0.0", "::") and not self._name:
            shown = in_url(_own_address(self._address))
        return f"http://{shown}:{self._port}/{self._token}"

    def start(self) -> None:
        """Open the page; returns when it can be looked at."""
        bound = self._bind()
        self._port = bound.getsockname()[1]
        guard = Guard(token=self._token, address=self._address, port=self._port, name=self._name)
        stream = _Stream(self._news)
        config = config_of(Door(_pages(guard, stream), guard), security_headers())
        self._server = uvicorn.Server(config)
        stream.connections = self._server.server_state.connections  # type: ignore[assignment]
        self._thread = started(self._server, bound, name="board-web", first=self._news.join_loop)
        if self._thread is None:
            self.stop()
            raise BenchPageError("the bench page did not open; leave it out and use the terminal")

    def show(self, board: Board) -> None:
        """Show this board from now on. Thread-safe, returns at once."""
        self._news.put(board)

    def stop(self) -> None:
        """Close the page, the last board delivered to whoever is there. May be called twice."""
        self._news.close()
        server, thread = self._server, self._thread
        if server is None or thread is None:
            return
        thread.join(0.3)  # streams end by themselves
        server.should_exit = True
        thread.join(1.5)
        if thread.is_alive():  # a client that takes nothing
            server.force_exit = True
            self._news.in_loop(lambda: _abort_all(server))
            thread.join(2.0)
        self._server = self._thread = None

    def _bind(self) -> socket.socket:
        try:
            return bound_socket(self._address, self._port)
        except OSError as error:
            why = getattr(error, "strerror", None) or str(error)
            raise BenchPageError(
                f"the bench page cannot be opened at {self._address}, port {self._port} ({why}): give an "
                "address of this computer and a free port, or none"
            ) from error


def _abort_all(server: uvicorn.Server) -> None:
    for connection in [*server.server_state.connections]:
        if isinstance(connection, Connection):
            connection.transport.abort()


def _own_address(wildcard: str) -> str:
    """This computer's address on its network. Nothing is sent: a datagram socket only picks the way."""
    family, other = (socket.AF_INET6, "2001:db8::1") if wildcard == "::" else (socket.AF_INET, "192.0.2.1")
    try:
        with socket.socket(family, socket.SOCK_DGRAM) as probe:
            probe.connect((other, 9))
            return str(probe.getsockname()[0])
    except OSError:
        return "::1" if wildcard == "::" else "127.0.0.1"
