"""A session: sound to the disk as it comes, breath groups to the ears, what they hear to notes. EDGE.

One thread takes the sound and writes it, which never lags; another (the caller of `run`) does all else; the
ears are processes. A session is its folder: the recording, the log, the notes.
"""

from __future__ import annotations

import errno
import hashlib
import queue
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from dictate import __version__
from dictate.audio.cutter import Live, LiveCutter
from dictate.audio.speech import Stretch
from dictate.board import Board, Clock, board_of
from dictate.files import write_note
from dictate.listen.ears import Ear, Ready, Reply, Task, Which
from dictate.listen.eventlog import (
    Began,
    Ended,
    EventLog,
    GapEvent,
    HeardEvent,
    LoggedStep,
    LoggedWord,
    WrittenEvent,
)
from dictate.listen.levels import running_level_db
from dictate.listen.microphone import Block
from dictate.listen.recorder import SAMPLE_RATE, RecordedSound, Recorder, silent
from dictate.listen.story import News, Story
from dictate.note import Note
from dictate.note import Recording as NoteRecording
from dictate.recognise.recogniser import AROUND_S, HeardStretch
from dictate.settings import Settings

RECORDING, LOG, NOTES = "recording.wav", "session.jsonl", "notes"
_SPECULATE_S = 0.15  # of silence after which the quick ear begins: most stretches have ended by then
_SHOW_EVERY_S = 0.1
_EARCONS: dict[str, str] = {
    "away": "started",
    "gone": "stopped",
    "begin": "next",
    "revoked": "not_understood",
    "unheard": "not_understood",
}
_SLACK_S = 0.05
_END_WAIT_S = 600.0  # for the careful ear, when all is said


class Source(Protocol):
    """Where sound comes from: a microphone, or a recording in its place."""

    @property
    def name(self) -> str:
        """As the taster knows it."""
        ...

    def blocks(self) -> Iterator[Block]:
        """The sound as it comes, until it ends or is stopped."""
        ...

    def stop(self) -> None:
        """No more of it; from any thread."""
        ...


class Player(Protocol):
    """What plays the short sounds."""

    def play(self, kind: str) -> None:
        """Play one; returns at once, never raises."""
        ...


@dataclass(frozen=True, slots=True)
class _End:
    """The source gives no more. `problem`: why, "" when it was stopped or came to its end."""

    problem: str = ""


Message = NDArray[np.int16] | Reply | Ready | _End | str


def _same(one: Stretch, other: Stretch) -> bool:
    """Whether two stretches are the same words: edges move a little as more is heard."""
    return abs(one.start_s - other.start_s) <= _SLACK_S and abs(one.end_s - other.end_s) <= _SLACK_S


