"""The loop of a batch: sources to workers, answers to files, library and manifest, here alone. EDGE."""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Protocol, TypeVar

from dictate.batch.folders import Searched, Source, Unusable
from dictate.batch.keeping import Keeper
from dictate.batch.manifest import Line, Making, Manifest
from dictate.batch.pace import Going, Pace
from dictate.batch.values import Failed, Job, Made, Share
from dictate.batch.workers import Crew
from dictate.files import sha256_of

_AHEAD = 16  # sources whose bytes are summed up before their turn
_WAIT_S = 0.2
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class State:
    """How far a batch is, for whoever looks on. `at_work`: what is being done, and the share of it done, 0 to
    1; `left_s`: seconds that it will take yet, None where that is not known."""

    done: int
    total: int
    failed: int
    at_work: tuple[tuple[Path, float], ...]
    left_s: float | None


class View(Protocol):
    """Whoever looks on."""

    def show(self, state: State) -> None:
        """How far it is."""
        ...

    def tell(self, message: str) -> None:
        """Something to know now, one line."""
        ...


@dataclass(frozen=True, slots=True)
class Result:
    """What came of a batch. `lines`: of what is done, `before` of them by an earlier run; `twins`: a
    recording and the same one under another name; `others`: files that are no sound; `sound_s`: seconds of
    sound heard by this run in `wall_s` seconds; `left`: files that were not come to; `problem`: why the
    library lacks notes."""

    lines: tuple[Line, ...] = ()
    before: int = 0
    failures: tuple[Unusable, ...] = ()
    twins: tuple[tuple[Path, Path], ...] = ()
    others: int = 0
    sound_s: float = 0.0
    wall_s: float = 0.0
    left: int = 0
    problem: str = ""


@dataclass(slots=True)
class _Tally:
    """What came of it so far, by the place of each source. `unread`: what the search could not look into."""

    unread: tuple[Unusable, ...]
    lines: dict[int, Line] = field(default_factory=dict)
    failures: dict[int, Unusable] = field(default_factory=dict)
    twins: dict[int, tuple[Path, Path]] = field(default_factory=dict)
    none: set[int] = field(default_factory=set)
    before: int = 0
    sound_s: float = 0.0

    @property
    def done(self) -> int:
        return len(self.lines) + len(self.failed) + len(self.twins) + len(self.none)

    @property
    def failed(self) -> tuple[Unusable, ...]:
        return (*self.unread, *_in_order(self.failures))


