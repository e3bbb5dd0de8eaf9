"""The log of a session: each event is there when `append` comes back, and what is torn costs itself only."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictate.audio.speech import Stretch
from dictate.listen.eventlog import (
    Began,
    Ended,
    EventLog,
    GapEvent,
    HeardEvent,
    LoggedStep,
    LoggedWord,
    WrittenEvent,
    read_log,
)
from dictate.recognise.recogniser import HeardStretch
from dictate.values import Perhaps, Word

ROOT = Path(__file__).parents[2]
EVENTS = (
    Began(when="2026-11-27T10:12:00+01:00", program="0.1", identity="0123456789abcdef", blind=True),
    HeardEvent(
        start_s=1.25,
        end_s=2.5,
        words=(LoggedWord(text="Spätlese,", start_s=1.25, end_s=2.0, confidence=0.5, heard="spade lazy"),),
        again=(LoggedStep(first=0, last=1, before=("a",), after=("b", "c"), score=0.5, reason="sound"),),
    ),
    HeardEvent(start_s=3.0, end_s=4.0, withheld=True),
    GapEvent(at_s=5.0, seconds=1.5, reason="microphone unplugged"),
    WrittenEvent(note="abc-1", files=("01.json", "01.md")),
    Ended(at_s=9.0, how="said"),
)


def written(path: Path) -> bytes:
    with EventLog(path) as log:
        for event in EVENTS:
            log.append(event)
    return path.read_bytes()


def test_events_come_back_as_they_were(tmp_path: Path) -> None:
    path = tmp_path / "session.jsonl"
    lines = written(path).decode("utf-8").splitlines()
    assert read_log(path).events == EVENTS
    assert read_log(path).damaged == ()
    names = [json.loads(line)["event"] for line in lines]
    assert names == [
        "began",
        "heard",
        "heard",
        "gap",
        "written",
        "ended",
    ]


def test_what_was_perhaps_a_cue_comes_back_in_both_readings() -> None:
    cue, written = (Word("Gone.", 1.25, 2.0, 0.5, heard="Guys."),), (Word("Guys.", 1.25, 2.0, 0.5),)
    heard = HeardStretch(written, perhaps=Perhaps(cue, written, 0.4))
    assert HeardEvent.of(Stretch(1.25, 2.0), heard).heard == heard


def test_an_event_is_on_the_disk_at_once(tmp_path: Path) -> None:
    path = tmp_path / "session.jsonl"
    with EventLog(path) as log:
        for count, event in enumerate(EVENTS, 1):
            log.append(event)
            assert len(read_log(path).events) == count


def test_a_torn_last_line_costs_itself_only(tmp_path: Path) -> None:
    path = tmp_path / "session.jsonl"
    whole = written(path)
    ends = [place for place, byte in enumerate(whole) if byte == ord("\n")]
    for cut in range(0, len(whole), 7):
        path.write_bytes(whole[:cut])
        log = read_log(path)
        complete = sum(end < cut for end in ends)
        # a line that lacks its end-of-line alone is whole
        assert complete <= len(log.events) <= complete + 1
        assert log.events == EVENTS[: len(log.events)]


def test_it_goes_on_behind_a_torn_line(tmp_path: Path) -> None:
    path = tmp_path / "session.jsonl"
    path.write_bytes(written(path)[:-10])
    with EventLog(path) as log:
        log.append(EVENTS[-1])
    again = read_log(path)
    assert again.events == (*EVENTS[:-1], EVENTS[-1])
    assert again.damaged == (len(EVENTS),)


@pytest.mark.parametrize(
    "damage", [b"\0" * 50, b"{}", b'{"event": "other"}', b"[1]", b"\xff\xfe", b'{"event":"gap"}']
)
def test_a_damaged_line_in_the_middle_is_told_and_passed_over(tmp_path: Path, damage: bytes) -> None:
    path = tmp_path / "session.jsonl"
    lines = written(path).splitlines()
    lines[2] = damage
    path.write_bytes(b"\n".join(lines) + b"\n")
    log = read_log(path)
    assert log.events == (*EVENTS[:2], *EVENTS[3:])
    assert log.damaged == (3,)


def test_a_newer_program_may_have_written_more(tmp_path: Path) -> None:
    path = tmp_path / "session.jsonl"
    path.write_text('{"event": "ended", "at_s": 3, "how": "said", "mood": "fine"}\n', encoding="utf-8")
    assert read_log(path).events == (Ended(at_s=3, how="said"),)


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=400))
def test_no_bytes_make_it_fail(content: bytes) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "session.jsonl"
        path.write_bytes(content)
        before = read_log(path).events
        with EventLog(path) as log:
            log.append(EVENTS[0])
        assert read_log(path).events == (*before, EVENTS[0])


WRITER = """
import sys
from pathlib import Path
from dictate.listen.eventlog import EventLog, GapEvent
log = EventLog(Path(sys.argv[1]))
for n in range(10**9):
    log.append(GapEvent(at_s=n, seconds=0, reason="x" * (n % 500)))
    print(n, flush=True)
"""


def test_killed_while_it_writes_it_lost_nothing_acknowledged(tmp_path: Path) -> None:
    for turn in range(8):
        path = tmp_path / f"{turn}.jsonl"
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE, text=True, cwd=ROOT
        )
        assert writer.stdout is not None
        writer.stdout.readline()
        time.sleep(0.02 * turn)
        writer.send_signal(signal.SIGKILL)
        told = 1 + len([line for line in writer.stdout.read().split("\n") if line.strip()])
        writer.communicate()
        log = read_log(path)
        assert [e.at_s for e in log.events if isinstance(e, GapEvent)] == list(range(len(log.events)))
        assert len(log.events) >= told - 1  # the last line read may itself be torn


LIMITED = """
import resource, sys
from pathlib import Path
from dictate.listen.eventlog import EventLog, GapEvent
path = Path(sys.argv[1])
log = EventLog(path)
for n in range(3):
    log.append(GapEvent(at_s=n, seconds=0, reason="x" * 50))
size = path.stat().st_size
resource.setrlimit(resource.RLIMIT_FSIZE, (size + 10, resource.RLIM_INFINITY))  # room for a part of a line
try:
    log.append(GapEvent(at_s=3, seconds=0, reason="x" * 50))
except OSError:
    print("told", path.stat().st_size - size)
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
log.append(GapEvent(at_s=4, seconds=0, reason="y"))
log.close()
"""


def test_a_line_for_which_there_is_no_room_is_not_there_by_half(tmp_path: Path) -> None:
    path = tmp_path / "session.jsonl"
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, str(path)], capture_output=True, text=True, cwd=ROOT, check=False
    )
    assert done.stdout == "told 0\n", done.stderr
    log = read_log(path)
    assert log.damaged == ()
    assert [e.at_s for e in log.events if isinstance(e, GapEvent)] == [0, 1, 2, 4]
