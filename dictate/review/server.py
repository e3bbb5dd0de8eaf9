"""`dictate review`'s page: routes, answers, and the server that gives them. EDGE."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Sequence
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Final
from urllib.parse import parse_qs

import numpy as np
import uvicorn
from pydantic import ValidationError
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response, StreamingResponse
from starlette.routing import Route

from dictate.audio.errors import SourceError
from dictate.cues.onset import find_onset
from dictate.export import file_name
from dictate.find import QueryError
from dictate.form import AmendError, Vocabulary
from dictate.handout import ENDINGS, handout
from dictate.lexicon import load_lexicon
from dictate.lexicon.entries import Lexicon
from dictate.library import LibraryError
from dictate.localweb.guard import Guard, in_url, new_token, security_headers
from dictate.localweb.serving import Door, bound_socket, config_of, started
from dictate.note import Note
from dictate.personal.entries import personal_entries
from dictate.personal.store import load_words
from dictate.personal.words import WordsError
from dictate.pipeline import sounds_of
from dictate.review import views
from dictate.review.api import RequestError, openapi, read_change
from dictate.review.learning import decide, taught
from dictate.review.ranges import asked_part
from dictate.review.requests import body_of, json_of, number_in, refused, whole
from dictate.review.shelf import ConflictError, Open, Shelf
from dictate.review.sound import RATE, Sounds
from dictate.review.voice import Voice, routes_of
from dictate.review.words import Completions

ADDRESS: Final = "127.0.0.1"
_CHUNK: Final = 1 << 18
_MOST_NOTES: Final = 200  # beside each other, or handed on at once
_SCRIPTS: Final = ("here", "note", "sound", "panel", "onsets", "words", "voice")
_FILES: Final = {"review.css": "text/css", **{f"{name}.js": "text/javascript" for name in _SCRIPTS}}
_MEDIA: Final = {
    "markdown": "text/markdown", "html": "text/html", "pdf": "application/pdf", "csv": "text/csv",
    "json": "application/json",
}  # fmt: skip
_TOLD: Final = (HTTPException, LibraryError, SourceError, WordsError, OSError, Exception)
Handler = Callable[[Request], Awaitable[Response]]


class ReviewError(Exception):
    """The page cannot be opened; the message is one line that says what to do."""


@lru_cache(maxsize=1)
def _lexicon() -> Lexicon:
    """The lexicon with the taster's own words."""
    return load_lexicon().with_entries(personal_entries(load_words(), ()))


@lru_cache(maxsize=1)
def _vocabulary() -> Vocabulary:
    """What may be put into a note."""
    from dictate.vocabulary import vocabulary_of

    return vocabulary_of(_lexicon())


@lru_cache(maxsize=1)
def _completions() -> Completions:
    """The same by spelling and by sound; takes a second."""
    return Completions(_vocabulary(), sounds_of(_lexicon()))


