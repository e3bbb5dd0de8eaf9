"""The review by voice: what was said goes to the window used last, which does it and says so. EDGE.

One thing said is done before the next is read, for what "that" means is what the window shows then. A window
asks `/voice/next` and waits there; it tells what it shows, what it has done, and when it plays.
"""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Callable
from functools import partial
from typing import Any, Final, Protocol

from pydantic import TypeAdapter
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from dictate.form import Vocabulary
from dictate.lexicon import load_table
from dictate.library import LibraryError
from dictate.note import Note
from dictate.pipeline import remark_in
from dictate.recognise.recogniser import HeardStretch
from dictate.review.api import Here, RequestError, Turn, as_asked, read_as
from dictate.review.corrected import Correction
from dictate.review.doubts import doubtful
from dictate.review.listening import Utterance
from dictate.review.requests import json_of, refused
from dictate.review.sheet import Value, sheet_of
from dictate.review.shelf import Shelf
from dictate.review.spoken import (
    OFF_RECORD,
    Command,
    SpokenTable,
    Understood,
    command_in,
    spoken_table,
    understood,
)
from dictate.review.windows import HOLD_S, Window, Windows
from dictate.settings import Settings

WAIT_S: Final = 5.0  # for a window, where none is open: another page may be on its way
DONE_S: Final = 30.0  # for a window to do what it was told
WHILE_PLAYING: Final = "not listened to while the note plays; say it again"
NOT_HEARD: Final = "could not be heard; say it again"
OFF: Final = "the microphone is off; start it with: dictate review --voice"
_HERE: Final = TypeAdapter(Here)
_TURN: Final = TypeAdapter(Turn)


class Listens(Protocol):
    """What hears, as far as the voice needs it: see `Listening`."""

    @property
    def name(self) -> str:
        """Of the microphone."""
        ...

    @property
    def seconds(self) -> float:
        """How much sound has come."""
        ...

    @property
    def is_on(self) -> bool:
        """Whether it listens."""
        ...

    @property
    def problem(self) -> str:
        """Why nothing is heard, or less well, one line; "" where all is well."""
        ...

    def turn(self, *, on: bool) -> None:
        """Listen or not."""
        ...

    def start(self, tell: Callable[[Utterance], None], changed: Callable[[], None]) -> None:
        """Begin; returns at once."""
        ...

    def stop(self) -> None:
        """No more."""
        ...


