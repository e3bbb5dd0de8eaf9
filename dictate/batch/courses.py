"""Which task of a recording comes after which reply. Pure."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field
from typing import Final

from dictate.batch.values import (
    Close,
    Failed,
    Hear,
    Job,
    Made,
    Message,
    Open,
    Part,
    Reply,
    Share,
    Shared,
    Task,
)

_TRIES: Final = 3  # a recording on which so many workers died is given up
_GIVEN_UP: Final = f"{_TRIES} workers died on it, perhaps for want of memory; try it alone, or cut it"


@dataclass(slots=True)
class _Course:
    """One recording: what was heard of it by the number of the span, and how much of each."""

    job: Job
    sha256: str = ""
    spans: int = 0
    parts: dict[int, bytes] = field(default_factory=dict)
    shares: dict[int, float] = field(default_factory=dict)
    took_s: float = 0.0
    dead: set[Hashable] = field(default_factory=set)  # workers that died on it


class Courses:
    """Recordings that are being done, whoever does the tasks."""

    def __init__(self, *, may_share: bool) -> None:
        """`may_share`: a long recording may be heard by several."""
        self._may_share = may_share
        self._open: dict[int, _Course] = {}

    @property
    def numbers(self) -> tuple[int, ...]:
        """Those that are not done."""
        return tuple(self._open)

    def needs(self, task: Task) -> bool:
        """Whether a task is still to be done: not where its recording was given up."""
        return task.job.number in self._open

    def begin(self, job: Job) -> Task:
        """The first task of a recording."""
        self._open[job.number] = _Course(job)
        return Open(job, self._may_share)

    def after(self, reply: Reply | Share) -> tuple[list[Task], list[Message]]:
        """What is to be done after a reply, and what is to be told of it."""
        course = self._open.get(reply.number)
        if course is None:  # given up meanwhile
            return [], []
        if isinstance(reply, Made | Failed):
            del self._open[reply.number]
            return [], [reply]
        if isinstance(reply, Share):
            return [], [_told(course, reply)]
        course.took_s += reply.took_s
        if isinstance(reply, Shared):
            course.sha256, course.spans = reply.sha256, len(reply.spans)
            return [Hear(course.job, reply.sha256, n, span) for n, span in enumerate(reply.spans)], []
        return _after_part(course, reply)

    def died(self, tasks: Sequence[Task], *, worker: Hashable) -> tuple[list[Task], list[Message]]:
        """A worker died that had these tasks: which are to be tried again, and what is told of recordings
        that are given up. A worker is one death of a recording, however many tasks of it it had."""
        again: list[Task] = []
        messages: list[Message] = []
        for task in filter(self.needs, tasks):
            course = self._open[task.job.number]
            course.dead.add(worker)
            if len(course.dead) < _TRIES:
                again.append(task)
            else:
                messages += self.after(Failed(task.job.number, _GIVEN_UP))[1]
        return again, messages


def _after_part(course: _Course, part: Part) -> tuple[list[Task], list[Message]]:
    course.parts[part.span] = part.heard
    share = _told(course, Share(part.number, 1.0, part.span))
    if len(course.parts) < course.spans:
        return [], [share]
    parts = tuple(course.parts[n] for n in range(course.spans))
    course.parts.clear()
    return [Close(course.job, course.sha256, parts, course.took_s)], [share]


def _told(course: _Course, share: Share) -> Share:
    """The share of the whole recording, from that of a span."""
    if share.span is None:
        return share
    course.shares[share.span] = share.share
    return Share(share.number, sum(course.shares.values()) / max(1, course.spans))