class Session:
    """One tasting, from the first sound to the notes."""

    def __init__(
        self,
        folder: Path,
        settings: Settings,
        *,
        source: Source,
        show: Callable[[Board], None] = lambda _: None,
        player: Player | None = None,
        on_news: Callable[[News, float], None] = lambda *_: None,
    ) -> None:
        """`folder` is made; `show` gets boards; `on_news` what the taster is told of and when (seconds of
        recording that had come). Raises OSError."""
        folder.mkdir(parents=True, exist_ok=False)
        self._folder, self._settings, self._source = folder, settings, source
        self._show, self._player, self._on_news = show, player, on_news
        self._began = datetime.now().astimezone()
        self._recorder = Recorder(folder / RECORDING)
        self._sound = RecordedSound(folder / RECORDING)
        self._log = EventLog(folder / LOG)
        identity = hashlib.sha256(f"{self._began.isoformat()} {folder.name}".encode()).hexdigest()[:16]
        self._story = Story(settings, self._sound, identity=identity)
        self._cutter = LiveCutter()
        self._inbox: queue.SimpleQueue[Message] = queue.SimpleQueue()
        self._ears: dict[Which, Ear] = {}
        self._stretches: list[Stretch] = []  # that have ended; their places are the story's numbers
        self._asked: dict[int, tuple[int, Stretch]] = {}  # of the ears, by the task's number
        self._guess: tuple[Stretch, HeardStretch | None] | None = None  # the quick ear was asked ahead
        self._tasks = 0
        self._written: dict[str, tuple[Path, Path]] = {}
        self._level_db: float | None = None
        self._shown_s = 0.0
        self._problem = ""
        self._ended_how = ""

    def file_of(self, note: Note) -> Path:
        """The JSON file that a note of `run` was written into; its page, .md, is beside it."""
        return self._written[note.id][0]

    def stop(self) -> None:
        """End the session as though the taster had said so; from any thread."""
        self._ended_how = self._ended_how or "stopped"
        self._source.stop()

    def run(self) -> tuple[Note, ...]:
        """Listen until the source ends or the taster ends it; the notes, which are written.
        Raises OSError."""
        names: tuple[Which, ...] = ("quick", "careful")
        self._ears = {which: Ear(which, self._settings, tell=self._inbox.put) for which in names}
        capture = threading.Thread(target=self._capture, name="capture", daemon=True)
        capture.start()
        try:
            self._listen()
        finally:
            self._source.stop()
            capture.join()
        return self._finish()

    def _capture(self) -> None:
        """Sound from the source to the disk, then to whoever works on it."""
        problem = ""
        try:
            for block in self._source.blocks():
                if block.lost:
                    self._inbox.put("the microphone is gone; plug it in again, recording goes on by itself")
                if block.gap is not None:
                    self._log.append(
                        GapEvent(
                            at_s=self._recorder.seconds, seconds=block.gap.seconds, reason=block.gap.reason
                        )
                    )
                    for silence in silent(block.gap.seconds):
                        self._keep(silence)
                if len(block.samples):
                    self._keep(block.samples)
        except OSError as error:
            full = error.errno in (errno.ENOSPC, errno.EDQUOT)
            problem = (
                "the disk is full: recording has stopped; make room"
                if full
                else f"recording has stopped: {error}"
            )
        except Exception as error:  # the session must end in order whatever the microphone does
            problem = f"recording has stopped: {' '.join(str(error).split())}"
        self._inbox.put(_End(problem))

    def _keep(self, samples: NDArray[np.int16]) -> None:
        self._recorder.write(samples)
        self._inbox.put(samples)

    def _listen(self) -> None:
        """Work on what comes until the source and the ears have given all."""
        ended = False
        while True:
            try:
                message = self._inbox.get(timeout=_SHOW_EVERY_S)
            except queue.Empty:
                message = None
            match message:
                case np.ndarray():
                    self._problem = self._problem if ended else ""
                    self._hear(message)
                case Reply():
                    self._heard(message)
                case Ready():
                    self._ready(message)
                case str():
                    self._tell(message)
                case _End():
                    ended = True
                    if message.problem:
                        self._tell(message.problem)
                        self._ended_how = "failed"
                    self._ask(Live(self._cutter.finish()))
            self._update()
            if ended and (self._story.settled or "careful" not in self._ears):
                return

    def _hear(self, samples: NDArray[np.int16]) -> None:
        sound = samples.astype(np.float32) / np.float32(32768)
        self._level_db = running_level_db(sound)
        self._ask(self._cutter.feed(sound))

    def _ask(self, live: Live) -> None:
        """Have the ears hear what has ended, and the quick one what has perhaps."""
        for stretch in live.ended:
            number = len(self._stretches)
            self._stretches.append(stretch)
            self._story.add(number, stretch)
            guess, self._guess = self._guess, None
            if guess is None or not _same(guess[0], stretch):
                self._send("quick", number, stretch)
            elif guess[1] is not None:
                self._take(number, guess[1], sure=False)
            self._send("careful", number, stretch)
        if live.open is None or (self._guess and not _same(self._guess[0], live.open)):
            self._guess = None  # more was said: what the ear makes of it does not count
        elif live.silent_s >= _SPECULATE_S and self._guess is None and "quick" in self._ears:
            self._guess = (live.open, None)
            self._send("quick", len(self._stretches), live.open)

    def _send(self, which: Which, number: int, stretch: Stretch) -> None:
        if which not in self._ears:
            return
        first = round(max(0.0, stretch.start_s - AROUND_S) * SAMPLE_RATE)
        samples = self._sound[first : round((stretch.end_s + AROUND_S) * SAMPLE_RATE)]
        running = self._story.now.away is not None and self._story.now.gone is None
        self._tasks += 1
        self._asked[self._tasks] = (number, stretch)
        self._ears[which].hear(
            Task(
                self._tasks,
                samples,
                stretch,
                first / SAMPLE_RATE,
                running=running if which == "quick" else None,
            )
        )

    def _heard(self, reply: Reply) -> None:
        number, stretch = self._asked.pop(reply.number)
        if reply.problem:
            self._tell(reply.problem)
        if number < len(self._stretches):
            if _same(stretch, self._stretches[number]):
                self._take(number, reply.heard, sure=reply.ear == "careful")
        elif self._guess is not None and _same(self._guess[0], stretch):
            self._guess = (stretch, reply.heard)

    def _take(self, number: int, heard: HeardStretch, *, sure: bool) -> None:
        """Words of a breath group into the story, the log, the files, and what is new to the taster."""
        closed = len(self._story.closed)
        news = self._story.hear(number, heard, sure=sure)
        if sure:
            self._log.append(self._event(number, heard))
        for note in self._story.closed[closed:]:
            self._write(note)
        for item in news:
            self._on_news(item, self._recorder.seconds)
            if self._player is not None and item.kind in _EARCONS:
                self._player.play(_EARCONS[item.kind])
            if item.kind == "end" and item.sure:
                self._ended_how = "said"
                self._source.stop()

    def _event(self, number: int, heard: HeardStretch) -> HeardEvent:
        stretch = self._stretches[number]
        if self._story.withheld(number):
            return HeardEvent(start_s=stretch.start_s, end_s=stretch.end_s, withheld=True)
        again, refused = (
            tuple(
                LoggedStep(
                    first=s.first, last=s.last, before=s.before, after=s.after, score=s.score, reason=s.reason
                )
                for s in steps
            )
            for steps in (heard.again, heard.refused)
        )
        words = tuple(
            LoggedWord(text=w.text, start_s=w.start_s, end_s=w.end_s, confidence=w.confidence, heard=w.heard)
            for w in heard.words
        )
        return HeardEvent(
            start_s=stretch.start_s, end_s=stretch.end_s, words=words, again=again, refused=refused
        )

    def _ready(self, ready: Ready) -> None:
        if ready.problem:
            self._ears.pop(ready.ear, None)
            self._tell(ready.problem)
        elif ready.ear == "careful" and not self._story.recogniser:
            self._story.recogniser = ready.name
            self._log.append(
                Began(when=self._began.isoformat(), program=__version__, model=ready.name, from_s=0.0)
            )

    def _tell(self, problem: str) -> None:
        self._problem = problem
        if self._player is not None:
            self._player.play("problem")

    def _update(self) -> None:
        now = time.monotonic()
        if now - self._shown_s >= _SHOW_EVERY_S:
            self._shown_s = now
            self._show(self.board())

    def board(self) -> Board:
        """What is to be seen now."""
        story = self._story
        phrases = [p for p in story.now.phrases if p.cue is None]
        return board_of(
            story.open,
            number=len(story.closed) + len(story.now.notes),
            clock=self._clock(),
            last_heard=" ".join(w.text for w in story.last_words),
            stage=phrases[-1].stage if phrases else None,
            mode="ended" if self._ended_how else "private" if story.is_private else "listening",
            at_s=self._recorder.seconds,
            problem=self._problem,
            level_db=self._level_db,
        )

    def _clock(self) -> Clock:
        away, gone = self._story.now.away, self._story.now.gone
        if away is None:
            return Clock()
        if gone is None:
            return Clock("running", since_s=away.onset_s)
        return Clock("stopped", seconds=gone.onset_s - away.onset_s, sure=self._story.settled)

    def _write(self, note: Note) -> None:
        """Write a note, and take away the file that it had under another name."""
        before = self._written.get(note.id)
        files = write_note(note, self._folder / NOTES, year=self._began.year)
        self._written[note.id] = files
        for old in set(before or ()) - set(files):
            old.unlink(missing_ok=True)
        self._log.append(WrittenEvent(note=note.id, files=tuple(f"{NOTES}/{f.name}" for f in files)))

    def _finish(self) -> tuple[Note, ...]:
        """Close everything: the last note, the recording, the log."""
        for ear in self._ears.values():
            ear.close(_END_WAIT_S)
        self._recorder.close()
        path = self._folder / RECORDING
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
        place = NoteRecording(path=str(path), sha256=digest, start_s=0, end_s=self._recorder.seconds)
        notes = self._story.final(place)
        for note in notes:
            self._write(note)
        for gone in set(self._written) - {note.id for note in notes}:
            for file_path in self._written.pop(gone):
                file_path.unlink(missing_ok=True)
        self._log.append(Ended(at_s=self._recorder.seconds, how=self._ended_how or "closed"))
        self._log.close()
        self._sound.close()
        self._ended_how = self._ended_how or "closed"
        self._show(self.board_after(notes))
        return notes

    def board_after(self, notes: tuple[Note, ...]) -> Board:
        """What is to be seen when all is over."""
        return board_of(
            notes[-1] if notes else None,
            number=len(notes),
            clock=Clock(),
            last_heard="",
            stage=None,
            mode="ended",
            at_s=self._recorder.seconds,
            problem=self._problem,
        )
