"""A page's server: its connections, the guard before it, and the thread it runs in. EDGE."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import socket
import threading
from collections.abc import Callable, Sequence
from typing import Final

import uvicorn
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Receive, Scope, Send
from uvicorn.protocols.http.h11_impl import H11Protocol

from dictate.localweb.guard import Guard

SEND_S: Final = 15.0  # a client that takes nothing for so long is dropped
FIRST_S: Final = 10.0  # a connection has to ask for something within
MAX_CONNECTIONS: Final = 64  # of the program's open files, no more may go to visitors
START_S: Final = 10.0


class Connection(H11Protocol):
    """A connection that is given up when it is one too many or asks for nothing."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Counts it, and drops it soon where nothing comes."""
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
        """Stops waiting for it."""
        if self._silent is not None:
            self._silent.cancel()
        super().connection_lost(exc)

    def _drop_if_silent(self) -> None:
        if getattr(self, "cycle", None) is None:  # no request came to an end
            self.transport.abort()


class Door:
    """The guard before the page, as ASGI. A scope that came by the link says `linked`."""

    def __init__(self, app: ASGIApp, guard: Guard) -> None:
        self._app, self._guard = app, guard

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Lets a request in or tells why not."""
        if scope["type"] != "http":
            return
        path, query = scope["path"], scope["query_string"]
        linked = self._guard.has_token(path, query)
        refusal = self._guard.refusal(
            scope["method"], path, headers=scope["headers"], query=query, first=linked or path == "/"
        )
        if refusal is not None:
            more = {"allow": ", ".join(self._guard.methods)} if refusal.status == 405 else {}
            # what a refused client goes on to send is not read
            answer = PlainTextResponse(refusal.text, refusal.status, {**more, "connection": "close"})
            await answer(scope, receive, send)
            return
        if linked:
            scope = {**scope, "path": "/", "raw_path": b"/", "query_string": b"", "linked": True}
        await self._app(scope, receive, send)


def config_of(app: ASGIApp, headers: Sequence[tuple[str, str]]) -> uvicorn.Config:
    """How a page is served: quietly, without a word of who serves it."""
    return uvicorn.Config(
        app,
        loop="asyncio",
        http=Connection,
        ws="none",
        lifespan="off",
        log_config=None,
        log_level=logging.CRITICAL,  # a log line would go over the board in the terminal
        access_log=False,
        proxy_headers=False,
        server_header=False,
        date_header=False,
        headers=list(headers),
        h11_max_incomplete_event_size=16384,
        timeout_graceful_shutdown=1,
    )


def bound_socket(address: str, port: int) -> socket.socket:
    """A socket that listens there (port 0: a free one). Raises OSError."""
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    try:
        return socket.create_server((address, port), family=family, backlog=32)
    except (OverflowError, UnicodeError) as error:
        raise OSError(None, str(error)) from error


def started(
    server: uvicorn.Server,
    bound: socket.socket,
    *,
    name: str,
    first: Callable[[], None] = lambda: None,
    last: Callable[[], None] = lambda: None,
) -> threading.Thread | None:
    """Run a server in a thread of this name; `first` runs in it before, `last` behind. Returns when the page
    can be looked at; None where it did not open in time."""
    ready = threading.Event()

    def run() -> None:
        try:
            asyncio.run(_serve(server, bound, ready=ready, first=first))
        finally:
            last()
            bound.close()
            ready.set()

    thread = threading.Thread(target=run, name=name, daemon=True)
    thread.start()
    if ready.wait(START_S) and server.started:
        return thread
    server.should_exit = True
    return None


async def _serve(
    server: uvicorn.Server, bound: socket.socket, *, ready: threading.Event, first: Callable[[], None]
) -> None:
    first()
    task = asyncio.ensure_future(server.serve(sockets=[bound]))
    while not server.started and not task.done():
        await asyncio.sleep(0.005)
    ready.set()
    await task