class Batch:
    """One run. `makings` tells by kind of source what notes of it would be made with now."""

    def __init__(
        self,
        searched: Searched,
        *,
        crew: Crew,
        keeper: Keeper,
        manifest: Manifest,
        makings: Callable[[Source], Making],
        view: View,
    ) -> None:
        self._searched, self._sources = searched, searched.sources
        self._crew, self._keeper, self._manifest = crew, keeper, manifest
        self._makings, self._view = makings, view
        self._tally = _Tally(searched.unusable)
        self._pace = Pace(crew.workers)
        self._first: dict[str, int] = {}  # by SHA-256 the source that has it
        self._sha256: dict[int, str] = {}
        self._shown_s = 0.0
        self._shares: dict[int, float] = {}
        self._begun: dict[int, float] = {}  # when the first share was told
        self._came = 0  # sources that were come to
        self._stopped = threading.Event()

    def stop(self) -> None:
        """End as soon as can be; what is being done is done again by the next run."""
        self._stopped.set()

    def run(self) -> Result:
        """Do all of it. Raises OSError where notes cannot be written, WorkersError where nobody can work."""
        began = time.monotonic()
        for unusable in self._searched.unusable:
            self._fail_unread(unusable)
        hashed = _Hashed(self._sources, self._stopped)
        while not self._stopped.is_set():
            more = self._give(hashed)
            if not more and not self._crew.at_work:
                break
            for message in self._crew.wait(_WAIT_S):
                self._take(message)
            self._show()
        self._stopped.set()
        return self._result(time.monotonic() - began)

    def _give(self, hashed: _Hashed) -> bool:
        """Give the crew what it has room for; whether there are more sources."""
        while self._crew.has_room(len(self._sources) - self._came):
            wait_s = _WAIT_S if not self._crew.at_work else 0.0
            found = hashed.next(wait_s)
            if found is None:
                break
            self._came += 1
            job = self._job_of(*found)
            if job is not None:
                self._crew.give(job)
            if self._stopped.is_set():
                break
            self._show()
        return self._came < len(self._sources)

    def _job_of(self, number: int, sha256: str, reason: str) -> Job | None:
        """What is to be done with a source; None where there is nothing to do."""
        source = self._sources[number]
        if reason:
            self._fail(number, reason, sha256="")
            return None
        self._sha256[number] = sha256
        first = self._first.setdefault(sha256, number)
        if first != number:
            self._tally.twins[number] = (self._sources[first].path, source.path)
            return None
        line = self._manifest.of(sha256)
        if line is not None and self._holds(line, source):
            self._done_before(number, line)
            return None
        return Job(number, source.path, source.kind, sha256)

    def _holds(self, line: Line, source: Source) -> bool:
        """Whether doing a source again would give what a line tells of, and that is still there."""
        made_so = not line.reason and line.making.serves(self._makings(source))
        return made_so and self._keeper.has_files(line)

    def _done_before(self, number: int, line: Line) -> None:
        """Nothing to do, unless another library is asked for."""
        if self._keeper.library and line.library != self._keeper.library:
            library = self._keeper.bring(line)
            if library:
                line = replace(line, library=library)
                self._manifest.add(line)
        self._tally.lines[number] = line
        self._tally.before += 1

    def _take(self, message: Share | Made | Failed) -> None:
        number = message.number
        if isinstance(message, Share):
            self._begun.setdefault(number, time.monotonic())
            self._shares[number] = message.share
            return
        self._shares.pop(number, None)
        source = self._sources[number]
        if isinstance(message, Failed):
            if message.is_none:
                self._tally.none.add(number)
            else:
                self._fail(number, message.reason, sha256=self._sha256[number])
            return
        making = self._makings(source)
        line = self._keeper.keep(message, place=source.place, source=source.path, making=making)
        self._manifest.add(line)
        self._tally.lines[number] = line
        self._tally.sound_s += message.sound_s
        if source.kind != "transcript":  # they take no time
            self._pace.did(source.path.suffix, source.size, took_s=message.took_s)

    def _fail(self, number: int, reason: str, *, sha256: str) -> None:
        source = self._sources[number]
        self._tally.failures[number] = Unusable(source.path, reason)
        self._manifest.add(Line(sha256, str(source.path), self._makings(source), reason))
        self._view.tell(f"{source.path}: {reason}")

    def _fail_unread(self, unusable: Unusable) -> None:
        """What the search could not look into."""
        making = Making("", "", "", "")
        self._manifest.add(Line("", str(unusable.path), making, unusable.reason))
        self._view.tell(f"{unusable.path}: {unusable.reason}")

    def _show(self) -> None:
        now = time.monotonic()
        if now - self._shown_s >= _WAIT_S:
            self._shown_s = now
            self._view.show(self._state())

    def _state(self) -> State:
        at_work = self._crew.at_work
        busy = {number: self._sources[number] for number in at_work}
        left_s = self._pace.left_s(
            ((s.path.suffix, s.size) for s in self._sources[self._came :] if s.kind != "transcript"),
            [Going(s.path.suffix, s.size, *self._so_far(n)) for n, s in busy.items()],
        )
        return State(
            done=self._tally.done,
            total=len(self._sources) + len(self._searched.unusable),
            failed=len(self._tally.failed),
            at_work=tuple((s.path, self._shares.get(n, 0.0)) for n, s in busy.items()),
            left_s=left_s,
        )

    def _so_far(self, number: int) -> tuple[float, float]:
        """The share of a recording that is done, and the seconds it took."""
        begun = self._begun.get(number)
        return self._shares.get(number, 0.0), 0.0 if begun is None else time.monotonic() - begun

    def _result(self, wall_s: float) -> Result:
        tally = self._tally
        return Result(
            lines=_in_order(tally.lines),
            before=tally.before,
            failures=tally.failed,
            twins=_in_order(tally.twins),
            others=self._searched.others + len(tally.none),
            sound_s=tally.sound_s,
            wall_s=wall_s,
            left=len(self._sources) + len(self._searched.unusable) - tally.done,
            problem=self._keeper.problem,
        )


def _in_order(found: Mapping[int, T]) -> tuple[T, ...]:
    return tuple(found[number] for number in sorted(found))


class _Hashed:
    """The SHA-256 of each source in order, from a thread that goes ahead, but not far."""

    def __init__(self, sources: tuple[Source, ...], stopped: threading.Event) -> None:
        self._queue: queue.Queue[tuple[int, str, str]] = queue.Queue(_AHEAD)
        self._sources, self._stopped = sources, stopped
        threading.Thread(target=self._hash, name="hash ahead", daemon=True).start()

    def next(self, wait_s: float) -> tuple[int, str, str] | None:
        """Number, SHA-256, and why there is none; None where it is not there yet, or no more come."""
        try:
            return self._queue.get(timeout=wait_s) if wait_s else self._queue.get_nowait()
        except queue.Empty:
            return None

    def _hash(self) -> None:
        for number, source in enumerate(self._sources):
            try:
                found = (number, sha256_of(source.path), "")
            except OSError as error:
                found = (number, "", f"cannot be read ({error.strerror or type(error).__name__}); try again")
            while not self._stopped.is_set():
                try:
                    self._queue.put(found, timeout=_WAIT_S)
                    break
                except queue.Full:
                    continue
            if self._stopped.is_set():
                return