class _Answers:
    """What each route answers. All but sound, pictures and words runs in the server's own thread."""

    def __init__(self, shelf: Shelf, sounds: Sounds, *, voice: bool) -> None:
        self._shelf, self._sounds, self._voice = shelf, sounds, voice
        self._drawing = asyncio.Lock()

    async def library(self, request: Request) -> Response:
        """The library, found by the words of `dictate find`."""
        asked, by = request.query_params.get("find", "")[:500], request.query_params.get("by", "added")
        page = request.query_params.get("page", "1")
        try:
            made = views.library_page(
                self._shelf, asked=asked, by=by, page=min(max(1, whole(page) or 1), 100_000)
            )
        except QueryError as error:
            return HTMLResponse(views.empty_page(asked, by="added", problem=str(error)), 400)
        return HTMLResponse(made)

    async def first(self, request: Request) -> Response:
        """What the link opens: the first of the notes asked for, else the library."""
        asked = self._shelf.asked
        if not asked:
            return await self.library(request)
        return HTMLResponse(self._page(self._shelf.open(asked[0])))

    async def note(self, request: Request) -> Response:
        """One note; with `?changed` what a change may have changed of its page."""
        changed = "changed" in request.query_params
        return HTMLResponse(self._page(self._opened(request), changed=changed))

    def _page(self, opened: Open, *, changed: bool = False) -> str:
        return views.note_page(self._shelf, opened, changed=changed, voice=self._voice)

    async def following(self, request: Request) -> Response:
        """The next note that nobody has accepted; without one the library."""
        after = self._shelf.following(number_in(request))
        return RedirectResponse("/" if after is None else f"/note/{after}", 303)

    async def change(self, request: Request) -> Response:
        """A change, or an undo."""
        try:
            asked = read_change(await json_of(request))
            number = self._opened(request).number
            if not asked.changes:
                saved = self._shelf.undo(number, revision=asked.revision)
            else:
                known = await asyncio.to_thread(_vocabulary)
                saved = self._shelf.change(
                    number, asked.changes, revision=asked.revision, known=known, said=asked.said
                )
        except ConflictError as error:
            return JSONResponse({"error": str(error), "theirs": [*error.theirs]}, 409)
        except (RequestError, AmendError, ValidationError) as error:
            return refused(400, str(error).partition("\n")[0])
        return JSONResponse(
            {"revision": saved.now.revision, "told": [*saved.told], "meanwhile": [*saved.meanwhile]}
        )

    async def peaks(self, request: Request) -> Response:
        """The strip's wave: a byte each 5 ms."""
        path, note = self._sounding(request)
        made = await self._sounds.peaks(path, note.sha256, part=(note.start_s, note.end_s))
        return Response(made, media_type="application/octet-stream")

    async def sound(self, request: Request) -> Response:
        """The note's part of its recording, as a WAV, in the ranges asked for."""
        path, note = self._sounding(request)
        wave = await self._sounds.wave(path, note.sha256, part=(note.start_s, note.end_s))
        asked = request.headers.get("range"), request.headers.get("if-range")
        part = asked_part(asked[0], size=wave.size, tag=wave.tag, if_range=asked[1])
        headers = {"accept-ranges": "bytes", "etag": wave.tag, "content-length": str(part.last - part.first)}
        if part.content_range:
            headers["content-range"] = part.content_range
        cuts = range(part.first, part.last, _CHUNK)
        body = (wave.part(first, min(first + _CHUNK, part.last)) for first in cuts)
        return StreamingResponse(body, part.status, headers, media_type="audio/wav")

    async def onset(self, request: Request) -> Response:
        """Where a sound rises near a moment: what `find_onset` says of the samples."""
        path, note = self._sounding(request)
        try:
            near = float(request.query_params.get("near", ""))
        except ValueError:
            return refused(400, "near: seconds of the recording are wanted")
        if not note.start_s <= near <= note.end_s:
            return refused(400, "near: a moment of this note is wanted")
        samples = await self._sounds.samples(path, note.sha256)
        found = await asyncio.to_thread(_onset, samples, near)
        return JSONResponse({"onset_s": round(found[0], 3), "confidence": round(found[1], 3)})

    async def words(self, request: Request) -> Response:
        """Terms that complete what is typed."""
        path, text = request.query_params.get("path", ""), request.query_params.get("text", "")
        if len(text) > 80 or len(path) > 60:
            return refused(400, "text: at most 80 letters are wanted")
        return JSONResponse({"terms": [*await asyncio.to_thread(_terms, path, text)]})

    async def learning(self, request: Request) -> Response:
        """What could be learnt; a POST says yes or no to one thing."""
        told = ""
        if request.method == "POST":
            asked = parse_qs((await body_of(request)).decode("utf-8", "replace"))
            key, do = (asked.get(name, [""])[0] for name in ("key", "do"))
            if do not in ("learn", "leave"):
                raise HTTPException(400, "say whether it is to be learnt")
            told = await asyncio.to_thread(decide, self._shelf.path, key, learn=do == "learn")
            for known in (_lexicon, _vocabulary, _completions):
                known.cache_clear()
        proposals, heard = await asyncio.to_thread(taught, self._shelf.path)
        return HTMLResponse(views.learning_page(proposals, heard, told=told))

    async def compare(self, request: Request) -> Response:
        """Notes side by side."""
        numbers, notes, how = self._asked(request)
        return HTMLResponse(views.compare_page(numbers, notes, how=how))

    async def picture(self, request: Request) -> Response:
        """The same as a picture."""
        from dictate.compare import as_sheet
        from dictate.pictures import PictureError, draw_sheet

        _, notes, how = self._asked(request)
        try:
            async with self._drawing:  # matplotlib's settings are for all threads
                made = await asyncio.to_thread(draw_sheet, as_sheet(views.compared(notes, how)), ".svg")
        except PictureError as error:
            raise HTTPException(404, str(error)) from error
        return Response(made, media_type="image/svg+xml")

    async def publish(self, request: Request) -> Response:
        """Notes as a file, made as `dictate publish` makes it."""
        from dictate.publish import LayoutError
        from dictate.typeset import TypesetError

        _, notes, _ = self._asked(request)
        form, title = request.query_params.get("as", ""), request.query_params.get("title", "")[:200]
        if form not in ENDINGS:
            raise HTTPException(400, f"as: one of {', '.join(ENDINGS)} is wanted")
        try:
            made = await asyncio.to_thread(handout, notes, form, title=title, marked=True)
        except (LayoutError, TypesetError) as error:
            raise HTTPException(400, str(error)) from error
        name = f"{file_name(notes[0]) if len(notes) == 1 else 'tasting'}.{ENDINGS[form]}"
        headers = {"content-disposition": f'attachment; filename="{name}"'}
        return Response(made, headers=headers, media_type=_MEDIA[form])

    def _asked(self, request: Request) -> tuple[list[int], tuple[Note, ...], str]:
        """The notes and the kind of comparison that a request names."""
        how = request.query_params.get("how", "notes")
        numbers = [n for text in request.query_params.getlist("note") if (n := whole(text)) is not None]
        if not 0 < len(numbers) <= _MOST_NOTES or how not in views.HOWS:
            raise HTTPException(400, f"choose one to {_MOST_NOTES} notes in the library first")
        return numbers, tuple(self._shelf.open(number).note for number in numbers), how

    def _opened(self, request: Request) -> Open:
        return self._shelf.open(number_in(request))

    def _sounding(self, request: Request) -> tuple[Path, Any]:
        """The file of a note's recording, and which part of it is the note's."""
        note = self._opened(request).note
        path = self._shelf.library.recording(note)
        if note.recording is None:
            raise SourceError("this note has no recording")
        if path is None:
            raise SourceError(
                f"{note.recording.path}: the recording is not there; look for it with: "
                "dictate library recordings FOLDER"
            )
        return path, note.recording