class Voice:
    """A microphone beside the page. Breath groups come in by `hear`, from any thread."""

    def __init__(self, listening: Listens, settings: Settings, *, hold_s: float = HOLD_S) -> None:
        """`hold_s`: how long a window's question is held."""
        self._settings, self._hold_s = settings, hold_s
        self.listening = listening
        self._windows = Windows(lambda: self.listening.seconds)
        self._table: SpokenTable = spoken_table(load_table("review"))
        self._said: asyncio.Queue[Utterance] = asyncio.Queue()
        self._done: set[int] = set()  # breath groups that the quick ear's words were enough for
        self._open: set[int] = set()  # ... and those that wait for the careful ear's
        self._number = 0
        self._loop: asyncio.AbstractEventLoop | None = None
        self._task: asyncio.Task[None] | None = None

    def join_loop(self, shelf: Shelf, known: Callable[[], Vocabulary]) -> None:
        """Begin, in the server's loop. `known`: what may be put into a note."""
        self._shelf, self._known = shelf, known
        self._loop = asyncio.get_running_loop()
        self._task = self._loop.create_task(self._work())
        self.listening.start(self.hear, self._changed)

    def close(self) -> None:
        """The questions of windows are answered, and nothing more is heard. From any thread."""
        self._in_loop(self._windows.close)
        self.listening.stop()

    def hear(self, utterance: Utterance) -> None:
        """Something was said. From any thread."""
        self._in_loop(partial(self._said.put_nowait, utterance))

    def _changed(self) -> None:
        self._in_loop(self._renew)

    def _renew(self) -> None:
        if not self.listening.is_on:
            self._open = set()  # what waited for the careful ear is dropped with it
        self._windows.tell_all()

    def _in_loop(self, call: Callable[[], object]) -> None:
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(call)

    async def _work(self) -> None:
        with contextlib.suppress(Exception):  # told with the first words that are said
            await asyncio.to_thread(self._warm)
        while True:
            utterance = await self._said.get()
            try:
                await self._hand(utterance)
            except Exception as error:  # what was said is told as not done, and the next is heard
                window = self._windows.last_used()
                if window is not None:
                    await self._tell(window, utterance, _unread(f"failed ({type(error).__name__})"))

    def _warm(self) -> None:
        """Words and rules are loaded before anything is said."""
        self._known()
        remark_in(HeardStretch(()), settings=self._settings)

    async def _hand(self, utterance: Utterance) -> None:
        """One breath group: none is done before those said before it are."""
        if utterance.number in self._done:
            self._done.discard(utterance.number)  # the careful ear's words of it are the last
        elif utterance.sure:
            self._wait_for({number for number in self._open if number > utterance.number})
            await self._hand_sure(utterance)
        elif min(self._open, default=utterance.number) < utterance.number or not await self._hand_quick(
            utterance
        ):
            self._wait_for({*self._open, utterance.number})

    def _wait_for(self, numbers: set[int]) -> None:
        """These wait for the careful ear; that something was heard is shown at once."""
        if numbers != self._open:
            self._open = numbers
            self._windows.tell_all()

    async def _hand_quick(self, utterance: Utterance) -> bool:
        """Whether this is a command that changes no note, and is done at once."""
        window = self._windows.last_used()
        if window is None or self._windows.played_during(utterance.stretch):
            return False
        text = " ".join(word.text for word in utterance.heard.words)
        command = command_in(text, self._table, values=_values(self._seen(window)))
        if command is None or command.do not in self._table.moves:
            return False
        self._done.add(utterance.number)
        await self._tell(window, utterance, self._message(command))
        return True

    async def _hand_sure(self, utterance: Utterance) -> None:
        """One breath group to the window that was used last; without any it is said to nobody."""
        window = await self._window()
        if window is None:
            return
        if self._windows.played_during(utterance.stretch):
            private = await asyncio.to_thread(self._is_private, utterance.heard)
            message = {"do": "nothing", "why": WHILE_PLAYING, "private": private}
        elif utterance.broken:
            message = _unread(NOT_HEARD)
        else:
            note, key = self._seen(window), window.here.key
            message = self._message(await asyncio.to_thread(self._understood, utterance.heard, note, key))
        await self._tell(window, utterance, message)

    def _understood(self, heard: HeardStretch, note: Note, key: str) -> Understood:
        values = _values(note)
        return understood(
            heard,
            note,
            values=values,
            looked=next((value for value in values if value.key == key), None),
            table=self._table,
            read=lambda words, before: remark_in(words, before=before, settings=self._settings),
            known=self._known(),
        )

    def _is_private(self, heard: HeardStretch) -> bool:
        return remark_in(heard, settings=self._settings).is_private

    def _message(self, found: Understood) -> dict[str, Any]:
        """What the window is to do."""
        if isinstance(found, Command):
            if found.do == "stop_listening":
                self.listening.turn(on=False)
            return {"do": found.do, "key": found.key}
        if isinstance(found, Correction):
            return {
                "do": "change", "changes": [as_asked(each) for each in found.changes],
                "why": "; ".join(found.refused),
            }  # fmt: skip
        if found.why == OFF_RECORD:
            self.listening.turn(on=False)
            return {"do": "stop_listening", "private": True}
        return {"do": "nothing", "why": found.why}

    async def _window(self) -> Window | None:
        """The one that was used last, once one is there."""
        for _ in range(round(WAIT_S / 0.05)):
            window = self._windows.last_used()
            if window is not None:
                return window
            await asyncio.sleep(0.05)
        return None

    def _seen(self, window: Window) -> Note:
        """The note as the window shows it. Raises LibraryError."""
        number, revision = window.here.note, window.here.revision
        try:
            return self._shelf.library.revision(str(number), revision)
        except LibraryError:
            return self._shelf.open(number).note

    async def _tell(self, window: Window, utterance: Utterance, message: dict[str, Any]) -> None:
        """Give it to the window, and wait until it is done."""
        self._number += 1
        private = message.pop("private", False)
        heard = "" if private else " ".join(word.text for word in utterance.heard.words)[:400]
        whole = {"key": "", "changes": [], "why": "", **message}
        self._windows.give(window, {"number": self._number, "heard": heard, **whole})
        end_s = asyncio.get_running_loop().time() + DONE_S
        while not window.has_done and window.is_open and asyncio.get_running_loop().time() < end_s:
            await asyncio.sleep(0.01)

    async def next(self, request: Request) -> Response:
        """A window tells what it shows, and is told what is new, at once or when there is something."""
        try:
            here = read_as(_HERE, await json_of(request))
        except RequestError as error:
            return refused(400, str(error))
        window = self._windows.comes(here)
        own = await self._windows.news(window, is_gone=request.is_disconnected, hold_s=self._hold_s)
        listening = self.listening
        news: dict[str, Any] = {"state": self._windows.state, "on": listening.is_on, "own": own}
        news["open"] = len(self._open)
        news |= {"microphone": listening.name, "problem": listening.problem}
        return JSONResponse({**news, "message": window.message if own and not window.has_done else None})

    async def listen(self, request: Request) -> Response:
        """Listening is turned on or off."""
        try:
            turn = read_as(_TURN, await json_of(request))
        except RequestError as error:
            return refused(400, str(error))
        self.listening.turn(on=turn.on)
        return JSONResponse({"on": self.listening.is_on})


def routes_of(voice: Voice | None) -> list[Route]:
    """The voice's routes; without one they say how it is had."""

    async def off(request: Request) -> Response:  # noqa: ARG001
        return refused(404, OFF)

    return [
        Route("/voice/next", voice.next if voice else off, methods=["POST"]),
        Route("/voice/listen", voice.listen if voice else off, methods=["POST"]),
    ]


def _unread(why: str) -> dict[str, Any]:
    """Told without the words: whether they were off the record was not asked."""
    return {"do": "nothing", "why": why, "private": True}


def _values(note: Note) -> list[Value]:
    sheet = sheet_of(note, doubtful(note))
    return [value for section in sheet.sections for line in section.lines for value in line.values]
