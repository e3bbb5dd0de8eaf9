"""A session: sound to the disk as it comes, breath groups to the ears, what they hear to notes. EDGE.

One thread takes the sound and writes it (`capture.py`); another, the caller of `run`, does all else, message
by message; the ears are processes. A session is its folder (`folder.py`).
"""

from __future__ import annotations

import queue
import time
from collections.abc import Callable, Sequence
from typing import Literal, Protocol, get_args

import numpy as np
from numpy.typing import NDArray

from dictate.audio.speech import SAMPLE_RATE, Stretch
from dictate.board import Board
from dictate.listen.asking import Asking, Growing, Known, Outcome
from dictate.listen.capture import (
    MICROPHONE_GONE,
    Capture,
    Lost,
    NoSource,
    Source,
    SourceEnd,
    Taken,
    is_full,
    why_stopped,
)
from dictate.listen.ears import Ear, Ready, Reply, Which
from dictate.listen.eventlog import EarEvent, Ended, Event, GapEvent, HeardEvent
from dictate.listen.folder import SessionFolder
from dictate.listen.left import to_hear
from dictate.listen.levels import running_level_db
from dictate.listen.passing import PAUSE_OVER, Passing
from dictate.listen.saying import Saying
from dictate.listen.showing import board_after, board_now
from dictate.listen.story import News, Story
from dictate.listen.watch import LevelWatch
from dictate.note import Note
from dictate.note import Recording as NoteRecording
from dictate.settings import Settings

_SHOW_EVERY_S = 0.1
_EARCONS: dict[str, str] = {
    "pause_on": "paused",
    "pause_off": "resumed",
    "away": "started",
    "gone": "stopped",
    "begin": "next",
    "revoked": "not_understood",
    "unheard": "not_understood",
}
_END_WAIT_S = 600.0  # for the careful ear, when all is said

Wrong = Literal["failed", "microphone", "weights", "ear", "level"]  # the worst first
Message = Taken | Reply | Ready


class Player(Protocol):
    """What plays the short sounds."""

    def play(self, kind: str) -> None:
        """Play one; returns at once, never raises."""
        ...