def _onset(samples: Any, near: float) -> tuple[float, float]:
    first = max(0, int((near - 4) * RATE))
    around = samples[first : int((near + 2) * RATE)].astype(np.float32) / 32767
    found = find_onset(around, hint_s=near - first / RATE)
    return found.onset_s + first / RATE, found.confidence


def _terms(path: str, text: str) -> tuple[str, ...]:
    return _completions().terms(path, text)


def _static(name: str) -> Handler:
    body = (files("dictate.review") / "page" / name).read_bytes()

    async def answer(request: Request) -> Response:  # noqa: ARG001
        return Response(body, media_type=f"{_FILES[name]}; charset=utf-8")

    return answer


def _app(answers: _Answers, guard: Guard, voice: Voice | None) -> Starlette:
    async def library(request: Request) -> Response:
        if not request.scope.get("linked"):
            return await answers.library(request)
        # not led on to another address: a browser that came from elsewhere would not show its cookie there
        answer = await answers.first(request)
        answer.headers["set-cookie"] = guard.set_cookie()
        return answer

    async def icon(request: Request) -> Response:  # noqa: ARG001
        return Response(status_code=204)

    async def described(request: Request) -> Response:  # noqa: ARG001
        return JSONResponse(openapi())

    async def gone(request: Request, error: Exception) -> Response:
        if isinstance(error, HTTPException):
            status, line = error.status_code, error.detail
        elif isinstance(error, (LibraryError, SourceError)):
            status, line = 404, str(error)
        else:
            status, line = 500, f"{error or type(error).__name__}; nothing was saved"
        if "text/html" in request.headers.get("accept", ""):
            return HTMLResponse(views.problem_page(line), status)
        return refused(status, line)

    pages: dict[str, Handler] = {
        "/": library, "/note/{number}": answers.note, "/next/{number}": answers.following,
        "/note/{number}/peaks": answers.peaks, "/note/{number}/sound.wav": answers.sound,
        "/note/{number}/onset": answers.onset, "/words": answers.words, "/compare": answers.compare,
        "/picture.svg": answers.picture, "/publish": answers.publish, "/openapi.json": described,
        "/favicon.ico": icon, **{f"/{name}": _static(name) for name in _FILES},
    }  # fmt: skip
    return Starlette(
        routes=[
            *(Route(path, handler, methods=["GET"]) for path, handler in pages.items()),
            Route("/note/{number}/change", answers.change, methods=["POST"]),
            *routes_of(voice),
            Route("/learning", answers.learning, methods=["GET", "POST"]),
        ],
        exception_handlers=dict.fromkeys(
            (HTTPException, LibraryError, SourceError, WordsError, OSError), gone
        ),
    )


