"""The bench view as a local web page. EDGE.

A thread runs the server; `show` only leaves the newest board for it. Nobody but this computer is served
unless an address is given, and then only whoever has the link.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import logging
import socket
import threading
from importlib.resources import files
from typing import Final

import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp, Receive, Scope, Send
from uvicorn.protocols.http.h11_impl import H11Protocol

from dictate.board.board import Board, as_json
from dictate.board.guard import SECURITY_HEADERS, Guard, in_url, new_token, who_can_see
from dictate.board.news import Latest, News

__all__ = ["BenchPageError", "WebView", "who_can_see"]

BEAT_S: Final = 4.0  # a sign of life when nothing changes; the page takes 3 missed ones for a lost connection
APART_S: Final = 0.05  # between two boards to one client
SEND_S: Final = 15.0  # a client that takes nothing for so long is dropped
FIRST_S: Final = 10.0  # a connection has to ask for something within
MAX_STREAMS: Final = 12
MAX_CONNECTIONS: Final = 64  # of the recorder's open files, no more may go to visitors
START_S: Final = 10.0
_TYPES = {"index.html": "text/html", "board.css": "text/css", "board.js": "text/javascript"}


class BenchPageError(Exception):
    """The page cannot be opened; the message is one line that says what to do."""


class _Connection(H11Protocol):
    """A connection that is given up when it is one too many or asks for nothing."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._silent: asyncio.TimerHandle | None = None
        if len(self.connections) > MAX_CONNECTIONS:
            transport.abort()
            return
        self._silent = self.loop.call_later(FIRST_S, self._drop_if_silent)
        own = transport.get_extra_info("socket")
        if own is not None and hasattr(socket, "TCP_USER_TIMEOUT"):  # a tablet that left the network
            with contextlib.suppress(OSError):
                own.setsockopt(socket.IPPROTO_TCP, socket.TCP_USER_TIMEOUT, int(SEND_S * 1000))

    def connection_lost(self, exc: Exception | None) -> None:
        if self._silent is not None:
            self._silent.cancel()
        super().connection_lost(exc)

    def _drop_if_silent(self) -> None:
        if getattr(self, "cycle", None) is None:  # no request came to an end
            self.transport.abort()


class _Door:
    """The guard before the page, as ASGI."""

    def __init__(self, app: ASGIApp, guard: Guard) -> None:
        self._app, self._guard = app, guard

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            return
        path, query = scope["path"], scope["query_string"]
        linked = self._guard.has_token(path, query)
        refusal = self._guard.refusal(
            scope["method"], path, headers=scope["headers"], query=query, first=linked or path == "/"
        )
        if refusal is not None:
            more = {"allow": "GET"} if refusal.status == 405 else {}
            # what a refused client goes on to send is not read
            answer = PlainTextResponse(refusal.text, refusal.status, {**more, "connection": "close"})
            await answer(scope, receive, send)
            return
        if linked:
            scope = {**scope, "path": "/", "raw_path": b"/", "bench_linked": True}
        await self._app(scope, receive, send)


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
            if isinstance(connection, _Connection) and connection.client == tuple(scope["client"] or ()):
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
        if request.scope.get("bench_linked"):
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
        config = uvicorn.Config(
            _Door(_pages(guard, stream), guard),
            loop="asyncio",
            http=_Connection,
            ws="none",
            lifespan="off",
            log_config=None,
            log_level=logging.CRITICAL,  # a log line would go over the board in the terminal
            access_log=False,
            proxy_headers=False,
            server_header=False,
            date_header=False,
            headers=list(SECURITY_HEADERS),
            h11_max_incomplete_event_size=16384,
            timeout_graceful_shutdown=1,
        )
        self._server = uvicorn.Server(config)
        stream.connections = self._server.server_state.connections  # type: ignore[assignment]
        ready = threading.Event()
        self._thread = threading.Thread(
            target=self._run, args=(self._server, bound, ready), name="board-web", daemon=True
        )
        self._thread.start()
        if not ready.wait(START_S) or not self._server.started:
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
        family = socket.AF_INET6 if ":" in self._address else socket.AF_INET
        try:
            return socket.create_server((self._address, self._port), family=family, backlog=32)
        except (OSError, OverflowError, UnicodeError) as error:
            why = getattr(error, "strerror", None) or str(error)
            raise BenchPageError(
                f"the bench page cannot be opened at {self._address}, port {self._port} ({why}): give an "
                "address of this computer and a free port, or none"
            ) from error

    def _run(self, server: uvicorn.Server, bound: socket.socket, ready: threading.Event) -> None:
        async def serve() -> None:
            self._news.join_loop()
            task = asyncio.ensure_future(server.serve(sockets=[bound]))
            while not server.started and not task.done():
                await asyncio.sleep(0.005)
            ready.set()
            await task

        try:
            asyncio.run(serve())
        finally:
            bound.close()
            ready.set()


def _abort_all(server: uvicorn.Server) -> None:
    for connection in [*server.server_state.connections]:
        if isinstance(connection, _Connection):
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