class Session:
    """One tasting, from the first sound (or from where it was broken off) to the notes.

    `failure`: why it ended before its time, one line, "" where it did not (`is_full`: for want of room);
    `unwritten`: notes of `run` that could not be written.
    """

    def __init__(
        self,
        folder: SessionFolder,
        settings: Settings,
        *,
        source: Source,
        show: Callable[[Board], None] = lambda _: None,
        player: Player | None = None,
        on_news: Callable[[News, float], None] = lambda *_: None,
    ) -> None:
        """`folder` stays the caller's to close; `show` gets boards; `on_news` what the taster is told of and
        when (seconds of recording that had come)."""
        self.failure = ""
        self.is_full = False
        self.unwritten: tuple[Note, ...] = ()
        self._folder, self._source = folder, source
        self._settings = settings
        self._show, self._player, self._on_news = show, player, on_news
        self._story = Story(settings, folder.sound, identity=folder.identity)
        self._saying = Saying(self._story)
        self._inbox: queue.SimpleQueue[Message] = queue.SimpleQueue()
        self._capture = Capture(source, recorder=folder.recorder, log=folder.log, tell=self._inbox.put)
        self._ears: dict[Which, Ear] = {}
        self._first = 0  # number of the first breath group that was said in this session
        self._level_db: float | None = None
        self._watch = LevelWatch()
        self._passing = Passing()
        self._shown_s = 0.0
        self._wrong: dict[Wrong, str] = {}
        self._ended_how = ""

    def stop(self) -> None:
        """End the session as though the taster had said so; from any thread."""
        self._ended_how = self._ended_how or "stopped"
        self._source.stop()

    def run(self) -> tuple[Note, ...]:
        """Listen until the source ends or the taster ends it; the notes, which are written but for those
        `unwritten`. Raises OSError where not even the log can be begun."""
        self._folder.tell_began()
        # nobody looks on while a session is only finished
        names: tuple[Which, ...] = (
            ("careful",) if isinstance(self._source, NoSource) else ("quick", "careful")
        )
        self._ears = {which: Ear(which, self._settings, tell=self._inbox.put) for which in names}
        self._capture.start()  # first of all: the taster may be talking already
        try:
            untold = self._catch_up()
            self._asking = Asking(
                self._folder.sound,
                self._ears,
                first=self._first,
                from_s=self._folder.from_s,
                running=self._runs if self._first else None,
            )
            for number in untold:
                self._asking.again(number, untold[number])
            self._listen()
        except BaseException:
            for ear in self._ears.values():
                ear.close(0)
            raise
        finally:
            self._capture.stop()
        return self._finish()

    def _catch_up(self) -> dict[int, Stretch]:
        """What the log tells goes into the story; the breath groups of which it tells no words, by number."""
        left = self._folder.left
        if left is None:
            self._story.catch_up()  # of nothing: words and sounds are loaded before anything is said
            return {}
        self._story.gaps += left.gaps
        if self._folder.from_s:
            self._story.gaps.append((self._folder.from_s, self._folder.from_s))
        words = dict(left.told)
        untold = to_hear(left, self._folder.sound, end_s=self._folder.from_s)
        groups = sorted([*words, *untold], key=lambda stretch: stretch.start_s)
        for number, stretch in enumerate(groups):
            if stretch in words:
                self._story.tell(number, stretch, heard=words[stretch])
            else:
                self._story.add(number, stretch, withheld=True, private=stretch in left.private)
        self._first = len(groups)
        self._story.catch_up()
        self._passing.knows(self._story.now.notes)
        self._saying.heard(-1)
        return {number: stretch for number, stretch in enumerate(groups) if stretch not in words}

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
                    self._wrong.pop("microphone", None)
                    self._hear(message)
                case Reply():
                    self._replied(message)
                case Ready():
                    self._ready(message)
                case GapEvent():
                    self._story.gaps.append((message.at_s, message.at_s + message.seconds))
                case Lost():
                    self._tell("microphone", MICROPHONE_GONE)
                case SourceEnd():
                    ended = True
                    if message.error:
                        self._fail(message.error)
                    self._take(self._asking.finish(running=self._runs))
            self._update()
            if ended and (self._story.settled or "careful" not in self._ears):
                return

    @property
    def _runs(self) -> bool:
        return self._story.now.away is not None and self._story.now.gone is None

    def _hear(self, samples: NDArray[np.int16]) -> None:
        sound = samples.astype(np.float32) / np.float32(32768)
        self._level_db = running_level_db(sound)
        self._watch.block(sound)
        self._take(self._asking.feed(sound, running=self._runs))
        self._look_at_level()

    def _look_at_level(self) -> None:
        remark = self._watch.remark
        if remark is None:
            self._wrong.pop("level", None)
        elif self._wrong.get("level") != remark.text:
            self._tell("level", remark.text)

    def _replied(self, reply: Reply) -> None:
        outcome = self._asking.reply(reply)
        if reply.problem:
            self._tell("ear", reply.problem)
        elif reply.ear == "careful":
            self._wrong.pop("ear", None)
        if outcome is not None:
            self._take([outcome])

    def _take(self, known: Sequence[Known]) -> None:
        for each in known:
            if isinstance(each, Outcome):
                self._heard(each)
            elif isinstance(each, Growing):
                self._saying.grow(each)
            else:
                first, last = (round(s * SAMPLE_RATE) for s in (each.stretch.start_s, each.stretch.end_s))
                self._watch.said(self._folder.sound[first:last])
                self._story.add(each.number, each.stretch)

    def _heard(self, outcome: Outcome) -> None:
        """Words of a breath group into the story, the log, the files, and what is new to the taster."""
        closed = len(self._story.closed)
        news = self._story.hear(outcome.number, outcome.heard, sure=outcome.sure)
        self._saying.heard(outcome.number)
        if outcome.sure:
            self._log(self._event(outcome))
        for note in self._story.closed[closed:]:
            self._write(note)
        self._pass(outcome, news)

    def _pass(self, outcome: Outcome, news: Sequence[News]) -> None:
        """Tell what is new; what was said before this session is no news to anybody."""
        now_s = time.monotonic()
        if outcome.number < self._first:
            self._passing.knows(self._story.now.notes)
            return
        self._passing.heard(outcome.number, spoke=bool(outcome.heard.words))
        self._passing.change(self._story.now.notes, now_s)
        for item in news:
            if item.kind == "missing" and item.first:
                self._passing.ask(outcome.number, now_s)
            elif item.kind == "revoked":
                self._passing.unask(outcome.number)
            elif item.ends_pause and item.first:
                self._passing.say(PAUSE_OVER, now_s)
            self._give(item)

    def _event(self, outcome: Outcome) -> HeardEvent:
        """What the log is to tell of a breath group: no word that was said off the record."""
        stretch, private = outcome.stretch, self._story.private(outcome.number)
        public = None if outcome.broken else self._story.public(outcome.number)
        if public is None:
            return HeardEvent(
                start_s=stretch.start_s, end_s=stretch.end_s, withheld=True, private=private
            )  # fmt: skip
        return HeardEvent.of(stretch, public, private=private)

    def _give(self, item: News) -> None:
        self._on_news(item, self._folder.recorder.seconds)
        if self._player is not None and item.kind in _EARCONS:
            self._player.play(_EARCONS[item.kind])
        if item.kind == "end" and item.sure:
            self._ended_how = self._ended_how or "said"
            self._source.stop()

    def _ready(self, ready: Ready) -> None:
        if ready.problem:
            self._ears.pop(ready.ear, None)
            self._tell("weights", ready.problem)
        elif ready.ear == "careful" and not self._story.recogniser:
            self._story.recogniser = ready.name
            self._log(EarEvent(model=ready.name))

    def _tell(self, what: Wrong, problem: str) -> None:
        self._wrong[what] = problem
        if self._player is not None:
            self._player.play("problem")

    def _fail(self, error: Exception) -> None:
        """No more can be recorded, or kept: the session ends, and what is there stays."""
        self._ended_how = "failed"
        if not self.failure:
            self.failure, self.is_full = why_stopped(error), is_full(error)
            self._tell("failed", self.failure)
        self._source.stop()

    def _log(self, event: Event) -> None:
        """Where it finds no room, the session ends: a log must not have holes."""
        try:
            self._folder.log.append(event)
        except OSError as error:
            self._fail(error)

    def _write(self, note: Note) -> bool:
        """Whether a note is written."""
        try:
            self._folder.write(note)
        except OSError as error:
            self._fail(error)
            return False
        self._log(self._folder.written(note))
        return True

    def _update(self) -> None:
        now = time.monotonic()
        if now - self._shown_s >= _SHOW_EVERY_S:
            self._shown_s = now
            self._show(self.board())

    @property
    def _problem(self) -> str:
        return next((self._wrong[what] for what in get_args(Wrong) if what in self._wrong), "")

    def board(self) -> Board:
        """What is to be seen now."""
        return board_now(
            self._story,
            self._saying.seen(),
            passing=self._passing,
            now_s=time.monotonic(),
            ended=bool(self._ended_how),
            at_s=self._folder.recorder.seconds,
            problem=self._problem,
            level_db=self._level_db,
        )

    def _finish(self) -> tuple[Note, ...]:
        """Close everything: the last note, the recording, the log. What finds no room is told."""
        for ear in self._ears.values():
            ear.close(_END_WAIT_S)
        notes = self._story.final(self._place())
        self.unwritten = tuple(note for note in notes if not self._write(note))
        try:
            if self._story.settled:  # else notes may be missing that were written before
                self._folder.keep_only(notes)
        except OSError as error:
            self._fail(error)
        self._ended_how = self._ended_how or "closed"
        self._log(Ended(at_s=self._folder.recorder.seconds, how=self._ended_how))
        self._show(board_after(notes, at_s=self._folder.recorder.seconds, problem=self._problem))
        return notes

    def _place(self) -> NoteRecording:
        try:
            return self._folder.finished()
        except OSError as error:
            self._fail(error)
            path, end_s = self._folder.recording, self._folder.recorder.seconds
            return NoteRecording(path=str(path), sha256="", start_s=0, end_s=end_s)