class ReviewPage:
    """The page of a library. `asked`: notes to go through by number; `port` 0 takes a free one; `cache`:
    where peaks are kept; `voice`: a microphone beside it. Raises ReviewError from `start` alone."""

    def __init__(
        self,
        library: Path,
        *,
        asked: Sequence[int] = (),
        port: int = 0,
        cache: Path | None = None,
        voice: Voice | None = None,
    ) -> None:
        self._shelf, self._sounds = Shelf(library, asked), Sounds(cache)
        self._asked, self._port, self._token = tuple(asked), port, new_token()
        self._voice = voice
        self._server: uvicorn.Server | None = None
        self._thread: Any = None

    @property
    def url(self) -> str:
        """The link, which holds the session's token. Known after `start`."""
        return f"http://{in_url(ADDRESS)}:{self._port}/{self._token}"

    def start(self) -> None:
        """Open the page; returns when it can be looked at."""
        try:
            bound = bound_socket(ADDRESS, self._port)
        except OSError as error:
            raise ReviewError(
                f"the page cannot be opened at port {self._port} ({error.strerror}); give a free one, or none"
            ) from error
        self._port = bound.getsockname()[1]
        guard = Guard(token=self._token, address=ADDRESS, port=self._port, page="review", takes=True)
        answers = _Answers(self._shelf, self._sounds, voice=self._voice is not None)
        app = Door(_app(answers, guard, self._voice), guard)
        config = config_of(app, security_headers("img-src", "media-src", "form-action"))
        self._server = uvicorn.Server(config)
        self._thread = started(
            self._server, bound, name="review-web", first=self._begin_voice, last=self._shelf.close
        )
        if self._thread is None:
            raise ReviewError("the page did not open; try another --port")

    def _begin_voice(self) -> None:
        if self._voice is not None:
            self._voice.join_loop(self._shelf, _vocabulary)

    def stop(self) -> None:
        """Close the page. May be called twice."""
        if self._voice is not None:
            self._voice.close()
        if self._server is not None and self._thread is not None:
            self._server.should_exit = True
            self._thread.join(5)
            self._server.force_exit = True
            self._thread.join(5)
        self._server = self._thread = None
