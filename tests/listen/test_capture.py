"""Sound on its way: into the recording first, then to whoever works on it, and an end whatever happens."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dictate.listen.capture import Capture, Lost, NoSource, Source, SourceEnd, why_stopped
from dictate.listen.eventlog import EventLog, GapEvent, read_log
from dictate.listen.gaps import Gap
from dictate.listen.microphone import Block
from dictate.listen.recorder import RecordedSound, Recorder

RATE = 16000
SOUND = np.arange(1, 801, dtype=np.int16)


class Given:
    """A source that gives what it was made with; an error is raised where it stands."""

    name = "given"

    def __init__(self, *blocks: Block | Exception) -> None:
        self._blocks = blocks

    def blocks(self) -> Iterator[Block]:
        for block in self._blocks:
            if isinstance(block, Exception):
                raise block
            yield block

    def stop(self) -> None: ...


def taken(tmp_path: Path, source: Source) -> list[Any]:
    """What is told, each sound only when it is in the recording already."""
    got: list[Any] = []
    with Recorder(tmp_path / "a.wav") as recorder, EventLog(tmp_path / "a.jsonl") as log:

        def tell(message: Any) -> None:
            got.append(message)
            if isinstance(message, np.ndarray):
                total = sum(len(m) for m in got if isinstance(m, np.ndarray))
                assert recorder.seconds == total / RATE

        capture = Capture(source, recorder=recorder, log=log, tell=tell)
        capture.start()
        capture.stop()
    return got


def kinds(got: list[Any]) -> list[str]:
    return [type(message).__name__ for message in got]


def test_sound_is_recorded_and_told_in_its_order(tmp_path: Path) -> None:
    got = taken(tmp_path, Given(Block(SOUND), Block(SOUND * 2)))
    assert kinds(got) == ["ndarray", "ndarray", "SourceEnd"]
    assert got[-1] == SourceEnd()
    recorded = RecordedSound(tmp_path / "a.wav")
    np.testing.assert_array_equal(recorded[0:1600] * 32768, np.concatenate([SOUND, SOUND * 2]))
    recorded.close()


def test_silence_stands_for_what_was_lost_and_the_log_tells_it(tmp_path: Path) -> None:
    got = taken(tmp_path, Given(Block(SOUND), Block(SOUND, Gap(0.5, "the machine slept"))))
    assert kinds(got) == ["ndarray", "GapEvent", "ndarray", "ndarray", "SourceEnd"]
    event = GapEvent(at_s=0.05, seconds=0.5, reason="the machine slept")
    assert got[1] == event
    assert read_log(tmp_path / "a.jsonl").events == (event,)
    assert len(got[2]) == RATE // 2
    assert not got[2].any()


def test_a_microphone_that_is_gone_is_told(tmp_path: Path) -> None:
    got = taken(tmp_path, Given(Block(SOUND), Block(SOUND[:0], lost=True), Block(SOUND)))
    assert kinds(got) == ["ndarray", "Lost", "ndarray", "SourceEnd"]
    assert got[1] == Lost()


def test_whatever_is_wrong_is_the_last_that_is_told(tmp_path: Path) -> None:
    error = RuntimeError("the driver\nis gone")
    got = taken(tmp_path, Given(Block(SOUND), error, Block(SOUND)))
    assert kinds(got) == ["ndarray", "SourceEnd"]
    assert got[-1].error is error


def test_no_source_ends_at_once(tmp_path: Path) -> None:
    assert taken(tmp_path, NoSource()) == [SourceEnd()]


@pytest.mark.parametrize(
    ("error", "says"),
    [
        (
            OSError(errno.ENOSPC, "No space left on device"),
            "the disk is full: recording has stopped; make room",
        ),
        (OSError(errno.EIO, "Input/output error"), "recording has stopped: Input/output error"),
        (RuntimeError("two\nlines"), "recording has stopped: two lines"),
        (RuntimeError(), "recording has stopped: RuntimeError"),
    ],
)
def test_why_it_stopped_is_one_line(error: Exception, says: str) -> None:
    assert why_stopped(error) == says
